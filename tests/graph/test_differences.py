"""What differs between two versions of a reel, in rows. The reels are invented."""

import msgspec
import pytest

from lamphouse.graph.edits.differences import NOTHING, Difference, differences
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Mark, NodeRef, Reel, ScanRef

CUES = (
    Cue(frame=0, name="gate", settings={"primary.gain": 1.2}),
    Cue(frame=48, name="shade", begins="transition", length=8),
    Cue(frame=72, settings={"primary.lift": 0.1}),
)


@pytest.fixture
def reel():
    scan = ScanRef(path="none.mkv", frames=240, width=16, height=16)
    return Reel(scan=scan, chain=chain_preset("everyday").chain, cues=CUES)


def changed(record, **fields):
    return msgspec.structs.replace(record, **fields)


def test_versions_that_are_the_same_have_no_rows(reel):
    assert differences(reel, changed(reel)) == ()


def test_a_cue_that_is_only_in_one_is_named_with_how_it_begins_and_what_it_sets(reel):
    other = changed(reel, cues=(*CUES[:2], Cue(frame=96, name="sky", settings={"primary.gamma": 0.9})))
    assert differences(reel, other) == (
        Difference(72, "cue 3", "cut, lift", NOTHING),
        Difference(96, "3 sky", NOTHING, "cut, gamma"),
    )


def test_a_cue_that_was_moved_is_still_that_cue_by_its_name_or_by_what_it_sets(reel):
    named, unnamed = changed(CUES[1], frame=50), changed(CUES[2], frame=90)
    assert differences(reel, changed(reel, cues=(CUES[0], named, unnamed))) == (
        Difference(48, "2 shade, place", "10:00:02:00", "10:00:02:02"),
        Difference(72, "cue 3, place", "10:00:03:00", "10:00:03:18"),
    )


def test_what_differs_of_a_cue_is_told_with_both_values(reel):
    first = changed(CUES[0], name="door", settings={"primary.gain": 1.5, "primary.on": "off"})
    second = changed(CUES[1], length=12)
    drawn = [changed(CUES[1], ease=((0.0, 0.0), (0.5, y), (1.0, 1.0))) for y in (0.4, 0.6)]
    assert differences(reel, changed(reel, cues=(first, second, CUES[2]))) == (
        Difference(0, "1 gate, name", "gate", "door"),
        Difference(0, "1 gate, primary.gain", "1.2", "1.5"),
        Difference(0, "1 gate, primary.on", NOTHING, "off"),
        Difference(48, "2 shade, begins", "transition of 8 frames, soft", "transition of 12 frames, soft"),
    )
    versions = [changed(reel, cues=(CUES[0], cue, CUES[2])) for cue in drawn]
    assert [row.what for row in differences(*versions)] == ["2 shade, easing"]


def test_marks_chain_deliveries_and_facts_have_rows_too_after_the_cues(reel):
    nodes = (*reel.chain.nodes[:-1], changed(reel.chain.nodes[-1], inputs=("scan",)))
    chain = changed(reel.chain, nodes=(*nodes, NodeRef(name="more", kind="exposure", inputs=("scan",))))
    hd = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")
    one = changed(reel, deliveries={"ours": hd}, marks=(Mark(frame=60, name="gate"),))
    other = changed(
        one,
        chain=chain,
        rate="25",
        marks=(Mark(frame=9, kind="soft", frames=5),),
        deliveries={"ours": changed(hd, black_after=50)},
        scan=changed(reel.scan, encoding="srgb"),
    )
    rows = differences(one, other)
    assert rows[:2] == (
        Difference(9, "mark", NOTHING, "soft shot, 5 frames"),
        Difference(60, "mark", "mark gate", NOTHING),
    )
    assert {(row.what, row.other) for row in rows[2:]} >= {
        ("node more", "exposure of scan"),
        ("delivery ours, black after", "50"),
        ("rate", "25"),
        ("scan, encoding", "srgb"),
    }
    assert differences(other, one)[1] == Difference(60, "mark", NOTHING, "mark gate")


def test_five_thousand_cues_that_all_moved_are_each_found_once(reel):
    many = tuple(Cue(frame=2 * n, name=f"c{n}") for n in range(5000))
    scan = changed(reel.scan, frames=20_000)
    one = changed(reel, cues=many, scan=scan)
    other = changed(one, cues=tuple(changed(cue, frame=cue.frame + 1) for cue in many))
    rows = differences(one, other)
    assert len(rows) == 5000
    assert all(row.what.endswith(", place") for row in rows)
