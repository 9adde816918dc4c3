"""What is measured of a scan: right by numpy's own sums, whole, resumed, made once."""

from concurrent.futures import ThreadPoolExecutor
from importlib.resources import as_file, files
from pathlib import Path
from threading import Event

import numpy as np
import pytest

from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.statistics import make
from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.make import statistics_of
from lamphouse.graph.media.statistics.measuring import SEGMENT, Measuring
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.media.statistics.view import View
from lamphouse.graph.reel.records import ScanRef
from lamphouse.nodes.errors import BadInput, Note, Stopped

DICE = np.random.default_rng(5)
FRAMES = SEGMENT + 30


def _film(frames: int, height: int = 48, width: int = 64) -> np.ndarray:
    return DICE.uniform(0, 1, (frames, 3, height, width)).astype(np.float32)


class _Scan:
    """Arrays as a scan, some of which cannot be read."""

    def __init__(self, film, damaged=()):
        self._film, self._damaged, self.reads = film, damaged, []

    def __call__(self):
        return self

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def read_coded(self, frame):
        self.reads.append(frame)
        if frame in self._damaged:
            raise BadInput(f"Frame {frame} is damaged.")
        return self._film[frame]


@pytest.fixture
def kept(tmp_path, monkeypatch):
    monkeypatch.setenv("LAMPHOUSE_CACHE", str(tmp_path / "cache"))
    path = tmp_path / "scan.mkv"
    path.write_bytes(b"only its identity is asked for")
    scan = ScanRef(path=str(path), frames=FRAMES, width=64, height=48)
    return lambda: KeptStatistics(scan, path)


def test_means_and_shares_are_those_of_the_picture():
    film = _film(3)
    rows = measured(film, 3).rows
    picked = film[:, :, ::2, ::2]  # one of each two by two pixels
    assert np.allclose(rows["mean"], picked.mean(axis=(2, 3)), atol=2e-3)
    counts = [np.histogram(channel, 64, (0, 1))[0] / channel.size for channel in picked[1]]
    assert np.abs(rows["histogram"][1] / 65535 - counts).max() < 1e-4
    assert rows["ok"].all()


def test_a_flat_picture_is_flat_in_every_raster():
    view = View(np.full((3, 700, 1300), 0.25, np.float32))
    assert view.divide == 4
    assert view.luma.shape == (175, 325)
    for raster in (view.luma, view.samples, view.picture):
        assert np.allclose(raster, 0.25)


@pytest.mark.parametrize("shape", [(1, 1), (1, 5000), (5000, 1), (2, 3), (72, 96), (73, 97)])
def test_pictures_of_any_raster_are_measured(shape):
    film = np.full((2, 3, *shape), 0.5, np.float32)
    statistics = measured(film, 2)
    assert (statistics.rows["small"] == 128).all()
    assert statistics.pictures(0, 2)[0][1].shape == (3, 72, 96)


def test_codes_in_any_order_of_memory_give_the_same(tmp_path):
    film = _film(2)
    turned = np.asfortranarray(film)
    assert measured(list(turned), 2).rows.tobytes() == measured(list(film), 2).rows.tobytes()


def test_a_shot_gives_its_own_pictures(kept):
    statistics = measured(_film(40), 40)
    assert [frame for frame, _ in statistics.pictures(0, 40)] == [0, 12, 24, 36]
    (frame, picture), *_ = statistics.pictures(13, 23, most=1)
    assert 13 <= frame < 23
    assert picture.shape == (3, 24, 32)
    assert [frame for frame, _ in statistics.pictures(0, 40, most=2)] == [12, 36]


def test_what_was_measured_is_not_measured_again(kept):
    film = _film(FRAMES)
    first = statistics_of(kept(), _Scan(film))
    scan = _Scan(film)
    assert statistics_of(kept(), scan).rows.tobytes() == first.rows.tobytes()
    assert scan.reads == []


def test_a_stopped_pass_goes_on_and_gives_the_same(kept):
    film, seen = _film(FRAMES), []
    with pytest.raises(Stopped):
        statistics_of(
            kept(), _Scan(film), stopped=lambda: len(seen) > SEGMENT + 9, said=lambda *at: seen.append(at)
        )
    assert kept().missing() == [1]
    scan = _Scan(film)
    whole = statistics_of(kept(), scan)
    assert min(scan.reads) == SEGMENT - 1
    assert whole.rows.tobytes() == measured(film, FRAMES).rows.tobytes()


def test_two_desks_that_ask_at_once_measure_a_scan_once(kept, monkeypatch):
    monkeypatch.setattr(make, "ANOTHER", 0.01)
    film, begun, may, told = _film(FRAMES), Event(), Event(), []

    class Slow(_Scan):
        def read_coded(self, frame):
            begun.set()
            assert may.wait(60)
            return super().read_coded(frame)

    def heard(done, frames):
        told.append((done, frames))
        may.set()

    first, second = Slow(film), _Scan(film)
    with ThreadPoolExecutor(1) as pool:
        one = pool.submit(statistics_of, kept(), first)
        assert begun.wait(60)
        found = statistics_of(kept(), second, said=heard)
        assert found.rows.tobytes() == one.result(60).rows.tobytes()
    assert told[0] == (0, FRAMES)  # how far the other has come
    assert second.reads == []


def test_a_frame_that_cannot_be_read_has_the_row_of_the_one_before(kept):
    statistics = statistics_of(kept(), _Scan(_film(FRAMES), damaged=(0, 1, 50, FRAMES - 1)))
    ok = statistics.rows["ok"]
    assert np.flatnonzero(ok == 0).tolist() == [0, 1, 50, FRAMES - 1]
    assert (statistics.rows["small"][50] == statistics.rows["small"][49]).all()
    assert 48 in [frame for frame, _ in statistics.pictures(40, 60)]


@pytest.mark.parametrize(
    ("go", "said"),
    [
        (
            lambda path: path.unlink(),
            r"scan\.mkv cannot be read \(No such file or directory\); bring the scan",
        ),
        (lambda path: path.write_bytes(b"another"), r"scan\.mkv was changed while it was measured; see that"),
    ],
)
def test_what_cannot_be_read_as_the_scan_goes_meanwhile_is_not_kept(kept, tmp_path, go, said):
    class Going(_Scan):
        def read_coded(self, frame):
            if frame == SEGMENT + 5:
                go(tmp_path / "scan.mkv")
                self._damaged = range(frame, FRAMES)
            return super().read_coded(frame)

    store, film = kept(), _film(FRAMES)
    with pytest.raises(BadInput, match=said):
        statistics_of(store, Going(film))
    assert store.missing() == [1]
    (tmp_path / "scan.mkv").write_bytes(b"only its identity is asked for")
    assert statistics_of(kept(), _Scan(film)).rows["ok"].all()


def test_a_damaged_file_is_measured_again(kept):
    film = _film(FRAMES)
    statistics_of(kept(), _Scan(film))
    file = next(kept().folder.glob("*-000001.rows"))
    file.write_bytes(file.read_bytes()[:-7])
    assert statistics_of(kept(), _Scan(film)).rows.tobytes() == measured(film, FRAMES).rows.tobytes()


def test_a_cache_that_takes_nothing_only_costs_the_work(kept, tmp_path):
    store = kept()
    (tmp_path / "cache").mkdir(exist_ok=True)
    Path(tmp_path / "cache" / "statistics").rmdir()
    Path(tmp_path / "cache" / "statistics").write_text("no folder")
    film = _film(FRAMES)
    with pytest.warns(Note, match=r"cannot be kept in .*statistics \(Not a directory\)") as told:
        assert statistics_of(store, _Scan(film)).frames == FRAMES
    assert len(told) == 1


def test_frames_fed_out_of_order_make_whole_segments_alone():
    film, made = _film(SEGMENT * 2 + 5), {}
    measuring = Measuring(len(film), made.__setitem__)
    for frame in [*range(SEGMENT - 1, len(film)), *range(SEGMENT + 1)]:
        measuring.feed(frame, film[frame])
    straight = measured(film, len(film)).rows
    assert sorted(made) == [0, 1, 2]
    assert b"".join(made[number].rows.tobytes() for number in range(3)) == straight.tobytes()


def test_a_movie_is_measured_from_its_codes():
    with as_file(files("lamphouse.presets") / "film" / "lantern-errand.mkv") as path, open_scan(path) as scan:
        frames = [scan.read_coded(frame) for frame in (80, 81, 82)]
        read = scan.read(81)
    row = measured(frames, 3).rows[1]
    assert np.abs(row["mean"] - read.mean(axis=(1, 2))).max() < 0.004
