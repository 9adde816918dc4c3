"""A master appears whole or not at all, and takes the place of nothing."""

import errno
import os
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.sums import frame_sum
from lamphouse.nodes.errors import BadInput

KINDS = ["ffv1", "h264", "tiff", "dpx"]

# A limit on the size of a file makes the system refuse to write on, as a full disk does.
LIMITED = """
import resource, sys
from fractions import Fraction
from pathlib import Path
import numpy as np
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.master import open_master
from lamphouse.nodes.errors import BadInput

resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
noise = np.random.default_rng(0).random((3, 48, 64), np.float32)
shape = {"width": 64, "height": 48, "pixel_aspect": Fraction(1)}
path, rgb = Path(sys.argv[1]), delivery("rgb-ffv1", {})
try:
    with open_master(path, rgb, rate=Fraction(25), timecode="00:00:00:00", **shape) as master:
        for _ in range(40):
            master.write(noise)
        master.finish()
except BadInput as error:
    print(error)
"""


def write_all(master, pictures):
    """Write pictures and finish."""
    with master:
        for picture in pictures:
            master.write(picture)
        master.finish()


def break_off(master, pictures):
    """Write pictures and be interrupted."""
    with master:
        for picture in pictures:
            master.write(picture)
        raise KeyboardInterrupt


@contextmanager
def small_disk(folder, size):
    """A disk of `size` bytes at `folder`, while the block lasts."""
    command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    if not shutil.which("mount") or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    try:
        yield
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.mark.parametrize("kind", KINDS)
def test_a_master_has_its_name_only_when_it_is_finished(begin, pictures, tmp_path, kind):
    with begin(kind) as master:
        for picture in pictures(3):
            master.write(picture)
        assert [path.name for path in tmp_path.iterdir()] == [f"{master.path.name}.part"]
        master.finish()
    assert list(tmp_path.iterdir()) == [master.path]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("frames", [0, 1])
def test_nothing_stays_of_a_pass_that_has_hardly_begun(begin, pictures, tmp_path, kind, frames):
    master = begin(kind)
    with pytest.raises(KeyboardInterrupt):
        break_off(master, pictures(frames))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("kind", KINDS)
def test_a_pass_that_breaks_off_stays_under_its_working_name(begin, pictures, tmp_path, kind):
    master = begin(kind)
    with pytest.raises(KeyboardInterrupt):
        break_off(master, pictures(3))
    assert [path.name for path in tmp_path.iterdir()] == [f"{master.path.name}.part"]


@pytest.mark.parametrize("kind", ["ffv1", "rgb"])
def test_what_stays_is_a_movie_of_the_frames_so_far(begin, pictures, tmp_path, kind):
    with begin(kind) as master:
        for picture in pictures(7):
            master.write(picture)
    with av.open(str(tmp_path / "master.mkv.part"), format="matroska") as movie:
        assert [frame_sum(frame) for frame in movie.decode(video=0)] == master.meant.pictures


@pytest.mark.parametrize("kind", KINDS)
def test_a_full_disk_is_said_in_one_sentence_and_the_name_stays_free(begin, tmp_path, kind):
    noise = np.random.default_rng(0).random((3, 48, 64), np.float32)
    with small_disk(tmp_path, 300_000):
        master = begin(kind, size=(64, 48))
        with pytest.raises(BadInput, match=r"^The disk is full.*make room"):
            write_all(master, (np.roll(noise, n, axis=1) * (n % 3) for n in range(400)))
        assert [path.name for path in tmp_path.iterdir()] == [f"{master.path.name}.part"]


def test_a_disk_that_is_full_at_the_very_end_is_not_missed(begin, pictures, tmp_path):
    # The writer buffers: with these sizes all pictures are taken and only the index finds no room.
    sizes = set()
    for size in range(8192, 80_000, 4096):
        with small_disk(tmp_path, size):
            try:
                with begin("rgb") as master:
                    for picture in pictures(8):
                        master.write(picture)
                    sizes.add("taken")
                    master.finish()
                sizes.add("finished")
            except BadInput:
                assert [path.name for path in tmp_path.iterdir()] == ["master.mkv.part"]
                sizes.add("refused")
    assert sizes == {"taken", "finished", "refused"}


def test_a_file_that_may_not_grow_is_a_full_disk(tmp_path):
    run = [sys.executable, "-c", LIMITED, str(tmp_path / "a.mkv")]
    answer = subprocess.run(run, capture_output=True, text=True, check=True)
    assert answer.stdout.startswith("The disk is full")
    assert [path.name for path in tmp_path.iterdir()] == ["a.mkv.part"]


def test_a_disk_that_fails_when_all_is_forced_to_it_keeps_the_name_free(
    begin, pictures, tmp_path, monkeypatch
):
    def fail(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fail)
    master = begin()
    with pytest.raises(BadInput, match="disk is full"):
        write_all(master, pictures(2))
    assert [path.name for path in tmp_path.iterdir()] == ["master.mkv.part"]


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_there_already_is_left_alone(begin, written, kind):
    master = written(kind, 1)
    with pytest.raises(BadInput, match="exists already; remove or rename it first"):
        begin(kind)
    assert master.path.exists()


def test_a_second_pass_does_not_write_into_the_first(begin):
    with begin(), pytest.raises(BadInput, match=r"master\.mkv\.part is there already"):
        begin()


@pytest.mark.parametrize("kind", ["ffv1", "tiff"])
def test_a_link_that_lies_there_is_not_written_through(begin, tmp_path, kind):
    target = tmp_path / "target"
    target.write_text("somebody's file") if kind == "ffv1" else target.mkdir()
    (tmp_path / f"master{'.mkv' if kind == 'ffv1' else ''}.part").symlink_to(target)
    with pytest.raises(BadInput, match="is there already"):
        begin(kind)
    assert target.read_text() == "somebody's file" if kind == "ffv1" else not list(target.iterdir())


def test_a_name_that_is_refused_at_the_end_leaves_the_whole_master(begin, pictures, tmp_path, monkeypatch):
    def refuse(path, target):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    with begin() as master:
        for picture in pictures(2):
            master.write(picture)
        monkeypatch.setattr(Path, "replace", refuse)
        with pytest.raises(BadInput, match=r"cannot be given its name .*master\.mkv\.part: rename it\.$"):
            master.finish()
    with av.open(str(tmp_path / "master.mkv.part"), format="matroska") as movie:
        assert [frame_sum(frame) for frame in movie.decode(video=0)] == master.meant.pictures


def test_a_file_that_appears_meanwhile_is_not_overwritten(begin, pictures, tmp_path):
    with begin() as master:
        master.write(pictures(1)[0])
        master.path.write_text("another")
        with pytest.raises(BadInput, match="rename"):
            master.finish()
    assert master.path.read_text() == "another"
    assert (tmp_path / "master.mkv.part").stat().st_size > 1000


@pytest.mark.parametrize(
    ("kind", "name"),
    [("ffv1", "a.mov"), ("ffv1", "a"), ("h264", "a.mkv"), ("dpx", "a.dpx"), ("tiff", "a.mkv")],
)
def test_a_name_that_does_not_fit_is_refused(begin, kind, name):
    with pytest.raises(BadInput, match="name"):
        begin(kind, name)


def test_a_folder_that_is_not_there_is_named(begin):
    with pytest.raises(BadInput, match=r"nowhere.*another place"):
        begin("ffv1", "nowhere/a.mkv")


def test_a_place_that_may_look_like_an_address_is_a_file(written):
    assert written("ffv1", 1, name="tcp:%03d reel.mkv").path.is_file()
