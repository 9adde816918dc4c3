"""Timelines of somebody else's, made by OpenTimelineIO itself. Invented."""

import json

import opentimelineio as otio
import pytest
from opentimelineio.opentime import RationalTime, TimeRange

from lamphouse.graph.edits.arrivals import take_arrived
from lamphouse.graph.handover.lists import read_timeline as module
from lamphouse.graph.handover.lists.arrive import left_lines
from lamphouse.graph.handover.lists.read_timeline import read_timeline
from lamphouse.graph.handover.lists.timeline import timeline, timeline_text
from lamphouse.graph.reel.records import Cue, Mark
from lamphouse.nodes.errors import BadInput


def time(frames, rate=25):
    return RationalTime(frames, rate)


def span(start, frames, rate=25):
    return TimeRange(time(start, rate), time(frames, rate))


@pytest.fixture
def take(opened):
    """A function from a timeline and an opened reel to what that takes of it."""

    def taken(made, reel=None, **asked):
        reel = reel or opened(chain="cdl")
        data = made if isinstance(made, bytes) else made.to_json_string().encode()
        return take_arrived(reel.reel, reel.controls(), read_timeline(data, "it.otio", reel.reel), **asked)

    return taken


@pytest.fixture
def made():
    """A timeline from 10:00:00:00: a clip, a gap, a clip, a dissolve, a clip; markers on clip and track."""
    whole = otio.schema.Timeline("the weir", global_start_time=time(900000))
    track = otio.schema.Track("V1", kind="Video")
    first = otio.schema.Clip("harbour", source_range=span(50, 100))
    first.metadata["cdl"] = {
        "asc_sop": {"slope": [1.1, 1, 0.9], "offset": [0, 0, 0], "power": [1, 1, 1]},
        "asc_sat": 0.5,
    }
    first.markers.append(otio.schema.Marker("dirt", span(60, 5)))
    track.extend(
        [
            first,
            otio.schema.Gap(duration=time(20)),
            otio.schema.Clip("mill", source_range=span(0, 80)),
            otio.schema.Transition("", "SMPTE_Dissolve", time(6), time(4)),
            otio.schema.Clip("weir", source_range=span(0, 60)),
        ]
    )
    track.markers.append(otio.schema.Marker("look", span(130, 1)))
    track.markers.append(otio.schema.Marker("in the gap", span(110, 1)))
    whole.tracks.extend([track, otio.schema.Track("A1", kind="Audio", children=[otio.schema.Gap()])])
    return whole


def test_clips_become_cues_with_dissolves_cdls_and_markers(made, take):
    taken = take(made)
    assert [(cue.frame, cue.name, cue.length) for cue in taken.reel.cues if cue.name] == [
        (0, "harbour", 0),
        (120, "mill", 0),
        (204, "weir", 10),
    ]
    assert taken.reel.cues[0].settings["cdl.saturation"] == 0.5
    assert taken.reel.cues[1].settings == {}  # the gap ends the CDL
    assert [(mark.frame, mark.name, mark.frames) for mark in taken.reel.marks] == [
        (10, "dirt", 5),
        (130, "look", 1),
    ]
    assert list(left_lines(taken)) == [
        "1 track of sound left (at A1): only the first of pictures is taken.",
        "1 mark left (at in the gap): in no shot that is taken.",
    ]


def test_a_timeline_without_a_time_begins_with_the_reel(made, take):
    made.global_start_time = None
    assert [cue.frame for cue in take(made).reel.cues] == [0, 100, 120, 204]


def test_source_times_are_those_of_the_media(made, take, opened):
    media = otio.schema.ExternalReference("file:///elsewhere/my%20first%20reel.mkv", span(40, 500))
    for clip in made.find_clips():
        clip.media_reference = media
    made.tracks[0][4].source_range = span(340, 60)
    taken = take(made, opened(start="03:00:00:00"), by="source")
    assert [(cue.frame, cue.name) for cue in taken.reel.cues if cue.name] == [(10, "harbour"), (304, "weir")]
    assert any("outside the reel" in line for line in left_lines(taken))


def test_another_rate_is_told(made, take, opened):
    taken = take(made, opened(rate="24"))
    assert not taken.cues
    assert any(
        "its times run at 25 frames a second, and the reel at 24" in line for line in left_lines(taken)
    )


def test_media_that_are_named_are_not_opened(made, take, tmp_path):
    target = tmp_path / "pipe"
    made.tracks[0][0].media_reference = otio.schema.ExternalReference(str(target))
    assert take(made).cues == 3
    assert not target.exists()


def test_our_own_timeline_comes_back(opened, shots, take):
    marks = Mark(frame=40, name="hole"), Mark(frame=150, frames=30, kind="soft", note="By its grain.")
    cues = (
        Cue(frame=0, name="chart"),
        Cue(frame=100, settings={"cdl.saturation": 0.5}),
        Cue(frame=300, name="sky", begins="transition", length=60, settings={"cdl.slope": [1.5, 1.0, 1.0]}),
    )
    fields = {"chain": "cdl", "rate": "30000/1001", "start": "09:59:30;00"}
    text = timeline_text(timeline("a", *shots(opened(*cues, marks=marks, **fields))))
    for by in ("record", "source"):
        taken = take(text, opened(**fields), by=by)
        assert (taken.reel.cues, taken.reel.marks, taken.left) == (cues, marks, ())


def test_what_we_call_the_film_before_the_first_cue_is_no_name(opened, shots, take):
    text = timeline_text(timeline("a", *shots(opened(Cue(frame=40, name="sky")))))
    assert [(cue.frame, cue.name) for cue in take(text).reel.cues] == [(0, ""), (40, "sky")]


@pytest.mark.parametrize("stated", [23.98, 23.976, 24000 / 1001])
def test_rates_are_known_as_people_write_them(made, take, opened, stated):
    made.global_start_time = None
    text = made.to_json_string().replace('"rate": 25.0', f'"rate": {stated}')
    assert take(text.encode(), opened(rate="23.976")).cues == 3


def test_a_collection_of_one_timeline_is_read(made, take):
    assert take(otio.schema.SerializableCollection("", [made])).cues == 3


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{}", "it lacks OTIO_SCHEMA"),
        ("[" * 200 + "]" * 200, "nested more than 100 deep"),
        (otio.schema.Clip().to_json_string(), "holds 0 timelines"),
        ('{"OTIO_SCHEMA": "Timeline.1", "name": 7}', "is not a whole timeline"),
        ('{"OTIO_SCHEMA": "Timeline.1", "name": NaN}', "is not a finite number"),
        (otio.schema.Timeline().to_json_string(), "holds no video track"),
        ('{"OTIO_SCHEMA": "Clip.2"}', "not a whole timeline near line 1; fetch it again"),
        ('{"OTIO_SCHEMA": 3}', "is not a whole timeline"),
    ],
)
def test_what_is_no_timeline_is_told_in_one_sentence(take, text, says):
    with pytest.raises(BadInput, match=says) as refused:
        take(text.encode())
    assert str(refused.value).startswith("it.otio")


def test_values_without_end_are_refused_before_they_are_read(take, monkeypatch):
    monkeypatch.setattr(module, "MOST", 1000)
    with pytest.raises(BadInput, match="holds more than 1000 values"):
        take(b'{"OTIO_SCHEMA": "Timeline.1", "metadata": {"a": [' + b"[]," * 500 + b"[]]}}")


def test_a_cdl_and_times_that_are_none_are_told(made, take):
    document = json.loads(made.to_json_string())
    first = document["tracks"]["children"][0]["children"][0]
    first["metadata"]["cdl"]["asc_sop"]["slope"] = ["x", {}]
    first["source_range"]["duration"]["value"] = 99.5
    said = list(left_lines(take(json.dumps(document).encode())))
    assert "1 CDL left (at item 1 (harbour)): its numbers cannot be read." in said
    assert any("between two frames" in line for line in said)
