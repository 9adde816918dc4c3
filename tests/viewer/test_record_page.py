"""The page to record: what it asks another process for, what it shows of it, and what a hand does there."""

import msgspec
import numpy as np
import pytest
from imgui_bundle import imgui

from lamphouse.graph.check.check import GUIDANCE
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.pass_record import Frame, PassRecord
from lamphouse.graph.media.master.record import Insert, Made, MasterRecord
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.store import load
from lamphouse.graph.transfer.notes import CAUTION
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.viewer import colours
from lamphouse.viewer.jobs.orders import Check, Mend, Prove, Report, Transfer
from lamphouse.viewer.jobs.said import Ended, Line, Noted, Outcome, Pair, Progress
from lamphouse.viewer.jobs.small import small
from lamphouse.viewer.jobs.stale import Stale
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.recording import take_file
from lamphouse.viewer.panels.record.monitor import verdict

SECOND = 1_000_000_000


class Running:
    """Work that says what a test puts into it."""

    def __init__(self, order, wake):
        self.order, self.said, self.is_stopped, self.is_closed = order, [], False, False

    def news(self):
        said, self.said = self.said, []
        return said

    def stop(self):
        self.is_stopped = True

    def close(self):
        self.is_closed = True


@pytest.fixture
def texts(monkeypatch):
    """The lines of text that the last drawing wrote."""
    lines = []

    def noted(draw, at):
        def drawn(*given):
            lines.append(given[at])
            return draw(*given)

        return drawn

    monkeypatch.setattr(imgui, "text_colored", noted(imgui.text_colored, 1))
    return lines


@pytest.fixture
def at(desk, hand_at, texts):
    """A hand on the record page, whose work says what the test wants."""
    hand = hand_at(desk, 1024, 640, font=True)
    hand.panels.recording.begin = Running
    hand.keys("f5")
    return hand


@pytest.fixture
def say(at, texts):
    """A function that lets the work say something, and gives the text of the page then."""

    def says(*said):
        at.panels.recording.job.work.said += said
        at.frame(3)
        texts.clear()
        at.frame()
        return "\n".join(texts)

    return says


def do(hand, name):
    run(BY_NAME[name], hand.desk, hand.panels, hand.now)
    hand.frame(2)


def test_the_page_is_there_and_away_by_its_key_and_says_that_it_is_no_certificate(at, texts):
    assert at.panels.page == "record"
    texts.clear()
    at.frame()
    assert CAUTION in texts
    at.keys("f5")
    assert at.panels.page == "grade"


def test_nothing_begins_before_the_page_is_seen(at):
    at.keys("f5")
    do(at, "record")
    assert (at.panels.page, at.panels.recording.job) == ("record", None)
    do(at, "record")
    assert at.panels.recording.job.what == "pass"


def test_a_pass_is_of_the_reel_as_it_is_which_is_saved_first(at):
    at.desk.set({"primary.gain": 1.4})
    do(at, "record")
    order = at.panels.recording.job.order
    assert isinstance(order, Transfer)
    assert (order.first, order.stop, order.master.name) == (0, 40, "cat-master.mkv")
    assert (order.resume, order.discard) == (False, False)
    assert load(at.desk.reel_file) == order.reel == at.desk.reel


def test_what_is_chosen_by_keys_is_what_the_pass_is_made_of(at):
    names = at.panels.recording.choice.names(at.desk)
    before = at.panels.recording.choice.delivery
    do(at, "next_delivery")
    assert at.panels.recording.choice.delivery == names[names.index(before) + 1]
    do(at, "previous_delivery")
    at.desk.marked_in, at.desk.marked_out = 5, 9
    do(at, "record_marked")
    do(at, "record")
    order = at.panels.recording.job.order
    assert (order.first, order.stop) == (5, 10)


def test_a_name_that_is_taken_is_refused_as_it_is_typed_and_the_next_one_is_suggested(at, texts):
    there = at.desk.reel_file.with_name("cat-master.mkv")
    there.touch()
    at.panels.recording.choice.forget()
    assert at.panels.recording.choice.now(at.desk, at.now).master.name == "cat-master-2.mkv"
    at.panels.recording.choice.typed = "cat-master.mkv"
    at.frame()
    assert any("exists already" in text for text in texts)
    do(at, "record")
    assert at.panels.recording.job is None
    assert "exists already" in at.desk.message


def test_how_far_it_is_how_fast_what_limits_it_and_how_long_it_takes_are_said(at, say):
    do(at, "record")
    say(Progress("Transfer to m.mkv", 0, 40))
    at.now += SECOND
    text = say(Progress("Transfer to m.mkv", 10, 40, "encoding", 7, 12))
    assert "Transfer to m.mkv" in text
    assert "encoding is the limit" in text
    assert "read back and good: 7 frames; 12 pixels were cut at either end" in text
    # Ten frames in a second and four turns of 16 ms: 9.4 a second, and the other thirty take three.
    assert "9.4 frames a second, 0:00:03 left" in text


def test_a_stop_is_asked_for_once_and_can_be_thought_better_of(at, say):
    do(at, "record")
    work = at.panels.recording.job.work
    do(at, "record")
    assert "can be resumed" in say(Progress("a", 3, 40))
    do(at, "record_go_on")
    do(at, "record")
    assert not work.is_stopped
    do(at, "record")
    assert work.is_stopped
    assert "The pass was stopped." in say(Ended("stopped", "Stopped after 3 of 40 frames."))


@pytest.fixture
def left(at):
    """What a pass has left beside the reel: nineteen frames of it."""
    way = UnderWay(at.desk.reel_file.with_name("cat-master.mkv"))
    way.part.touch()
    record = PassRecord(way.record, {})
    for number in range(19):
        record.add(number, Frame("0" * 32, 1))
    record.close()
    at.panels.recording.choice.forget()
    return way


def test_what_another_pass_left_is_told_and_resumed_when_asked_twice(at, left, texts):
    at.frame()
    assert any("19 of 40 frames are on record" in text for text in texts)
    do(at, "record")
    assert at.panels.recording.job is None
    do(at, "record")
    assert at.panels.recording.job.order.resume


def test_what_another_pass_left_is_thrown_away_only_where_that_was_asked(at, left):
    do(at, "discard_left")
    assert at.panels.recording.job is None
    do(at, "record")
    do(at, "discard_left")
    assert at.panels.recording.job.order.discard


def pair(number, *, is_equal=True):
    coding = plane_coding("yuv422p10le", "bt709", "video")
    planes = [np.full((12, wide), 500, np.uint16) for wide in (16, 8, 8)]
    other = [plane + (0 if is_equal else 1) for plane in planes]
    return Pair(number, small(planes, coding), small(other, coding))


def test_pictures_that_came_back_are_asked_to_be_shown_and_the_verdict_so_far_is_said(at, monkeypatch):
    written = []
    monkeypatch.setattr(
        "lamphouse.viewer.panels.record.monitor.text_at", lambda *given: written.append(given[2])
    )
    do(at, "record")
    newest = pair(6)
    at.panels.recording.job.work.said += [pair(3), newest, Progress("a", 9, 40, good=7)]
    at.frame(3)
    assert at.display.asked_record.pair is newest
    assert "frame 6: every code equal, as of all 7 frames so far" in written


def test_the_verdict_the_digests_and_the_notes_are_shown_and_the_master_is_the_one_for_inserts(at, say):
    do(at, "record")
    master = at.panels.recording.job.master
    outcome = Outcome("All 40 frames were decoded.", (Line("m.mkv  SHA-256 abc"),), made=master)
    text = say(Noted("Two are odd."), Ended("done", outcome=outcome))
    assert "All 40 frames were decoded." in text
    assert "SHA-256 abc" in text
    assert "Note: Two are odd." in text
    assert at.panels.recording.master == master


def test_the_first_frame_that_differs_is_said_and_gone_to(at, say):
    do(at, "record")
    text = say(Ended("failed", "Frame 17 (10:00:00:17) of m.mkv differs from what was written.", number=17))
    assert "Frame 17" in text
    do(at, "go_to_fault")
    assert at.desk.frame == 17


def test_the_faults_of_a_proof_are_gone_to_one_after_the_other(at, say):
    at.panels.recording.master = at.desk.reel_file.with_name("m.mkv")
    do(at, "prove_master")
    assert at.panels.recording.job.order == Prove(at.desk.reel_file, at.desk.reel, at.panels.recording.master)
    found = tuple(Line(f"Frame {n} differs.", n, "fault") for n in (3, 30))
    made_of = at.panels.recording.choice.now(at.desk, at.now).delivery
    record = msgspec.structs.replace(_record(at.desk), delivery=made_of)
    at.panels.recording.stale = Stale(at.panels.recording.master, record)
    say(Ended("done", outcome=Outcome("2 faults were found.", found, is_good=False)))
    places = []
    for _ in range(3):
        do(at, "go_to_fault")
        places.append(at.desk.frame)
    assert places == [3, 30, 3]


FOUND = (
    Line("Frame 3 is beyond the levels.", 3, "fault"),
    Line("The file states no timecode.", None, "fault"),
    Line(
        f"Frame 30 repeats frame 29{', and goes on for longer than a row' * 4}.",
        30,
        "caution",
    ),
    Line("Frame 7 is dark.", 7, "note"),
    Line("Levels by EBU R 103: all is well."),
)


@pytest.fixture
def checked(at, say):
    """The page after a check of a master that found something of each weight; and the text of it."""
    recording = at.panels.recording
    recording.master = at.desk.reel_file.with_name("m.mkv")
    do(at, "check_master")
    assert (recording.side, recording.job.order) == ("finished", Check(recording.master))
    made_of = recording.choice.now(at.desk, at.now).delivery
    recording.stale = Stale(recording.master, msgspec.structs.replace(_record(at.desk), delivery=made_of))
    return say(Ended("done", outcome=Outcome("m.mkv: 2 faults and 1 caution.", FOUND, is_good=False)))


def test_what_a_check_finds_is_listed_by_its_weight_with_the_guidance_and_no_caution_of_a_pass(checked):
    lines = checked.split("\n")
    listed = [
        "m.mkv: 2 faults and 1 caution.",
        *("faults", FOUND[0].text, FOUND[1].text),
        *("to be looked at", FOUND[2].text),
        *("to be known", FOUND[3].text, FOUND[4].text),
        GUIDANCE,
    ]
    assert [line for line in lines if line in listed] == listed
    assert CAUTION not in lines


def test_a_click_on_what_was_found_goes_to_its_frame_and_the_next_follows_by_key(at, checked, items):
    at.frame()
    left, top, right, bottom = items["##caution 0"]
    at.click((left + right) / 2, (top + bottom) / 2)
    at.frame(2)
    assert (at.panels.page, at.desk.frame) == ("grade", 30)
    assert FOUND[2].text in at.desk.message
    do(at, "go_to_fault")
    assert at.desk.frame == 3
    at.keys("f5")
    at.frame(2)
    assert "##fault 0" in items


def test_what_was_found_where_the_master_shows_no_film_is_said_and_the_list_stays(at, checked, items):
    recording = at.panels.recording
    barred = msgspec.structs.replace(recording.stale.record.delivery, bars=10)
    recording.stale = Stale(
        recording.master, msgspec.structs.replace(recording.stale.record, delivery=barred)
    )
    at.desk.go_to(20, at.now)
    at.frame()
    left, top, right, bottom = items["##fault 0"]
    at.click((left + right) / 2, (top + bottom) / 2)
    at.frame(2)
    assert (at.panels.page, at.desk.frame) == ("record", 20)
    assert at.desk.message == "That frame of the master shows no film of this reel."


def test_the_side_of_a_finished_master_has_all_that_is_done_with_one(at, items):
    recording = at.panels.recording
    recording.master = at.desk.reel_file.with_name("m.mkv")
    do(at, "record_side")
    do(at, "record_side")
    items.clear()
    at.frame()
    names = ("check the master", "verify against the reel", "write the report", "compare with the grade")
    assert set(names) <= set(items)
    left, top, right, bottom = items["check the master"]
    at.click((left + right) / 2, (top + bottom) / 2)
    assert recording.job.what == "check"


def _record(desk):
    now = Made(when="2000-01-01T00:00:00Z", who="nobody")
    return MasterRecord(
        made=now, reel_file="cat.reel", reel=desk.reel, delivery=delivery("scan-ffv1", {}), first=0, stop=40
    )


def test_the_report_goes_beside_the_master_and_the_comparison_to_the_grade(at):
    master = at.panels.recording.master = at.desk.reel_file.with_name("m.mkv")
    do(at, "report_master")
    order = at.panels.recording.job.order
    assert order == Report(at.desk.reel_file, at.desk.reel, master, master.with_name("m-report"))
    do(at, "compare_master")
    assert (at.desk.comparison.master, at.panels.page) == (master, "grade")


@pytest.fixture
def inserting(at):
    """The page of inserts, with a master of which six frames are stale."""
    recording = at.panels.recording
    recording.side, recording.master = "insert", at.desk.reel_file.with_name("m.mkv")
    numbers = (range(4, 8), range(20, 22))
    recording.stale = Stale(recording.master, _record(at.desk), numbers, numbers, "6 frames are older.")
    at.frame(2)
    return recording


@pytest.mark.parametrize(
    ("takes", "wanted"),
    [
        ("stale", Wanted()),
        (
            "cue",
            Wanted(start="17", stop="40"),
        ),  # the second cue is at 24, and its transition of 8 begins with 17
        ("marked", Wanted(start="10", stop="13")),
    ],
)
def test_an_insert_is_asked_for_as_its_command_is(at, inserting, takes, wanted):
    at.desk.go_to(30, at.now)
    at.frame(2)
    at.desk.marked_in, at.desk.marked_out = 10, 12
    while inserting.takes != takes:
        do(at, "insert_takes")
    do(at, "insert_keeps")
    do(at, "insert")
    order = inserting.job.order
    assert isinstance(order, Mend)
    assert (order.master, order.wanted, order.keep) == (inserting.master, wanted, True)


def test_the_joins_of_each_run_are_asked_for_in_turn(at, inserting):
    assert at.display.asked_record.joins.numbers == range(4, 8)
    do(at, "insert_next")
    assert at.display.asked_record.joins.numbers == range(20, 22)


def test_what_is_stale_is_asked_anew_when_the_reel_is_another_and_not_while_a_hand_holds_it(at, monkeypatch):
    first = at.display.asked_record.stale
    at.frame()
    assert at.display.asked_record.stale == first
    monkeypatch.setattr(imgui, "is_any_item_active", lambda: True)
    at.panels.drag = at.desk.grasp("primary.gain")
    at.desk.set({"primary.gain": 1.4}, at.panels.drag)
    at.loop.turn()
    assert at.display.asked_record.stale == first
    at.panels.drag = None
    at.frame(2)
    assert at.display.asked_record.stale != first


def test_the_desk_is_not_closed_while_a_work_is_under_way_and_closing_stops_it(at):
    do(at, "record")
    do(at, "leave")
    assert not at.panels.is_over
    assert "under way" in at.desk.message
    at.panels.recording.close()
    assert at.panels.recording.job.work.is_closed


@pytest.mark.parametrize("side", ["pass", "insert", "finished"])
@pytest.mark.parametrize("way", ["before", "during", "after"])
def test_nothing_is_cut_off_in_the_least_window(at, say, items, side, way):
    at.panels.recording.side = side
    if way != "before":
        do(at, "record" if side == "pass" else "prove_master")
    if at.panels.recording.job is not None:
        say(Progress("Transfer to a master with a long name.mkv", 3, 40, "decoding", 2))
    if at.panels.recording.job is not None and way == "after":
        say(Ended("done", outcome=Outcome("All are good.", made=at.desk.reel_file.with_name("m.mkv"))))
    items.clear()
    at.frame()
    assert items
    for label, (left, top, right, bottom) in items.items():
        assert left >= 0, label
        assert top >= 0, label
        assert right <= 1024, label
        assert bottom <= 640, label


def test_a_master_and_its_place_are_looked_for_in_the_browser(at):
    recording = at.panels.recording
    do(at, "record_browse")
    assert recording.browser.is_saving
    take_file(at.desk, recording, at.desk.reel_file.with_name("elsewhere.mkv"))
    assert recording.choice.now(at.desk, at.now).master.name == "elsewhere.mkv"
    recording.side = "insert"
    do(at, "record_browse")
    assert not recording.browser.is_saving
    there = at.desk.reel_file.with_name("there.mkv")
    there.touch()
    take_file(at.desk, recording, there)
    assert (recording.master, recording.browser) == (there, None)


def test_a_file_whose_index_comes_last_is_said_to_be_read_back_later_and_shows_what_is_sent(at):
    at.panels.recording.choice.delivery = "hd-prores-hq"
    do(at, "record")
    job = at.panels.recording.job
    sent = Pair(3, pair(3).sent, None)
    job.work.said += [sent, Progress("a", 9, 40)]
    at.frame(3)
    assert at.display.asked_record.pair is sent
    assert verdict(job)[0] == "The index of such a file comes last: it is read back once it is whole."


def test_what_was_sent_alone_never_takes_the_place_of_what_has_come_back(at):
    do(at, "record")
    job, both = at.panels.recording.job, pair(3)
    job.work.said += [both, Pair(9, both.sent, None)]
    at.frame(2)
    assert job.pair is both


def test_after_an_insert_the_joins_of_what_was_made_are_shown(at, inserting, say):
    now = Made(when="2001-01-01T00:00:00Z", who="somebody")
    do(at, "insert")
    say(Ended("done", outcome=Outcome("Done.", made=inserting.master)))
    made = Insert(first=4, stop=8, why="it was asked for", made=now)
    record = msgspec.structs.replace(_record(at.desk), inserts=(made,))
    inserting.stale = Stale(inserting.master, record, (), (), "All is new.")
    at.frame(2)
    assert at.display.asked_record.joins.numbers == range(4, 8)


def test_what_is_wrong_is_said_on_this_page_too(at, texts):
    at.desk.message = "Something is to be known."
    texts.clear()
    at.frame()
    assert "Something is to be known." in texts


def test_a_process_that_cannot_be_begun_is_a_sentence_and_the_page_goes_on(at):
    def refused(order, wake):
        raise OSError(11, "Resource temporarily unavailable")

    at.panels.recording.begin = refused
    do(at, "record")
    assert "No process can be begun for it (Resource temporarily unavailable)" in at.desk.message
    at.panels.recording.begin = Running
    do(at, "record")
    assert at.panels.recording.is_at_work


def test_what_is_stale_and_what_lies_between_in_and_out_stand_on_the_strip(at, monkeypatch):
    boxes = []
    monkeypatch.setattr("lamphouse.viewer.panels.strip_ends.box", lambda *given: boxes.append(given))
    stretch = (range(10, 20),)
    at.panels.recording.stale = Stale(at.desk.reel_file, None, stretch, stretch, "")
    at.frame()
    ((left, _), (right, _), colour) = boxes[-1]
    assert (left, right) == pytest.approx((at.strip_x(10), at.strip_x(20)), abs=1)
    assert colour == colours.ACCENT
    at.desk.marked_in, at.desk.marked_out = 5, 29
    boxes.clear()
    at.frame()
    dark = [(a[0], b[0]) for a, b, colour, *_ in boxes if colour == colours.SURROUND]
    assert dark == [
        pytest.approx((at.strip_x(0), at.strip_x(5)), abs=1),
        pytest.approx((at.strip_x(30), at.strip_x(40)), abs=1),
    ]
