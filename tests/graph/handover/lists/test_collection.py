"""Collections of CDLs, read by lxml. No package here carries the schema: the order of its elements is held.

The schema (ASC CDL v1.01, second-hand): a collection holds corrections; a correction has an id and holds
SOPNode and then SatNode; a SOPNode holds descriptions and then Slope, Offset and Power.
"""

import pytest
from lxml import etree

from lamphouse.graph.handover.cdl_file import unique_ids
from lamphouse.graph.handover.lists.leave import WRITERS, collection_bytes
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.errors import BadInput

SPACE = "{urn:ASC:CDL:v1.01}"
CUES = (
    Cue(frame=0, name="door"),
    Cue(frame=100, name="door", settings={"primary.gain": 1.25}),
    Cue(frame=200, settings={"saturation.amount": 0.5}),
)


@pytest.mark.parametrize(
    ("ending", "way"), [(".ccc", ""), (".cdl", "ColorDecision/")], ids=["collection", "decisions"]
)
def test_every_cue_is_a_correction_with_an_id_of_its_own(opened, shots, ending, way):
    root = etree.fromstring(WRITERS[ending]("a", *shots(opened(*CUES))))
    found = root.findall("/".join(f"{SPACE}{name}" for name in f"{way}ColorCorrection".split("/")))
    assert [one.get("id") for one in found] == ["door", "door-2", "cue-200"]
    for one in found:
        assert [child.tag for child in one] == [f"{SPACE}SOPNode", f"{SPACE}SatNode"]
        described, *numbers = (child.tag for child in one[0])
        assert described == f"{SPACE}Description"
        assert numbers[-3:] == [f"{SPACE}{name}" for name in ("Slope", "Offset", "Power")]
    assert [one.findtext(f"{SPACE}SOPNode/{SPACE}Slope") for one in found][1] == "1.25 1.25 1.25"
    assert [one.findtext(f"{SPACE}SatNode/{SPACE}Saturation") for one in found] == ["1", "1", "0.5"]


def test_a_reel_without_any_cdl_has_no_collection(opened, shots):
    reel = opened(Cue(frame=0, settings={"exposure.stops": 1.0}), chain="everyday")
    with pytest.raises(BadInput, match="No cue of a is an exact CDL; give --fit"):
        collection_bytes("a", *shots(reel))


def test_ids_that_clash_are_numbered():
    # The second was called so by somebody: invented.
    assert unique_ids(["a", "a-2", "a", "a", "b"]) == ["a", "a-2", "a-3", "a-4", "b"]
