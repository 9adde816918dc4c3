"""Long work in a process of its own: the same bytes as a command makes, stopped, killed, and gone on with."""

import os
import signal
from contextlib import suppress
from dataclasses import replace
from multiprocessing import Pipe
from threading import Event
from time import sleep

import msgspec
import numpy as np
import pytest

from lamphouse.graph.check.check import check
from lamphouse.graph.check.parts import PARTS
from lamphouse.graph.check.settings import defaults
from lamphouse.graph.check.several import summary
from lamphouse.graph.check.subject import subject_of
from lamphouse.graph.media.codes.encode_planes import Blank, Cut, plane_coding
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.movie_out import MovieOut
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import Stopped
from lamphouse.viewer.jobs.child import work
from lamphouse.viewer.jobs.orders import Check, Mend, Prove, Report, Transfer
from lamphouse.viewer.jobs.said import Ended, Pair, Progress
from lamphouse.viewer.jobs.small import WIDEST, small
from lamphouse.viewer.jobs.told import HELD, Told
from lamphouse.viewer.jobs.work import Work

pytestmark = pytest.mark.slow  # whole passes in processes of their own

LONG = 60  # seconds after which a test has failed


@pytest.fixture(autouse=True)
def pace(monkeypatch):
    """What a job's process does to its own pace is not done to that of the tests after these."""
    monkeypatch.setattr(os, "nice", lambda by: by)


@pytest.fixture
def at_work():
    """A function that begins an order, and gives what is said until `until` of it is so; all end with it."""
    begun = []

    def begin(order, until=lambda said: False):
        come = Event()
        one = Work(order, come.set)
        begun.append(one)
        said = []
        while not (said and isinstance(said[-1], Ended)) and not until(said):
            assert come.wait(LONG)
            come.clear()
            said += one.news()
        return one, said

    yield begin
    for one in begun:
        one.close()


@pytest.fixture
def order(reel_file):
    """A pass over the whole reel, beside it."""
    reel = open_reel(reel_file, Catalogue()).reel
    made_of = delivery("scan-ffv1", {})
    return Transfer(reel_file, reel, made_of, 0, reel.scan.frames, reel_file.with_name("m.mkv"))


@pytest.fixture
def as_typed(order, tmp_path):
    """The bytes of the master that the command makes of the same reel."""
    master = tmp_path / "typed" / "m.mkv"
    master.parent.mkdir()
    pass_ = plan(open_reel(order.reel_file, Catalogue()), order.delivery, 0, order.stop)
    transfer(pass_, master, lambda *done: None)
    return master.read_bytes()


def rest(one, said):
    """The last of what is said."""
    while not (said and isinstance(said[-1], Ended)):
        sleep(0.01)
        said += one.news()
    return said[-1]


def test_a_pass_makes_the_bytes_that_the_command_makes_and_shows_its_frames_as_sent_and_as_read_back(
    at_work, order, as_typed
):
    _, said = at_work(order)
    ended = said[-1]
    assert (ended.how, ended.outcome.verdict) == ("done", load_record(order.master).read_back)
    assert order.master.read_bytes() == as_typed
    pair = next(one for one in said if isinstance(one, Pair))
    assert pair.is_equal
    assert np.ptp(pair.came.planes[0]) > 0
    last = [one for one in said if isinstance(one, Progress)][-1]
    assert (last.done, last.total) == (order.stop, order.stop)


class Impatient(Told):
    """Asks for a stop once ten frames are made."""

    def is_asked(self):
        return self.so_far.done >= 10


@pytest.fixture
def told():
    """A function that gives the working end of a wire that nobody listens to, of a class."""
    ours, theirs = Pipe()
    yield lambda kind=Told: kind(theirs)
    ours.close()


def test_a_pass_that_is_stopped_goes_on_to_the_same_bytes(order, as_typed, told):
    with pytest.raises(Stopped, match=r"Stopped after 1\d of 40 frames; .*--resume"):
        order.run(told(Impatient))
    assert not order.master.exists()
    made = replace(order, resume=True).run(told())
    assert "kept" in made.lines[0].text
    assert order.master.read_bytes() == as_typed


@pytest.mark.parametrize("says_so", [True, False])
def test_a_pass_stops_when_it_is_told_to_and_when_nobody_listens_any_more(order, says_so):
    ours, theirs = Pipe()
    if says_so:
        ours.send("stop")
    else:
        ours.close()
    told = Told(theirs)
    while not told.is_asked():
        sleep(0.001)
    with pytest.raises(Stopped, match="Stopped after 0 of 40 frames"):
        order.run(told)


def test_a_process_that_is_killed_says_so_in_a_sentence(at_work, order):
    begun, said = at_work(order, until=bool)
    os.kill(begun.process_id, signal.SIGKILL)
    ended = rest(begun, said)
    assert (ended.how, ended.sentence) == (
        "broken",
        "The process that was at work ended by itself (signal 9); what it had written is kept: begin again.",
    )


def test_a_sentence_for_the_desk_has_no_option_of_a_command(order):
    UnderWay(order.master).part.touch()
    ours, theirs = Pipe()
    work(order, theirs)
    *_, ended = _all(ours)
    left = f"{order.master}.part is left from a pass that did not end"
    assert ended.sentence == f"{left}; resume it, or throw it away and start anew."


def test_what_is_refused_and_what_fails_come_as_their_sentences(order, told):
    ours, theirs = Pipe()
    work(replace(order, master=order.reel_file), theirs)
    *_, ended = _all(ours)
    assert ended.how == "refused"
    assert "reel" in ended.sentence


def _all(wire):
    with suppress(EOFError):
        while True:
            message = wire.recv()
            yield message
            if isinstance(message, Ended):
                return


def test_more_is_sent_than_can_wait_to_come_back_and_is_shown_without(monkeypatch):
    ours, theirs = Pipe()
    told = Told(theirs)
    monkeypatch.setattr("lamphouse.viewer.jobs.told.PERIOD", 0.0)
    coding = plane_coding("yuv444p10le", "bt709", "video")
    planes = [np.zeros((4, 4), np.uint16)] * 3
    for number in range(HELD + 1):
        told.sent(number, Blank(planes, coding, None, Cut(2, 1)))
    shown = ours.recv()
    assert (shown.number, shown.sent is None, shown.came) == (HELD, False, None)
    told.came(0, planes)
    shown = ours.recv()
    assert (shown.number, shown.is_equal) == (0, True)
    ours.close()


def test_an_insert_a_proof_and_a_report_are_what_the_commands_make(order, told):
    order.run(told())
    cues = (*order.reel.cues, Cue(frame=30, name="three", settings={"primary.gain": 0.5}))
    reel = msgspec.structs.replace(order.reel, cues=cues)
    found = Prove(order.reel_file, reel, order.master).run(told())
    assert not found.is_good
    assert (found.lines[0].number, found.lines[0].weight) == (30, "fault")
    mended = Mend(order.reel_file, reel, order.master, Wanted()).run(told())
    assert mended.verdict == "10 of 40 frames were made anew, read back and put in place."
    assert mended.lines[0].number == 30
    assert Prove(order.reel_file, reel, order.master).run(told()).is_good
    page = Report(order.reel_file, reel, order.master, order.reel_file.with_name("page")).run(told())
    assert page.made.read_text().count("three") > 0


def test_a_check_finds_what_the_command_finds_and_leads_to_the_worst_of_its_frames(order, told):
    bright = (*order.reel.cues, Cue(frame=30, name="bright", settings={"primary.gain": 8.0}))
    replace(order, reel=msgspec.structs.replace(order.reel, cues=bright)).run(told())
    found = check(subject_of(order.master, defaults()), PARTS, lambda *done: None, lambda: False)
    outcome = Check(order.master).run(told())
    assert {line.text for line in outcome.lines} == set(found.lines())
    assert outcome.is_good == (not found.count)
    assert outcome.verdict == summary(order.master.name, found)
    places = {
        one.sentence: (one.frame if one.worst is None else one.worst)
        for one in (*found.faults, *found.others)
    }
    assert {line.text: line.number for line in outcome.lines if line.text in places} == places
    assert any(number is not None for number in places.values())
    weights = [("fault", "caution", "note").index(line.weight) for line in outcome.lines]
    assert weights == sorted(weights)


def test_a_check_that_is_stopped_says_after_how_many_frames(order, told):
    order.run(told())
    with pytest.raises(Stopped, match=r"Stopped after 10 frames of m\.mkv; nothing was changed\."):
        Check(order.master).run(told(Impatient))


def test_the_frame_at_which_a_read_back_failed_is_known(order, monkeypatch):
    write, numbers = MovieOut.write, iter(range(100))

    def slips(self, filled):
        if next(numbers) == 5:
            filled.planes[0][:] = np.asarray(filled.planes[0]) // 2
        return write(self, filled)

    monkeypatch.setattr(MovieOut, "write", slips)
    ours, theirs = Pipe()
    work(order, theirs)
    *_, ended = _all(ours)
    assert (ended.how, ended.number) == ("failed", 5)


@pytest.mark.parametrize(
    ("width", "pixel_format"), [(1920, "yuv422p10le"), (64, "yuv420p"), (2048, "gbrp10le")]
)
def test_a_small_picture_holds_codes_of_the_large_one_at_their_places(width, pixel_format):
    coding = plane_coding(
        pixel_format, "rgb" if "rgb" in pixel_format or "gbr" in pixel_format else "bt709", "video"
    )
    over, down = coding.layout.subsampling
    luma = np.arange(48 * width, dtype=np.uint32).reshape(48, width).astype(np.uint16)
    chroma = np.arange(48 // down * width // over).reshape(48 // down, -1).astype(np.uint16)
    found = small([luma, chroma, chroma], coding)
    step = -(-width // found.planes[0].shape[1])
    assert found.planes[0].shape[1] <= WIDEST
    assert step % 2
    assert found.planes[0][3, 5] == luma[3 * step, 5 * step]
    if step > 1:
        assert found.planes[1][3, 5] == chroma[3 * step // down, 5 * step // over]
        assert found.coded.shape == (3, *found.planes[0].shape)
