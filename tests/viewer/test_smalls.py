"""A strip whose pictures have not been read yet shows what was measured of them once."""

import threading

import numpy as np

from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.make import statistics_of
from lamphouse.viewer.colours import SURROUND_CODE
from lamphouse.viewer.picture.film_strip import FilmStrip


def test_a_whole_strip_is_seen_at_once_where_the_scan_was_measured(desk, monkeypatch):
    opened, frames = desk.opened, (3, 12, 30)
    kept = KeptStatistics(opened.reel.scan, opened.scan_path)
    statistics_of(kept, opened.open_scan)
    came = threading.Semaphore(0)
    read = FilmStrip(opened, came.release)
    monkeypatch.setattr(read._smalls, "of", lambda frame: None)
    monkeypatch.setattr(read._smalls, "ask", lambda frames: None)
    for _ in frames:
        read.drawn(opened.reel, frames)
        assert came.acquire(timeout=60)
    whole = read.drawn(opened.reel, frames)[..., :3].astype(int)
    read.close()
    strip = FilmStrip(opened, came.release)
    monkeypatch.setattr(strip._reader, "ask", lambda wish: None)  # its disk is slow
    assert (strip.drawn(opened.reel, frames)[..., :3] == SURROUND_CODE).all()
    assert came.acquire(timeout=60)
    drawn = strip.drawn(opened.reel, frames)[..., :3].astype(int)
    strip.close()
    # It is that very frame under its own grade, in cells of 4 x 4 of its pixels: here of 255 codes.
    cells = [codes.reshape(24, 4, -1, 4, 3).mean(axis=(1, 3)) for codes in (drawn, whole)]
    assert np.abs(cells[0] - cells[1]).mean() < 8
    assert np.abs(cells[0] - np.roll(cells[1], strip.width // 4, axis=1)).mean() > 12  # of another frame
