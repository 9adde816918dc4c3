"""What every kind of list that comes has in common, and CDLs for cues that stand."""

import pytest

from lamphouse.graph.handover.lists.arrive import left_lines, take_list
from lamphouse.graph.handover.lists.leave import collection_bytes
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts import xml_tree

CUES = Cue(frame=0, name="door & lamp"), Cue(frame=100, name="door & lamp"), Cue(frame=200)


def test_a_collection_finds_the_cues_that_it_was_made_of(opened, shots, tmp_path):
    graded = [
        Cue(frame=c.frame, name=c.name, settings={"cdl.saturation": 0.5 + c.frame / 1000}) for c in CUES
    ]
    (tmp_path / "it.ccc").write_bytes(collection_bytes("a", *shots(opened(*graded, chain="cdl"))))
    taken = take_list(opened(*CUES, chain="cdl"), tmp_path / "it.ccc")
    assert [cue.settings["cdl.saturation"] for cue in taken.reel.cues] == [0.5, 0.6, 0.7]
    assert [cue.name for cue in taken.reel.cues] == [cue.name for cue in CUES]


def test_cdls_without_a_cue_or_with_settings_in_their_place_are_told(opened, tmp_path):
    some = "<ColorCorrection id='{}'><SatNode><Saturation>{}</Saturation></SatNode></ColorCorrection>"
    inner = "".join(some.format(*one) for one in [("a", 0.5), ("b", 0.5), ("c", 0.5), ("d", "x")])
    (tmp_path / "it.ccc").write_text(f"<ColorCorrectionCollection>{inner}</ColorCorrectionCollection>")
    cues = Cue(frame=0, name="a"), Cue(frame=9, name="b", settings={"cdl.slope": [2.0, 2.0, 2.0]})
    taken = take_list(opened(*cues, chain="cdl"), tmp_path / "it.ccc")
    assert taken.reel.cues[0].settings["cdl.saturation"] == 0.5
    assert taken.reel.cues[1] == cues[1]
    assert list(left_lines(taken)) == [
        "1 CDL left (at the id c): no cue of the reel is called so.",
        "1 CDL left (at the id d): its numbers cannot be read.",
        "1 CDL left: the cue there has settings of its own in their place, which are kept.",
    ]


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("it.otioz", b"", "is a bundle with media, which is not read"),
        ("it.aaf", b"", "is not read as a list; give a file that ends in .edl, .otio, .ccc, .cdl, .cc"),
        ("it.edl", None, "cannot be read"),
        (
            "it.ccc",
            b'<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>',
            "a document type is not",
        ),
        ("it.cc", b"<ColorCorrection/>", "no cue of the reel is called so"),
        ("it.edl", b"001  A  V  C  01:00:00:00 01:00:01:00 01:00:00:00 01:00:01:00\n", "outside the reel"),
    ],
)
def test_what_brings_nothing_is_one_sentence(opened, tmp_path, name, data, says):
    if data is not None:
        (tmp_path / name).write_bytes(data)
    with pytest.raises(BadInput, match=says):
        take_list(opened(*CUES), tmp_path / name)


@pytest.mark.parametrize("name", ["it.edl", "it.otio", "it.ccc"])
def test_a_file_of_100_mb_is_refused_before_it_is_read(opened, tmp_path, name):
    with (tmp_path / name).open("wb") as file:
        file.truncate(100 << 20)
    with pytest.raises(BadInput, match="it is larger than 64 MiB"):
        take_list(opened(), tmp_path / name)


def test_elements_without_end_are_refused(opened, tmp_path, monkeypatch):
    monkeypatch.setattr(xml_tree, "MOST", 1000)
    (tmp_path / "it.ccc").write_bytes(b"<a>" + b"<b/>" * 1000 + b"</a>")
    with pytest.raises(BadInput, match="has more than 1000 elements"):
        take_list(opened(), tmp_path / "it.ccc")
