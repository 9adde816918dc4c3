"""A movie is read through once: what numbering found is kept, and believed while it is whole and fits."""

from dataclasses import replace
from pathlib import Path

import pytest

from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.graph.files.kept import Kept
from lamphouse.graph.media.scan import kept_index
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.nodes.errors import Stopped

FFV1 = {"level": "3", "g": "12", "slices": "4", "slicecrc": "1"}
OPEN = {"preset": "veryfast", "crf": "12", "bf": "3", "x264-params": "open-gop=1:keyint=12:scenecut=0"}
READ = Path("/proc/self/io")  # Linux: bytes that this process has read


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """The folder of what is kept, empty."""
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "cache"))
    return tmp_path / "cache" / "numbering"


@pytest.fixture
def counted(monkeypatch):
    """The movies whose packets were all read."""
    paths = []
    through = kept_index.index_packets

    def count(path, step):
        paths.append(path.name)
        return through(path, step)

    monkeypatch.setattr(kept_index, "index_packets", count)
    return paths


MOVIES = {
    "FFV1": ("a.mkv", "ffv1", "yuv422p10le", FFV1, None),
    "H.264 with open groups": ("a.mp4", "libx264", "yuv420p", OPEN, None),
    "MPEG-2 that allows no jumps": ("a.ts", "mpeg2video", "yuv420p", {"g": "12", "bf": "2"}, "mpegts"),
    "H.264 that is numbered by decoding": ("a.avi", "libx264", "yuv420p", OPEN, None),
}


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize("name", MOVIES)
def test_a_second_open_counts_nothing_and_says_the_same(name, tmp_path, counted, numbered_movie, number_in):
    file, codec, pixel_format, options, form = MOVIES[name]
    path = numbered_movie(tmp_path / file, codec, pixel_format, options=options, form=form)
    with open_scan(path) as first, open_scan(path) as second:
        assert counted == [file]
        assert (second.order, second.notes, second.rate) == (first.order, first.notes, first.rate)
        assert second.index == first.index
        assert [number_in(second.read(frame)) for frame in (40, 7, 59, 0)] == [40, 7, 59, 0]


@pytest.mark.usefixtures("kept")
@pytest.mark.skipif(not READ.exists(), reason="only Linux tells what a process has read")
def test_a_second_open_reads_little_of_a_long_movie(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "rawvideo", size=(1280, 720))  # 83 MB
    first, second = read_by_opening(path), read_by_opening(path)
    assert first > path.stat().st_size
    assert second < 12_000_000  # FFmpeg looks at 5 MB itself, and the first picture is decoded


def read_by_opening(path):
    before = bytes_read()
    open_scan(path).close()
    return bytes_read() - before


def bytes_read():
    return int(READ.read_text().split()[1])


def test_another_file_under_the_same_name_is_counted_anew(tmp_path, kept, counted, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=20, options=FFV1)
    open_scan(path).close()
    numbered_movie(path, "ffv1", count=30, options=FFV1)
    with open_scan(path) as scan:
        assert scan.frames == 30
    assert counted == ["a.mkv"] * 2
    assert len(list(kept.iterdir())) == 2


def test_what_is_damaged_or_cannot_be_is_counted_anew(tmp_path, kept, counted, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=20, options=FFV1)
    open_scan(path).close()
    (file,) = kept.iterdir()
    whole = file.read_bytes()
    for damaged in (b"", whole[:-1], whole[:9] + bytes([whole[9] ^ 1]) + whole[10:], b"x" * 400):
        file.write_bytes(damaged)
        with open_scan(path) as scan:
            assert scan.frames == 20
        assert file.read_bytes() == whole
    assert len(counted) == 5


def test_numbers_that_point_nowhere_are_not_believed(tmp_path, kept, counted, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=20, options=FFV1)
    with open_scan(path) as scan:
        index, order = scan.index, scan.order
    (file,) = kept.iterdir()
    store = Kept(kept, file.suffix, "")
    for wrong in ([*order[:-1], 20], [*order[:-1], 0], [-1, *order[1:]], []):
        made = kept_index._Numbers(index.stamps, index.keys, [], True, False, True, wrong, ())
        store.keep(file.stem, kept_index._packed(made))
        with open_scan(path) as scan:
            assert scan.order == order
    assert len(counted) == 5


def test_what_a_read_error_cut_short_is_not_kept(tmp_path, kept, monkeypatch, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=5, options=FFV1)
    cut = replace(kept_index.index_packets(path), cut="Input/output error")
    monkeypatch.setattr(kept_index, "index_packets", lambda *_: cut)
    with open_scan(path) as scan:
        assert any("Input/output error" in note for note in scan.notes)
    assert not list(kept.iterdir())


def test_a_cache_that_cannot_be_written_is_gone_without(tmp_path, kept, numbered_movie):
    kept.parent.write_text("a file where the folder should be")
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=5, options=FFV1)
    with open_scan(path) as scan:
        assert scan.frames == 5


def test_numbering_tells_how_far_it_has_come_and_ends_where_it_is_told_to(tmp_path, kept, numbered_movie):
    told = []

    def stop(done, total, limit=""):
        raise Stopped("Stopped.")

    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=20, options=FFV1)
    with pytest.raises(Stopped):
        open_scan(path, step=stop)
    assert list(kept.glob("*")) == []
    open_scan(path, step=lambda *step: told.append(step)).close()
    assert [done for done, _ in told] == list(range(1, 20))
    assert all(total > done for done, total in told)
