"""Compiled chains on disk: their folder is its owner's alone, and does not grow without end."""

import os
import stat
import sys

import numpy as np
import pytest

from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.files import kept
from lamphouse.graph.files.kept import Kept
from lamphouse.nodes.errors import Note
from lamphouse.nodes.maths import scale
from lamphouse.nodes.trace import picture

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="owners and modes are POSIX's")


def _compiled(folder):
    with NativeRun(1, compiler := Compiler(folder)) as run:
        made = run.run(scale(picture("s"), 2.0), {"s": np.ones((3, 2, 32), np.float32)})
    assert (made == 2).all()
    return compiler.compiled


@pytest.mark.parametrize("mask", [0o000, 0o002, 0o022])
def test_the_folder_is_made_for_its_owner_alone_whatever_the_mask(tmp_path, mask):
    before = os.umask(mask)
    try:
        assert _compiled(tmp_path / "cache" / "kernels") == 1
    finally:
        os.umask(before)
    # Made by others' rules, the folder above would be no better than one of theirs.
    assert stat.S_IMODE((tmp_path / "cache" / "kernels").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "cache").stat().st_mode) == 0o700
    assert _compiled(tmp_path / "cache" / "kernels") == 0


@pytest.mark.parametrize(
    ("mode", "above"), [(0o777, False), (0o770, False), (0o702, False), (0o777, True), (0o702, True)]
)
def test_a_folder_that_others_may_write_to_is_neither_read_nor_written(tmp_path, mode, above):
    folder = tmp_path / "open" / "kernels"
    assert _compiled(folder) == 1
    (code,) = folder.iterdir()
    (folder.parent if above else folder).chmod(mode)
    with pytest.warns(Note, match="^Compiled chains are not kept, since others may write to .*open") as said:
        assert _compiled(folder) == 1
    assert len(said) == 1
    assert list(folder.iterdir()) == [code]


def test_a_folder_within_one_where_only_owners_move_their_files_is_used(tmp_path):
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared").chmod(0o1777)
    assert [_compiled(tmp_path / "shared" / "kernels") for _ in range(2)] == [1, 0]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
@pytest.mark.parametrize("whose", ["kernels", "."])
def test_a_folder_that_is_somebody_elses_is_neither_read_nor_written(tmp_path, whose):
    folder = tmp_path / "theirs" / "kernels"
    assert _compiled(folder) == 1
    os.chown(folder if whose == "kernels" else folder.parent, 12345, 12345)
    with pytest.warns(Note, match="belongs to somebody else"):
        assert _compiled(folder) == 1


def _aged(folder, name, age, size=1000):
    path = folder / name
    path.write_bytes(b"x" * size)
    os.utime(path, (path.stat().st_mtime - age,) * 2)
    return path


def test_what_was_of_no_use_for_long_and_what_was_cut_off_goes(tmp_path):
    folder = tmp_path / "kernels"
    keep = Kept(folder, ".o", "Chains")
    _aged(folder, "old.o", kept.LONGEST + 60)
    _aged(folder, "cut-off.part", kept.CUT_OFF + 60)
    _aged(folder, "being-written.part", 1)
    _aged(folder, "young.o", kept.LONGEST - 60)
    (folder / "not ours.txt").touch()
    keep.keep("new", b"code")
    names = ["being-written.part", "new.o", "not ours.txt", "young.o"]
    assert sorted(path.name for path in folder.iterdir()) == names
    assert keep.read("new") == b"code"


def test_what_was_of_use_last_stays_where_there_is_no_more_room(tmp_path, monkeypatch):
    monkeypatch.setattr(kept, "MOST", 10_000)
    keep = Kept(tmp_path, ".o", "Chains")
    for number in range(4):
        keep.keep(f"{number}", b"x" * 3000)
        _older(tmp_path / f"{number}.o", 100 - number)
    assert keep.read("1") is not None  # and thereby becomes the youngest
    keep.keep("4", b"x" * 3000)
    assert sorted(path.stem for path in tmp_path.iterdir()) == ["1", "3", "4"]


def _older(path, age):
    os.utime(path, (path.stat().st_mtime - age,) * 2)
