"""What is not saved survives a crash: written beside the reel, offered once, then gone."""

import getpass
import os
import platform
import subprocess
import sys
from datetime import datetime, timedelta

import msgspec
import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.reel import store
from lamphouse.graph.reel.store import change, load
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.recovery import Recovery
from lamphouse.viewer.models.saving import (
    begin,
    look,
    look_only,
    put_off,
    recover,
    save,
    save_as,
    start_without,
    take_theirs,
    work_here,
)


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
    assert left.reel == changed.reel
    assert datetime.now() - datetime.strptime(left.made, "%Y-%m-%d at %H:%M:%S") < timedelta(minutes=5)
    assert [(row.frame, row.one, row.other) for row in left.rows] == [(4, "1.7", "1.2")]
    recover(again, left)
    assert save(again)
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
    start_without(again)
    assert again.message == "What an earlier run left is kept as cat.reel.recovery.1."
    again.set({"primary.gain": 1.1})
    again.recovery.keep(again.reel)
    assert reel_file.with_name("cat.reel.recovery.1").read_bytes() == left
    assert again.recovery.path.read_bytes() != left
    start_without(again)
    assert reel_file.with_name("cat.reel.recovery.2").exists()
    start_without(again)
    assert "cannot be renamed" in again.message


OPEN_AND_CRASH = """
import os, sys; from pathlib import Path
from lamphouse.graph.reel_files.opened import open_reel; from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.desk import Desk; from lamphouse.viewer.models.saving import begin
path = Path(sys.argv[1])
desk = Desk(open_reel(path, Catalogue()))
begin(desk)
desk.go_to(10, 0); desk.set({"primary.gain": 1.3}); desk.recovery.keep(desk.reel)
print(desk.own("primary.gain"), flush=True)
sys.stdin.read(); os._exit(9)
"""


@pytest.fixture
def other(reel_file):
    """Another desk on the same reel, in another process, with work that is not saved; it ends by a crash."""
    command = [sys.executable, "-c", OPEN_AND_CRASH, str(reel_file)]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "1.3\n"
    yield process
    process.kill()
    process.communicate()


def test_a_second_desk_only_shows_the_reel_and_says_who_has_it_until_that_one_is_gone(desk, other):
    assert begin(desk) is None
    assert desk.recovery.holder.startswith(
        f"{getpass.getuser()}, process {other.pid} on {platform.node()} since"
    )
    assert desk.troubles.of("file") == (
        f"cat.reel is being worked on by {desk.recovery.holder}; this desk only shows it."
    )
    before = desk.reel
    for edit in (lambda: desk.set({"primary.gain": 2.0}), desk.store, desk.undo, lambda: desk.remove(4)):
        edit()
        assert desk.message == (
            "Nothing is changed, for this desk only shows cat.reel; saving asks what to do."
        )
    assert desk.reel is before
    look_only(desk)
    assert not save(desk)
    assert desk.standing.asks_who_works
    look_only(desk)
    assert not look(desk, 0)
    other.kill()
    other.wait()
    assert look(desk, 10**9)
    assert (desk.standing.is_free, desk.standing.asks_who_works) == (True, True)
    work_here(desk)
    desk.set({"primary.gain": 2.0})
    assert (desk.reel, desk.message, desk.troubles.of("file")) != (before, "", "")
    assert save(desk)


def test_what_the_desk_that_has_the_reel_saves_is_shown_at_the_others(desk, other):
    begin(desk)
    theirs = other_saved(desk)
    assert look(desk, 0)
    assert (desk.reel, desk.is_saved, desk.history.can_undo) == (theirs, True, False)
    assert desk.standing.contest is None


def test_a_copy_can_be_worked_on_while_another_desk_has_the_reel(desk, other, reel_file):
    begin(desk)
    assert desk.standing.name == "cat.1.reel"
    assert save_as(desk, desk.standing.name)
    assert desk.message == "Saved as cat.1.reel, which is the reel at work now; cat.reel stays as it is."
    desk.set({"primary.gain": 2.0})
    assert save(desk)
    assert load(reel_file.with_name("cat.1.reel")) == desk.reel
    assert load(reel_file) != desk.reel
    assert reel_file.with_name("cat.reel.recovery").exists()  # of the desk that has it
    desk.recovery.close()


MARK = """filelock/2
pid=1
host=elsewhere
mode=lease
token=0123456789abcdef0123456789abcdef
duration=30.0
start=1
"""  # as the library writes it


def test_a_mark_of_another_machine_counts_where_locks_do_not_reach_but_not_one_cut_off_long_ago(
    desk, reel_file
):
    mark = reel_file.with_name(".cat.reel.recovery.held")
    mark.write_text(MARK)
    begin(desk)
    assert desk.recovery.holder == "another process"
    assert not desk.recovery.is_free()
    mark.write_text("")
    os.utime(mark, (0, 0))
    assert desk.recovery.is_free()


def test_what_an_open_question_is_about_is_not_written_over_and_not_removed(changed, reel_file):
    changed.recovery.keep(changed.reel)
    left = changed.recovery.path.read_bytes()
    changed.recovery.close()
    again = Desk(open_reel(reel_file, changed.catalogue))
    left_over = again.recovery.offered()
    assert left_over.reel == changed.reel
    again.set({"primary.gain": 1.1})
    again.recovery.keep(again.reel)
    assert not again.recovery.lacks(again.reel)
    assert save(again)
    assert again.recovery.path.read_bytes() == left
    recover(again, left_over)
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
    assert not save(changed)
    assert changed.standing.is_asking
    assert changed.message == (
        "cat.reel was changed by another program since it was opened here; choose what to keep."
    )
    assert load(changed.reel_file) == theirs
    assert not changed.is_saved


def test_both_are_kept_or_the_other_is_taken_and_undo_brings_back_what_was_here(changed):
    theirs, mine = other_saved(changed), changed.reel
    assert not save(changed)
    assert save(changed, keeps_other=True)
    assert changed.message == "Saved in cat.reel. What stood there is cat.1.reel now."
    assert load(changed.reel_file) == mine
    assert load(changed.reel_file.with_name("cat.1.reel")) == theirs
    assert (changed.is_saved, changed.standing.contest) == (True, None)
    theirs = other_saved(changed)
    changed.set({"primary.gain": 1.9})
    mine = changed.reel
    assert not save(changed)
    take_theirs(changed)
    assert changed.message == "This is cat.reel as it was saved elsewhere; undo goes back."
    assert not changed.recovery.lacks(changed.reel)
    assert changed.reel == theirs
    assert (changed.is_saved, changed.standing.contest) == (True, None)
    changed.undo()
    assert changed.reel == mine
    assert save(changed)


def test_a_reel_that_has_another_scan_by_now_is_not_taken(changed):
    other = msgspec.structs.replace(changed.reel.scan, path="another.mkv")
    store.save(changed.reel_file, msgspec.structs.replace(changed.reel, scan=other))
    mine = changed.reel
    take_theirs(changed)
    assert changed.message == "cat.reel has another scan by now; open it anew to work on it."
    assert changed.reel is mine


def test_a_reel_that_is_damaged_or_gone_meanwhile_can_still_be_saved(changed):
    changed.reel_file.write_text("{")
    assert not save(changed)
    take_theirs(changed)
    assert "cut off" in changed.message
    assert save(changed, keeps_other=True)
    assert changed.reel_file.with_name("cat.1.reel").read_text() == "{"
    changed.reel_file.unlink()
    changed.set({"primary.gain": 1.8})
    assert save(changed)
    assert load(changed.reel_file) == changed.reel


def test_a_file_that_changes_under_the_desk_is_noticed_within_a_second_with_what_differs(changed):
    assert not look(changed, 10**9)
    theirs = other_saved(changed)
    assert not look(changed, 10**9 + 1)  # it is looked at once a second
    assert look(changed, 2 * 10**9)
    contest = changed.standing.contest
    assert (contest.theirs, contest.reason) == (theirs, "")
    assert [(row.frame, row.what, row.one, row.other) for row in contest.rows] == [
        (4, "1 one, primary.gain", "1.7", "1.2"),
        (30, "3 theirs", "-", "cut, gain"),
    ]
    put_off(changed)
    assert not changed.standing.is_asking
    assert "saving asks what to keep" in changed.troubles.of("file")
    assert not look(changed, 3 * 10**9)
    assert not save(changed)
    assert changed.standing.is_asking


def test_a_file_that_is_written_again_as_it_was_asks_nothing(changed, reel_file):
    theirs = other_saved(changed)
    look(changed, 0)
    assert changed.standing.contest.theirs == theirs
    store.save(reel_file, changed.saved)
    assert look(changed, 10**9)
    assert changed.standing.contest is None
    reel_file.unlink()
    assert look(changed, 2 * 10**9)
    assert changed.troubles.of("file") == "cat.reel is gone from its folder; saving writes it anew."
    assert save(changed)
    assert changed.troubles.of("file") == ""


@pytest.mark.parametrize(
    ("name", "says"),
    [("", "Nothing is no name"), ("a/b", "a/b is no name"), ("cat", "cat.reel is there already")],
)
def test_another_file_needs_a_name_beside_the_reel_that_none_there_has(changed, name, says):
    assert not save_as(changed, name)
    assert says in changed.message
    assert not changed.is_saved


def test_mine_is_saved_as_another_file_and_work_goes_on_there(changed, reel_file):
    changed.recovery.keep(changed.reel)
    theirs, mine = other_saved(changed), changed.reel
    look(changed, 0)
    assert save_as(changed, "mine")
    assert (load(reel_file), load(reel_file.with_name("mine.reel"))) == (theirs, mine)
    assert (changed.reel_file.name, changed.is_saved, changed.standing.contest) == ("mine.reel", True, None)
    assert not reel_file.with_name("cat.reel.recovery").exists()
    changed.undo()
    changed.recovery.keep(changed.reel)
    assert reel_file.with_name("mine.reel.recovery").exists()
    changed.recovery.close()


def test_what_a_hand_sets_is_saved_again_and_again_whatever_kind_it_is(desk):
    desk.frame = 24
    for act in (
        lambda: desk.nudge("primary.lift_balance", (0.1, 0.05)),
        lambda: desk.nudge("white_balance.target", (0.05, 0.1)),
        lambda: desk.set({"curves.red": ((0.0, 0.0), (0.5, 0.6), (1.0, 1.0))}),
        lambda: desk.ease(24, ((0.0, 0.0), (0.4, 0.7), (1.0, 1.0))),
    ):
        before = desk.reel
        act()
        assert desk.reel != before, desk.message
        assert save(desk), desk.message  # each time the file holds what was saved before
        assert load(desk.reel_file) == desk.reel
