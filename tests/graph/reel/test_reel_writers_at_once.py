"""Several change one reel at once: none is lost, and who waits too long is told for whom. All invented."""

import json
import os
import re
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.edits.cues import cue_at
from lamphouse.graph.files.locks import Held, locked
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel.store import Changed, change, load, save, save_unless_changed
from lamphouse.nodes.errors import BadInput

AT_ONCE = 8


@pytest.fixture
def reel_file(tmp_path: Path) -> Path:
    path = tmp_path / "a.reel"
    scan = ScanRef(path="scan.mkv", frames=100, width=32, height=24)
    save(path, Reel(scan=scan, chain=chain_preset("everyday").chain))
    return path


def lamphouse(*words: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "lamphouse", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)


@pytest.mark.slow
def test_of_eight_commands_at_once_every_cue_and_mark_is_there(reel_file: Path) -> None:
    link = reel_file.with_name("link.reel")
    link.symlink_to(reel_file)
    typed = [("cue", (reel_file, link)[n % 2], n, "--name", f"n{n}") for n in range(0, AT_ONCE, 2)]
    typed += [("mark", (reel_file, link)[n % 2], n) for n in range(1, AT_ONCE, 2)]
    with ThreadPoolExecutor(AT_ONCE) as pool:
        done = list(pool.map(lambda words: lamphouse(*words), typed))
    assert [(end.returncode, end.stderr) for end in done] == [(0, "")] * AT_ONCE
    reel = load(reel_file)
    assert [cue.name for cue in reel.cues] == ["n0", "n2", "n4", "n6"]
    assert [mark.frame for mark in reel.marks] == [1, 3, 5, 7]
    assert link.is_symlink()
    left = {path.name for path in reel_file.parent.iterdir()}
    assert left <= {"a.reel", "a.reel.previous", ".a.reel.lock", "link.reel"}


def test_who_waits_too_long_is_told_for_whom_and_nothing_is_changed(reel_file: Path) -> None:
    before = reel_file.read_bytes()
    with locked(reel_file), ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(lambda: locked(reel_file, patience=0.1).__enter__())
        with pytest.raises(
            Held,
            match=rf"a\.reel is in use by [\w.-]+, process {os.getpid()} on [\w.-]+ since [0-9: -]+; try",
        ):
            waiting.result()
    assert reel_file.read_bytes() == before
    with locked(reel_file, patience=0):
        pass


def test_a_killed_process_lets_its_lock_go_and_what_it_left_is_swept_up(reel_file: Path) -> None:
    script = (
        "import os, signal, sys; from pathlib import Path;"
        "from lamphouse.graph.files.locks import locked\n"
        "from lamphouse.graph.files.whole_file import whole_file\n"
        "path = Path(sys.argv[1])\n"
        "with locked(path), whole_file(path) as file:\n"
        "    file.write(b'half'); file.flush(); os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    before = load(reel_file)
    killed = subprocess.run([sys.executable, "-c", script, str(reel_file)], check=False, timeout=60)
    assert killed.returncode == -signal.SIGKILL
    left = [path.name for path in reel_file.parent.iterdir() if path.suffix == ".new"]
    assert len(left) == 1
    assert re.fullmatch(r"\.a\.reel\.[0-9a-f]{16}\.new", left[0])
    assert load(reel_file) == before
    changed = change(reel_file, lambda reel: msgspec.structs.replace(reel, head_mark=3))
    assert load(reel_file) == changed
    assert not [path for path in reel_file.parent.iterdir() if path.suffix == ".new"]


def test_a_lock_that_somebody_planted_is_neither_followed_nor_written_into(reel_file: Path) -> None:
    treasure, lock = reel_file.with_name("treasure"), reel_file.with_name(".a.reel.lock")
    treasure.write_bytes(b"precious")
    lock.unlink(missing_ok=True)
    lock.symlink_to(treasure)
    with pytest.raises(BadInput, match=r"a\.reel cannot be locked"):
        save(reel_file, load(reel_file))
    assert treasure.read_bytes() == b"precious"


def test_where_no_lock_can_be_made_that_is_one_sentence(reel_file: Path) -> None:
    before, lock = reel_file.read_bytes(), reel_file.with_name(".a.reel.lock")
    lock.unlink(missing_ok=True)
    lock.mkdir()  # stands in for a folder that may not be written: the superuser may write all of them
    with pytest.raises(BadInput, match=r"a\.reel cannot be locked \(.+\); make its folder writable"):
        change(reel_file, lambda reel: reel)
    assert reel_file.read_bytes() == before


def test_a_reel_that_is_not_there_is_not_made_by_asking_for_a_change(tmp_path: Path) -> None:
    for path in (tmp_path / "no.reel", tmp_path / "nowhere" / "no.reel"):
        with pytest.raises(BadInput, match=r"no\.reel does not exist"):
            change(path, lambda reel: reel)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_an_edit_that_fails_leaves_the_reel_as_it_was(reel_file: Path) -> None:
    before = reel_file.read_bytes()
    done = lamphouse("cue", reel_file, "5", "--set", "primary.gain=much")
    assert done.returncode == 2
    assert reel_file.read_bytes() == before


def test_saving_over_what_another_changed_meanwhile_is_refused_and_a_damaged_file_is_such_a_change(
    reel_file: Path,
) -> None:
    opened = load(reel_file)
    mine = msgspec.structs.replace(opened, head_mark=1)
    save_unless_changed(reel_file, mine, opened)
    theirs = change(reel_file, lambda reel: msgspec.structs.replace(reel, cues=(Cue(frame=7),)))
    with pytest.raises(Changed, match=r"a\.reel was changed by another program since it was opened here"):
        save_unless_changed(reel_file, opened, mine)
    assert load(reel_file) == theirs
    reel_file.write_text("{")
    with pytest.raises(Changed):
        save_unless_changed(reel_file, opened, theirs)
    reel_file.unlink()
    save_unless_changed(reel_file, mine, theirs)
    assert load(reel_file) == mine


def test_the_same_reel_written_otherwise_is_no_change(reel_file: Path) -> None:
    opened = load(reel_file)
    reel_file.write_text(json.dumps(json.loads(reel_file.read_text())))
    save_unless_changed(reel_file, msgspec.structs.replace(opened, cues=(Cue(frame=3),)), opened)
    assert cue_at(load(reel_file), 3) is not None
