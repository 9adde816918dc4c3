"""Event lists, read by OpenTimelineIO's reader of them; times by OpenTimelineIO's arithmetic."""

import re
from itertools import pairwise

import opentimelineio
import pytest
from opentimelineio.opentime import from_timecode, to_timecode

from lamphouse.graph.handover.lists.event_list import event_list, form_name
from lamphouse.graph.handover.lists.shots import Shot
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.graph.reel.span import Span
from lamphouse.graph.time.rate import parse_rate

EVENT = re.compile(r"(\d{3,4}) +(\S+) +V +C +" + r"(\d\d:\d\d:\d\d[:;]\d\d) ?" * 4)


def events(text):
    """The reel's name and the four times of each event."""
    return [found.groups()[1:] for found in map(EVENT.fullmatch, text.splitlines()) if found]


def frame_of(time, rate, drops):
    """The frame that a time names, by the library; it writes a time that drop-frame leaves out as another."""
    found = from_timecode(time, float(rate))
    assert to_timecode(found, float(rate), drop_frame=drops) == time
    return found.value


def read(text, rate):
    return opentimelineio.adapters.read_from_string(text, "cmx_3600", rate=float(parse_rate(rate)))


def test_a_list_has_the_columns_of_the_form(opened, shots):
    # Columns: public descriptions of the form of SMPTE ST 258.
    cues = Cue(frame=0, name="chart"), Cue(frame=100, settings={"primary.gain": 1.25})
    text = event_list("a", *shots(opened(*cues, frames=250)))
    head, mode, event, *rest = text.split("\r\n")
    assert (head, mode) == ("TITLE: a", "FCM: NON-DROP FRAME")
    assert event == "001  MYFIRSTR V     C        10:00:00:00 10:00:04:00 10:00:00:00 10:00:04:00"
    second = rest[rest.index(next(line for line in rest if line.startswith("002"))) :]
    assert second == [
        "002  MYFIRSTR V     C        10:00:04:00 10:00:10:00 10:00:04:00 10:00:10:00",
        "* FROM CLIP NAME: my first reel.mkv",
        "* CUE NUMBER: 2",
        "* ASC_SOP (1.25 1.25 1.25)(0.0 0.0 0.0)(1.0 1.0 1.0)",
        "* ASC_SAT 1.0",
        "* CDL: exact for all that slope and offset leave at zero or above",
        "",
    ]


@pytest.mark.parametrize(
    ("rate", "counting"),
    [
        *((rate, "drop") for rate in ("24", "24000/1001", "25", "30000/1001", "30", "50", "60000/1001")),
        ("30000/1001", "non-drop"),
        ("60000/1001", "non-drop"),
    ],
)
def test_every_time_is_legal_durations_are_exact_and_sum_to_the_reel(opened, shots, rate, counting):
    # Cues about the beginning of each of eleven minutes, where drop-frame leaves numbers out.
    second, frames = parse_rate(rate), int(parse_rate(rate) * 660)
    starts = [0, *(int(second * (1 + 60 * minute)) + n for minute in range(11) for n in range(-2, 4))]
    cues = [Cue(frame=frame) for frame in starts]
    reel = opened(*cues[:3], frames=frames, rate=rate, counting=counting, start="00:58:59:00")
    span, (one, *_) = shots(reel)
    parts = [range(*ends) for ends in pairwise([*starts, frames])]
    lengths = [len(part) for part in parts]
    made = [Shot(part, part, cue, 1, one.cdl, 0) for part, cue in zip(parts, cues, strict=True)]
    text = event_list("a", span, made)
    drops = counting == "drop" and rate in ("30000/1001", "60000/1001")
    assert text.splitlines()[1] == f"FCM: {'' if drops else 'NON-'}DROP FRAME"
    found = [[frame_of(time, parse_rate(rate), drops) for time in times] for _, *times in events(text)]
    assert [times[1] - times[0] for times in found] == lengths
    assert [times[3] - times[2] for times in found] == lengths
    assert found[-1][3] - found[0][2] == sum(lengths) == frames
    assert all(before[3] == after[2] for before, after in pairwise(found))
    timeline = read(text, rate)
    assert [clip.duration().value for clip in timeline.find_clips()] == lengths


def test_more_than_999_events_keep_their_columns(opened, shots):
    span, (one,) = shots(opened(Cue(frame=0)))
    many = [Shot(range(n, n + 1), range(n, n + 1), one.cue, n + 1, one.cdl, 0) for n in range(1001)]
    text = event_list("a", span, many)
    lines = [line for line in text.splitlines() if line[0].isdigit()]
    assert lines[999].startswith("1000 MYFIRSTR V     C        10:00:39:24 10:00:40:00")
    assert {len(line) for line in lines} == {76}
    last = text[text.index("998  MY") :]  # the library takes seconds for all of them
    assert len(list(read(last, "25").find_clips())) == 4


def test_a_transition_of_settings_is_a_comment_and_the_picture_is_cut(opened, shots):
    cues = Cue(frame=0), Cue(frame=200, name="sky", begins="transition", length=60, ease="even")
    text = event_list("a", *shots(opened(*cues)))
    assert "* TRANSITION OF SETTINGS: 60 FRAMES, even" in text
    assert len(events(text)) == 2


def test_cdls_and_marks_are_read_by_the_library(opened, shots):
    settings = {"primary.gain": 1.5, "primary.lift": 0.1, "primary.gamma": 0.8, "saturation.amount": 0.7}
    reel = opened(Cue(frame=0, settings=settings), marks=(Mark(frame=10, name="hole"),))
    (clip,) = read(event_list("a", *shots(reel)), "25").find_clips()
    # slope = gain (1 - lift), offset = gain lift, power = 1 / gamma: arithmetic.
    sop = clip.metadata["cdl"]["asc_sop"]
    assert list(sop["slope"]) == pytest.approx([1.35] * 3, abs=1e-9)
    assert list(sop["offset"]) == pytest.approx([0.15] * 3, abs=1e-9)
    assert list(sop["power"]) == pytest.approx([1.25] * 3, abs=1e-9)
    assert clip.metadata["cdl"]["asc_sat"] == pytest.approx(0.7)
    assert [(mark.name, mark.marked_range.start_time.value) for mark in clip.markers] == [("hole", 900010)]


def test_a_cue_that_is_no_cdl_says_why(opened, shots):
    reel = opened(Cue(frame=0, settings={"exposure.stops": 1.0}), chain="everyday")
    text = event_list("a", *shots(reel))
    assert "* NO CDL: the node exposure (exposure) cannot be said in its ten numbers" in text
    assert "ASC_SOP" not in text


def test_film_at_another_speed_says_so_and_is_read(opened, shots):
    reel = opened(Cue(frame=0), Cue(frame=240), frames=480, rate="24")
    broadcast = delivery("scan-ffv1", {})
    repeat = type(broadcast)(
        container="matroska",
        codec="ffv1",
        pixel_format="yuv422p10le",
        rate="30000/1001",
        cadence="repeat",
        bars=100,
    )
    span, found = shots(reel, Span(reel.reel, repeat, 0, 480))
    text = event_list("a", span, found)
    times = events(text)
    assert [name for name, *_ in times] == ["MYFIRSTR"] * 2
    assert times[0][1:3] == ("10:00:00:00", "10:00:10:00")  # 240 frames of 24 a second
    assert times[0][3] == "10:00:00;00"  # the head mark is where the film is, whatever stands before it
    assert "M2   MYFIRSTR 024.0" in text
    assert "* RECORD RATE: 30000/1001" in text
    clips = list(read(text, "30000/1001").find_clips())
    assert sum(clip.duration().value for clip in clips) == len(span.film) == 599  # 20 s at 29.97: arithmetic


def test_a_shot_that_no_frame_of_the_master_shows_is_no_event(opened, shots):
    reel = opened(Cue(frame=0), Cue(frame=10, name="lost"), Cue(frame=11), frames=100, rate="50")
    half = type(delivery("scan-ffv1", {}))(
        container="matroska", codec="ffv1", pixel_format="yuv422p10le", rate="25", cadence="repeat"
    )
    span, found = shots(reel, Span(reel.reel, half, 0, 100))
    text = event_list("a", span, found)
    assert len(events(text)) == 2
    assert "* NOT SHOWN: CUE NUMBER 2" in text
    assert sum(len(shot.record) for shot in found) == len(span.film)
    read(text, "25")


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("films/Reel 7 (äß).mkv", "REEL7SS"),
        ("бобина.mkv", "SCAN"),
        ("bl.mov", "SCAN"),
        ("../scans/2034-a-very-long-name", "2034AVER"),
    ],
)
def test_the_name_of_a_reel_has_eight_characters_of_the_form(path, name):
    assert form_name(path) == name


def test_a_name_cannot_put_lines_of_its_own_into_a_list(opened, shots):
    evil = 'x"\r\n001  AX       V     C        01:00:00:00 01:00:01:00 01:00:00:00 01:00:01:00\u2028'
    text = event_list(evil, *shots(opened(Cue(frame=0, name=evil), Cue(frame=5, name="\ud800"))))
    assert len(events(text)) == 2
    text.encode()


def test_what_lies_before_the_first_cue_is_an_event_too(opened, shots):
    span, found = shots(opened(Cue(frame=40), frames=100))
    assert [(shot.source, shot.number) for shot in found] == [(range(40), 0), (range(40, 100), 1)]
    assert "* NO CDL: no cue holds here" in event_list("a", span, found)
    assert len(events(event_list("a", *shots(opened(frames=3))))) == 1
