"""Events of a master in terms of PREMIS. What happened here is invented."""

import msgspec
import pytest

from lamphouse.graph.files.record import gather, spread
from lamphouse.graph.media.master.events import history, of_bag, of_insert, of_pass, with_events
from lamphouse.graph.media.master.record import Event, Insert, Made, MasterRecord
from lamphouse.graph.reel.records import ChainRef, Delivery, Reel, ScanRef
from lamphouse.nodes.errors import BadInput

MADE = Made(when="2026-03-01T10:00:00Z", who="anna on desk-2", versions={"Lamphouse": "0.1"})
LATER = Made(when="2026-03-02T10:00:00Z", who="ben on desk-1")
INSERT = Insert(first=3, stop=5, why="cue Gate was changed", made=LATER)
SCAN = ScanRef(path="film.mkv", frames=9, width=48, height=32)
RECORD = MasterRecord(
    made=MADE,
    reel_file="film.reel",
    reel=Reel(scan=SCAN, chain=ChainRef(nodes=(), output="scan")),
    delivery=Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le"),
    first=0,
    stop=9,
    read_back="All 9 frames were decoded.",
)


def test_a_pass_is_a_creation_and_its_read_back_a_fixity_check_with_what_was_found():
    creation, fixity = of_pass(MADE, "All 9 frames were decoded.")
    assert (creation.kind, creation.made) == ("creation", MADE)
    assert (fixity.kind, fixity.outcome) == ("fixity check", "All 9 frames were decoded.")
    assert [event.kind for event in of_pass(MADE, "")] == ["creation"]


def test_an_insert_is_a_modification_by_whoever_made_it_which_says_the_frames_and_why():
    (changed,) = of_insert(INSERT, "")
    assert (changed.kind, changed.made) == ("modification", LATER)
    assert changed.detail == "An insert made frames 3 to 4 anew: cue Gate was changed."


def test_a_record_of_before_events_were_kept_tells_them_by_what_it_says():
    old = msgspec.structs.replace(RECORD, inserts=(INSERT,))
    assert [event.kind for event in history(old)] == ["creation", "fixity check", "modification"]
    new = with_events(old, of_bag(LATER, "bag"))
    assert [event.kind for event in new.events] == [
        "creation",
        "fixity check",
        "modification",
        "information package creation",
    ]
    assert history(with_events(new, of_bag(LATER, "again")))[:4] == new.events


def test_events_come_back_from_the_file_as_they_were_and_another_kind_is_refused():
    event = of_bag(MADE, "bag")
    assert gather(spread(event), Event) == event
    with pytest.raises(BadInput, match="kind"):
        gather({**spread(event), "kind": "burning"}, Event)
