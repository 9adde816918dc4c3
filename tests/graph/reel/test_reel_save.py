"""Saving a reel loses nothing, whatever stops it. All reels are invented."""

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef
from lamphouse.graph.reel.store import encode, load, save
from lamphouse.nodes.errors import BadInput

resource = pytest.importorskip("resource", reason="POSIX limits stand in for a full disk")


def _reel(number: int) -> Reel:
    scan = ScanRef(path="scan.mkv", frames=number, width=2048, height=1556)
    return Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return a reel saved twice, so that it has a previous version."""
    path = tmp_path / "a.reel"
    save(path, _reel(1))
    save(path, _reel(2))
    return path


def _names(folder: Path) -> set[str]:
    """What lies in a folder but for the locks, which stay."""
    return {path.name for path in folder.iterdir() if not path.name.endswith(".lock")}


def test_saving_keeps_the_version_before_and_leaves_nothing_else(file: Path) -> None:
    save(file, _reel(3))
    assert load(file) == _reel(3)
    assert load(file.with_name("a.reel.previous")) == _reel(2)
    assert _names(file.parent) == {"a.reel", "a.reel.previous"}


def test_saving_the_same_again_does_not_lose_the_version_before(file: Path) -> None:
    save(file, _reel(2))
    assert load(file.with_name("a.reel.previous")) == _reel(1)


def test_a_file_system_without_hard_links_keeps_a_copy(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", refuse)
    save(file, _reel(3))
    assert load(file.with_name("a.reel.previous")) == _reel(2)
    assert _names(file.parent) == {"a.reel", "a.reel.previous"}


def test_what_a_killed_saving_left_behind_is_removed_and_never_written_into(file: Path) -> None:
    # It may be a second name of the reel itself; a second name of our own shows what happens to it.
    left, watched = file.with_name(".a.reel.0123456789abcdef.new"), file.with_name("watched")
    left.write_bytes(b"left behind")
    watched.hardlink_to(left)
    others = [file.with_name(name) for name in (".b.reel.0123456789abcdef.new", ".a.reel.mine.new")]
    for other in others:
        other.write_bytes(b"not ours")
    save(file, _reel(3))
    assert watched.read_bytes() == b"left behind"
    assert not left.exists()
    assert all(other.exists() for other in others)
    assert load(file.with_name("a.reel.previous")) == _reel(2)


def test_a_link_to_a_reel_stays_a_link_and_the_file_keeps_its_permissions(file: Path) -> None:
    file.chmod(0o640)
    link = file.with_name("link.reel")
    link.symlink_to(file)
    save(link, _reel(3))
    assert link.is_symlink()
    assert load(file) == _reel(3)
    assert stat.S_IMODE(file.stat().st_mode) == 0o640


def test_each_step_reaches_the_disk_before_the_next_one_relies_on_it(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = []
    fsync, replace = os.fsync, os.replace

    def seen_fsync(handle: int) -> None:
        steps.append("sync folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "sync file")
        fsync(handle)

    def seen_replace(source: Path, target: Path) -> None:
        steps.append(Path(target).name)
        replace(source, target)

    monkeypatch.setattr(os, "fsync", seen_fsync)
    monkeypatch.setattr(os, "replace", seen_replace)
    save(file, _reel(3))
    assert steps == ["sync file", "a.reel.previous", "a.reel", "sync folder"]


@pytest.mark.parametrize(("call", "turn"), [("fsync", 1), ("replace", 1), ("replace", 2)])
def test_a_disk_that_fills_up_at_any_step_leaves_the_old_reel_whole_and_no_half_file(
    file: Path, monkeypatch: pytest.MonkeyPatch, call: str, turn: int
) -> None:
    real = getattr(os, call)
    calls = []

    def full(*arguments: object) -> None:
        calls.append(call)
        if len(calls) == turn:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(*arguments)

    monkeypatch.setattr(os, call, full)
    with pytest.raises(BadInput, match=r"a\.reel cannot be written \(No space left on device\); make room"):
        save(file, _reel(3))
    assert load(file) == _reel(2)
    assert load(file.with_name("a.reel.previous")) in (_reel(1), _reel(2))
    assert _names(file.parent) == {"a.reel", "a.reel.previous"}


def test_a_write_that_truly_stops_half_way_leaves_the_old_reel_whole(file: Path) -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(encode(_reel(3))) // 2, hard))
    try:
        with pytest.raises(BadInput, match=r"a\.reel cannot be written \(File too large\)"):
            save(file, _reel(3))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert load(file) == _reel(2)
    assert load(file.with_name("a.reel.previous")) == _reel(1)
    assert _names(file.parent) == {"a.reel", "a.reel.previous"}


def test_a_folder_that_the_disk_does_not_confirm_is_told_but_one_that_cannot_be_synced_is_not(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, codes = os.fsync, [errno.EIO, errno.EINVAL]

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            code = codes.pop(0)
            raise OSError(code, os.strerror(code))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    with pytest.raises(
        BadInput, match=r"the disk has not confirmed it \(Input/output error\); write it again"
    ):
        save(file, _reel(3))
    save(file, _reel(4))
    assert load(file) == _reel(4)


def test_a_missing_folder_and_a_read_only_file_are_refused(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(BadInput, match=r"cannot be locked \(No such file or directory\)"):
        save(file.with_name("absent") / "b.reel", _reel(3))
    with pytest.raises(BadInput, match=r"cannot be written \(Is a directory\)"):
        save(file.parent, _reel(3))
    # The superuser, as whom tests may run, may write everything: ask as anyone else would.
    monkeypatch.setattr(os, "access", lambda path, mode: not mode & os.W_OK)
    with pytest.raises(BadInput, match=r"cannot be written \(the file is read-only\)"):
        save(file, _reel(3))
    assert load(file) == _reel(2)
    assert _names(file.parent) == {"a.reel", "a.reel.previous"}
    assert _names(file.parent.parent) & {f"{file.parent.name}.new", f"{file.parent.name}.previous"} == set()


# Each child is killed before one more line of the saving than the child before it.
KILLED_AT_EVERY_LINE = """
import os, signal, sys
from pathlib import Path
from lamphouse.graph.files import whole_file
from lamphouse.graph.reel import store
from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef

FILES = (store.__file__, whole_file.__file__)
STEPS = {"whole_file", "_keep", "_sync_folder", "_write"}
file = Path(sys.argv[1])

def reel(number):
    scan = ScanRef(path="s", frames=number, width=2, height=3)
    return Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"))

def save_until(line):
    left = [line]
    def trace(frame, event, argument):
        if frame.f_code.co_filename not in FILES or frame.f_code.co_name not in STEPS:
            return None
        if event == "line":
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
        return trace
    sys.settrace(trace)
    store.save(file, reel(3))
    os._exit(0)

for line in range(1, 200):
    for old in file.parent.iterdir():
        old.unlink()
    store.save(file, reel(1))
    store.save(file, reel(2))
    child = os.fork()
    if child == 0:
        save_until(line)
    status = os.waitpid(child, 0)[1]
    found = store.load(file).scan.frames
    before = store.load(Path(f"{file}.previous")).scan.frames
    print(line, os.WIFSIGNALED(status), found, before)
    store.save(file, reel(4))
    assert store.load(file) == reel(4)
    assert {path.name for path in file.parent.iterdir()} <= {"a.reel", "a.reel.previous", ".a.reel.lock"}
    if not os.WIFSIGNALED(status):
        break
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="a child is killed part of the way")
def test_a_kill_before_any_line_of_saving_leaves_a_whole_reel_and_a_whole_version_before(
    tmp_path: Path,
) -> None:
    command = [sys.executable, "-c", KILLED_AT_EVERY_LINE, str(tmp_path / "a.reel")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    *killed, last = [line.split() for line in done.stdout.splitlines()]
    assert last[1:] == ["False", "3", "2"]
    assert len(killed) > 15
    assert {(found, before) for _, _, found, before in killed} == {("2", "1"), ("2", "2"), ("3", "2")}
