"""What is not saved survives a crash: written beside the reel, offered once, then gone."""

import subprocess
import sys

import msgspec
import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.reel.store import change, load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.recovery import Recovery


@pytest.fixture
def changed(desk):
    """A desk with a change that is not saved."""
    desk.go_to(10, 0)
    desk.set({"primary.gain": 1.7})
    return desk


def test_what_is_kept_or_saved_is_not_written_again(changed):
    recovery = changed.recovery
    assert recovery.lacks(changed.reel)
    recovery.keep(changed.reel)
    assert not recovery.lacks(changed.reel)
    recovery.path.write_text("left alone")
    recovery.keep(changed.reel)
    assert recovery.path.read_text() == "left alone"
    changed.undo()
    assert not recovery.lacks(changed.reel)


def test_the_next_start_offers_what_was_left_and_saving_removes_it(changed, reel_file):
    changed.recovery.keep(changed.reel)
    changed.recovery.close()
    again = Desk(open_reel(reel_file, changed.catalogue))
    left = again.recovery.offered()
    assert left == changed.reel
    again.recover(left)
    assert again.save()
    assert not again.recovery.path.exists()
    assert Recovery(reel_file, load(reel_file)).offered() is None


def test_what_equals_the_reel_is_not_offered_and_what_is_damaged_is_said(changed, reel_file):
    changed.recovery.path.write_bytes(reel_file.read_bytes())
    assert changed.recovery.offered() is None
    changed.recovery.path.write_text("{")
    with pytest.raises(BadInput, match=r"cat\.reel\.recovery"):
        changed.recovery.offered()
    assert not changed.recovery.lacks(changed.reel)


def test_what_cannot_be_read_is_said_and_not_written_over(changed, reel_file):
    left = Recovery(reel_file, load(reel_file))
    left.path.mkdir()
    with pytest.raises(BadInput, match=r"cat\.reel\.recovery cannot be read"):
        left.offered()
    assert not left.lacks(changed.reel)
    left.answered()
    assert left.lacks(changed.reel)


def test_what_is_not_recovered_is_kept_beside_and_not_written_over(changed, reel_file):
    changed.recovery.keep(changed.reel)
    left = changed.recovery.path.read_bytes()
    changed.recovery.close()
    again = Desk(open_reel(reel_file, changed.catalogue))
    again.start_without()
    assert again.message == "What an earlier run left is kept as cat.reel.recovery.1."
    again.set({"primary.gain": 1.1})
    again.recovery.keep(again.reel)
    assert reel_file.with_name("cat.reel.recovery.1").read_bytes() == left
    assert again.recovery.path.read_bytes() != left
    again.start_without()
    assert reel_file.with_name("cat.reel.recovery.2").exists()
    again.start_without()
    assert "cannot be renamed" in again.message


OPEN_AND_CRASH = """
import os, sys; from pathlib import Path
from lamphouse.graph.reel_files.opened import open_reel; from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.desk import Desk
path = Path(sys.argv[1])
desk = Desk(open_reel(path, Catalogue()))
print(desk.recovery.claim(), flush=True)
desk.go_to(10, 0); desk.set({"primary.gain": float(sys.argv[2])}); desk.recovery.keep(desk.reel)
print(desk.recovery.path.name, flush=True)
sys.stdin.read(); os._exit(9)
"""


def open_and_crash(reel_file, gain):
    """Another desk on the same reel, in another process, that has work which is not saved."""
    command = [sys.executable, "-c", OPEN_AND_CRASH, str(reel_file), str(gain)]
    desk = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    return desk, desk.stdout.readline().strip(), desk.stdout.readline().strip()


def test_two_desks_have_a_recovery_each_and_the_second_is_told_and_both_are_offered_after(reel_file, desk):
    first, told_first, name_first = open_and_crash(reel_file, 1.3)
    second, told_second, name_second = open_and_crash(reel_file, 1.4)
    assert (told_first, name_first) == ("", "cat.reel.recovery")
    assert told_second.startswith(f"cat.reel is open at another desk (process {first.pid} on ")
    assert name_second == "cat.reel.recovery-2"
    for other in (first, second):
        other.communicate("")
        assert other.returncode == 9
    gains = []
    for _ in range(2):
        again = Desk(open_reel(reel_file, desk.catalogue))
        assert again.recovery.claim() == ""
        gains.append(again.recovery.offered().cues[0].settings["primary.gain"])
        again.start_without()
        again.recovery.close()
    assert gains == [1.3, 1.4]
    last = Desk(open_reel(reel_file, desk.catalogue))
    assert last.recovery.offered() is None


def test_what_an_open_question_is_about_is_not_written_over_and_not_removed(changed, reel_file):
    changed.recovery.keep(changed.reel)
    left = changed.recovery.path.read_bytes()
    changed.recovery.close()
    again = Desk(open_reel(reel_file, changed.catalogue))
    assert again.recovery.offered() == changed.reel
    again.set({"primary.gain": 1.1})
    again.recovery.keep(again.reel)
    assert not again.recovery.lacks(again.reel)
    assert again.save()
    assert again.recovery.path.read_bytes() == left
    again.recover(changed.reel)
    again.set({"primary.gain": 1.5})
    again.recovery.keep(again.reel)
    assert again.recovery.path.read_bytes() != left


def other_saved(desk):
    """What a command did to the file while the desk was open."""

    def edit(reel):
        return set_cue(reel, 30, Controls(reel.chain, desk.catalogue), {}, name="theirs")

    return change(desk.reel_file, edit)


def test_what_another_program_saved_meanwhile_is_not_written_over(changed):
    theirs = other_saved(changed)
    assert not changed.save()
    assert changed.is_contested
    assert changed.message == (
        "cat.reel was changed by another program since it was opened here; choose what to keep."
    )
    assert load(changed.reel_file) == theirs
    assert not changed.is_saved


def test_both_are_kept_or_the_other_is_taken_and_undo_brings_back_what_was_here(changed):
    theirs, mine = other_saved(changed), changed.reel
    assert not changed.save()
    assert changed.save(keeps_other=True)
    assert changed.message == "Saved in cat.reel. What stood there is cat.1.reel now."
    assert load(changed.reel_file) == mine
    assert load(changed.reel_file.with_name("cat.1.reel")) == theirs
    assert (changed.is_saved, changed.is_contested) == (True, False)
    theirs = other_saved(changed)
    changed.set({"primary.gain": 1.9})
    mine = changed.reel
    assert not changed.save()
    changed.take_other()
    assert changed.message == "This is cat.reel as it was saved elsewhere; undo goes back."
    assert not changed.recovery.lacks(changed.reel)
    assert changed.reel == theirs
    assert (changed.is_saved, changed.is_contested) == (True, False)
    changed.undo()
    assert changed.reel == mine
    assert changed.save()


def test_a_reel_that_has_another_scan_by_now_is_not_taken(changed):
    other = msgspec.structs.replace(changed.reel.scan, path="another.mkv")
    save(changed.reel_file, msgspec.structs.replace(changed.reel, scan=other))
    mine = changed.reel
    changed.take_other()
    assert changed.message == "cat.reel has another scan by now; open it anew to work on it."
    assert changed.reel is mine


def test_a_reel_that_is_damaged_or_gone_meanwhile_can_still_be_saved(changed):
    changed.reel_file.write_text("{")
    assert not changed.save()
    changed.take_other()
    assert "cut off" in changed.message
    assert changed.save(keeps_other=True)
    assert changed.reel_file.with_name("cat.1.reel").read_text() == "{"
    changed.reel_file.unlink()
    changed.set({"primary.gain": 1.8})
    assert changed.save()
    assert load(changed.reel_file) == changed.reel
