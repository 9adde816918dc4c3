"""A reel knows whether its scan is still the one that it was made with."""

import os
import shutil
from pathlib import Path

import msgspec
import numpy as np
import pytest
import tifffile

from lamphouse.graph.edits.media import with_scan
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.scan.fixity import SAMPLES, difference, fixity_of
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import Note


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    stills = tmp_path / "scan"
    stills.mkdir()
    for number in range(100):
        (stills / f"still.{number:04}.dpx").write_bytes(bytes([number]) * 50)
    return stills


def test_a_copy_with_another_time_of_change_is_the_same_scan(folder: Path, tmp_path: Path) -> None:
    before = fixity_of(folder)
    copy = shutil.copytree(folder, tmp_path / "copy")
    for path in copy.iterdir():
        os.utime(path, (1e9, 1e9))
    after = fixity_of(copy)
    assert after.changed == "2001-09-09T01:46:40Z"  # a thousand million seconds of POSIX time
    assert before.changed != after.changed
    assert difference(before, after) == ""


def test_other_bytes_are_another_scan_whether_in_size_or_not(tmp_path: Path) -> None:
    movie = tmp_path / "scan.mkv"
    movie.write_bytes(bytes(5_000_000))
    known = fixity_of(movie)
    assert known.size == 5_000_000
    movie.write_bytes(bytes(4_999_999) + b"\1")
    assert "other contents" in difference(known, fixity_of(movie))
    movie.write_bytes(bytes(4_999_999))
    assert "4999999 bytes, not 5000000" in difference(known, fixity_of(movie))


def test_stills_from_the_first_to_the_last_stand_for_a_sequence(folder: Path) -> None:
    known = fixity_of(folder)
    assert known.size == SAMPLES * 50
    for number in (0, 99):
        still = folder / f"still.{number:04}.dpx"
        data = still.read_bytes()
        still.write_bytes(data[:-1] + b"\xfe")
        assert "other contents" in difference(known, fixity_of(folder)), number
        still.write_bytes(data)
    assert difference(known, fixity_of(folder)) == ""


@pytest.fixture
def opened(tmp_path: Path) -> OpenedReel:
    stills = tmp_path / "film"
    stills.mkdir()
    for number in range(3):
        tifffile.imwrite(stills / f"still.{number}.tif", np.full((4, 6, 3), 100 + number, np.uint16))
    path = tmp_path / "film.reel"
    return OpenedReel(path, start_reel(path, Start(stills, rate="24")).reel, Catalogue())


def test_whoever_opens_another_scan_than_the_reel_was_made_with_is_told(opened: OpenedReel) -> None:
    opened.open_scan().close()
    still = max(opened.scan_path.iterdir())
    still.write_bytes(still.read_bytes()[:-1] + b"\x55")
    with pytest.warns(Note, match=r"is not the file that film.reel was made with: it has other contents"):
        opened.open_scan().close()
    with open_scan(opened.scan_path) as scan:
        pointed = opened.with_reel(with_scan(opened, scan, opened.scan_path))
    pointed.open_scan().close()


def test_a_reel_of_an_older_version_knows_none_and_nothing_is_told(opened: OpenedReel) -> None:
    reel = opened.reel
    older = msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, fixity=None))
    still = max(opened.scan_path.iterdir())
    still.write_bytes(still.read_bytes()[:-1] + b"\x55")
    opened.with_reel(older).open_scan().close()
