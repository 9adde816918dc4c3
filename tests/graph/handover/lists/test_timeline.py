"""Timelines, read back by OpenTimelineIO itself."""

import msgspec
import opentimelineio
import pytest
from opentimelineio.opentime import RationalTime, to_timecode

from lamphouse.graph.handover.lists.timeline import timeline, timeline_text, url_of
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.records import ChainRef, Cue, Mark, NodeRef
from lamphouse.graph.reel.span import Span

CUES = (
    Cue(frame=0, name="chart"),
    Cue(frame=100, name="door", settings={"primary.gain": 1.25}),
    Cue(frame=200, begins="transition", length=60, ease="even", settings={"saturation.amount": 0.5}),
)


@pytest.fixture
def read(tmp_path):
    """A function from a span and its shots to the timeline that the library reads from the file of them."""

    def back(span, found):
        path = tmp_path / "it.otio"
        path.write_bytes(timeline_text(timeline("a", span, found)))
        return opentimelineio.adapters.read_from_file(str(path))

    return back


def test_cues_are_clips_of_the_scan_and_transitions_stand_before_them(opened, shots, read):
    made = read(*shots(opened(*CUES, frames=500)))
    (track,) = made.tracks
    door, passing, sky = list(track)[1:]
    assert [clip.name for clip in made.find_clips()] == ["1 chart", "2 door", "cue 3"]
    assert door.source_range.start_time == RationalTime(900100, 25)
    assert (passing.transition_type, passing.in_offset.value, passing.out_offset.value) == (
        "Custom_Transition",
        60,
        0,
    )
    assert dict(passing.metadata["lamphouse"]) == {"frames": 60, "ease": "even"}
    assert door.media_reference.target_url == "film/my%20first%20reel.mkv"
    assert door.media_reference.available_range.duration.value == 500
    assert list(door.metadata["cdl"]["asc_sop"]["slope"]) == pytest.approx([1.25] * 3)
    assert sky.metadata["cdl"]["asc_sat"] == 0.5
    assert sky.metadata["lamphouse"]["cue"]["settings"]["saturation.amount"] == 0.5
    assert track.duration() == RationalTime(500, 25)


def test_marks_stand_on_the_track_where_they_are(opened, shots, read):
    marks = Mark(frame=20, name="hole"), Mark(frame=150, frames=30, kind="soft", note="By its grain.")
    made = read(*shots(opened(*CUES, marks=marks)))
    found = [
        (mark.name, mark.marked_range.start_time.value, mark.marked_range.duration.value)
        for mark in made.tracks[0].markers
    ]
    assert found == [("hole", 20, 1), ("soft shot", 150, 30)]
    assert made.tracks[0].markers[1].metadata["lamphouse"]["note"] == "By its grain."


@pytest.mark.parametrize("rate", ["24000/1001", "30000/1001", "60000/1001", "50"])
def test_it_begins_at_the_record_time_of_the_film(opened, shots, read, rate):
    made = read(*shots(opened(*CUES, rate=rate, start="01:00:00:00")))
    drops = rate in ("30000/1001", "60000/1001")
    start = made.global_start_time
    assert to_timecode(start, start.rate, drop_frame=drops) == f"01:00:00{';' if drops else ':'}00"


def test_film_at_another_speed_has_an_effect_and_the_length_of_the_master(opened, shots, read):
    reel = opened(Cue(frame=0), Cue(frame=240), frames=480, rate="24")
    video = type(delivery("scan-ffv1", {}))(
        container="matroska", codec="ffv1", pixel_format="yuv422p10le", rate="25", black_before=50
    )
    span, found = shots(reel, Span(reel.reel, video, 0, 480))
    made = read(span, found)
    clips = list(made.find_clips())
    assert [clip.effects[0].time_scalar for clip in clips] == pytest.approx([25 / 24] * 2)
    assert [(c.source_range.start_time.value, c.source_range.start_time.rate) for c in clips] == [
        (864000, 24),
        (864240, 24),
    ]
    assert made.tracks[0].duration() == RationalTime(480, 25)


def test_what_no_other_program_could_take_is_written_so_that_it_can(opened, shots, read):
    cue = Cue(frame=0, name='a\n"\ud800', settings={"gone.what": 10**30, "gone.\x00": [True, None, "\udc80"]})
    gone = ChainRef(nodes=(NodeRef(name="gone", kind="nowhere", inputs=("scan",)),), output="gone")
    reel = opened(cue)
    made = read(*shots(reel.with_reel(msgspec.structs.replace(reel.reel, chain=gone))))
    (clip,) = made.find_clips()
    assert clip.name == '1 a\\x0a"\\ud800'
    assert clip.metadata["lamphouse"]["cue"]["settings"]["gone.what"] == str(10**30)


@pytest.mark.parametrize(
    ("path", "url"),
    [
        ("scan.mkv", "scan.mkv"),
        ("../a b/100%.mkv", "../a%20b/100%25.mkv"),
        ("/films/ü.mkv", "file:///films/%C3%BC.mkv"),
        ("D:/films/x.mkv", "file:///D%3A/films/x.mkv"),
    ],
)
def test_a_path_becomes_a_url(path, url):
    # RFC 3986 and RFC 8089: what is no letter, digit or one of -._~ is written by its bytes.
    assert url_of(path) == url
