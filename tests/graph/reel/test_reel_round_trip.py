"""What a reel file says is still there after it was opened and saved here. All reels are invented."""

import json
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lamphouse.graph.reel.records import (
    ChainRef,
    Cue,
    Delivery,
    Mark,
    NodeRef,
    Reel,
    ScanRef,
    Sound,
    SoundRef,
)
from lamphouse.graph.reel.store import LABEL, Document, decode, encode, load, save
from lamphouse.graph.reel.upgrade import PARAMETERS
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

STORED = Path(__file__).parent
ANY_TEXT = st.text(st.characters(), max_size=8)  # lone surrogates too: file names can hold them
ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | ANY_TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(ANY_TEXT, inner, max_size=3),
    max_leaves=6,
)
POSITIVE = st.integers(1, 10**6)
SIDES = st.integers(1, 8000)
FRAMES = st.integers(-(10**6), 10**6)


def _document(kind: type[Any], /, optional: dict[str, Any], **required: Any) -> st.SearchStrategy[Document]:
    """Documents of the record `kind`: known fields off their defaults, and any unknown ones among them."""
    names = ANY_TEXT.filter(lambda name: name == "other" or name not in kind.__struct_fields__)
    unknown = st.dictionaries(names | st.just("other"), ANY_JSON, max_size=3)
    known = st.fixed_dictionaries(required, optional=optional)
    return st.tuples(unknown, known).map(lambda parts: {**parts[0], **parts[1]})


NAMES = st.text(min_size=1, max_size=8)


def _of_a_reel(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Mappings and lists as a reel has them, of anything at all."""
    words = ["chain", "nodes", "name", "kind", "inputs", "output", "cues", "settings", "over", "length"]
    return st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(words), inner, max_size=4)


SCANS = _document(
    ScanRef,
    {"encoding": st.sampled_from(["density", "light", "srgb"]), "matrix": NAMES},
    path=ANY_TEXT,
    frames=POSITIVE,
    width=SIDES,
    height=SIDES,
)
SOUND_REFS = _document(
    SoundRef,
    {"starts_at": POSITIVE, "offset": st.just("-1/80"), "rate": st.just("50/3")},
    path=ANY_TEXT,
)
NODES = _document(NodeRef, {}, name=NAMES, kind=NAMES, inputs=st.lists(NAMES, max_size=3))
CHAINS = _document(ChainRef, {}, nodes=st.lists(NODES, max_size=2), output=NAMES)
POINTS = st.lists(st.lists(st.floats(0, 1), min_size=2, max_size=2), min_size=1, max_size=3)
CUES = _document(
    Cue,
    {
        "name": NAMES,
        "begins": st.just("transition"),
        "length": POSITIVE,
        "ease": st.just("even") | POINTS,
        "settings": st.dictionaries(ANY_TEXT | st.just("other"), ANY_JSON, min_size=1, max_size=3),
    },
    frame=FRAMES,
)
MARKS = _document(
    Mark,
    {"frames": st.integers(2, 10**6), "name": NAMES, "kind": st.sampled_from(["soft", "check"])},
    frame=FRAMES,
)
SOUNDS = _document(Sound, {"codec": st.just("flac"), "rate": st.just(44100)})
DELIVERIES = _document(
    Delivery,
    {
        "width": SIDES,
        "options": st.dictionaries(ANY_TEXT, ANY_TEXT, min_size=1, max_size=2),
        "sound": SOUNDS,
        "bars": POSITIVE,
    },
    container=st.sampled_from(["matroska", "tiff"]),
    codec=NAMES,
    pixel_format=NAMES,
)
REELS = _document(
    Reel,
    {
        "sound": SOUND_REFS,
        "rate": st.just("25"),
        "head_mark": POSITIVE,
        "cues": st.lists(CUES, min_size=1, max_size=3),
        "marks": st.lists(MARKS, min_size=1, max_size=3),
        "deliveries": st.dictionaries(ANY_TEXT, DELIVERIES, min_size=1, max_size=2),
    },
    record=st.just(LABEL),
    scan=SCANS,
    chain=CHAINS,
)


def _canonical(data: bytes | str) -> str:
    """Return JSON text that differs where two documents differ in more than the order of keys and frames."""
    document = json.loads(data)
    for name in {"cues", "marks"} & document.keys():
        document[name].sort(key=lambda member: member["frame"])
    return json.dumps(document, sort_keys=True)


@pytest.mark.slow
@given(REELS)
@settings(max_examples=60, deadline=None)
def test_fields_unknown_at_any_depth_survive_and_the_second_saving_changes_no_byte(
    tmp_path_factory: pytest.TempPathFactory, document: Document
) -> None:
    file = tmp_path_factory.getbasetemp() / "any.reel"
    file.write_text(json.dumps(document), encoding="ascii")
    save(file, load(file))
    once = file.read_bytes()
    assert _canonical(once) == _canonical(json.dumps(document))
    save(file, load(file))
    assert file.read_bytes() == once


def test_cues_and_marks_in_any_order_of_a_file_are_in_that_of_their_frames_once_read() -> None:
    scan = ScanRef(path="s", frames=99, width=2, height=2)
    cues, marks = [Cue(frame=n) for n in (40, 3, 20)], [Mark(frame=n) for n in (7, 2)]
    written = Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"), cues=tuple(cues), marks=tuple(marks))
    read = decode(encode(written), "any")
    assert [cue.frame for cue in read.cues] == [3, 20, 40]
    assert [mark.frame for mark in read.marks] == [2, 7]


@pytest.mark.parametrize("stored", sorted(STORED.glob("*.reel")), ids=lambda file: file.name)
def test_every_stored_version_loads_and_settles(stored: Path) -> None:
    reel = load(stored)
    assert reel.record == LABEL
    assert decode(encode(reel), "again") == reel


def test_the_present_version_is_among_those_stored_and_is_written_byte_for_byte() -> None:
    stored = STORED / f"{LABEL.replace('/', '-')}.reel"
    assert encode(load(stored)) == stored.read_bytes()


def test_the_stored_reel_means_what_it_says() -> None:
    reel = load(STORED / "reel-2.reel")
    assert reel.scan == ScanRef(
        path="../scans/harbour-at-dusk",
        encoding="density",
        frames=1200,
        width=2048,
        height=1556,
        other={"colour_of_box": "grün"},
    )
    assert reel.cues[0].settings["primary.gain"] == 1.0625
    assert reel.cues[1].ease == ((0.0, 0.0), (0.5, 0.3), (1.0, 1.0))
    assert reel.cues[1].other == {"drawn_by": None, "other": {"other": 123456789012345678901234567890}}
    assert reel.chain.nodes[0].other == {"drawn_at": {"x": 0.1, "y": -2.5e-07}}
    assert reel.chain.other == {"other": "a field with this very name"}
    delivery = reel.deliveries["broadcast"]
    assert delivery.sound == Sound(codec="flac", other={"dither": True})
    assert delivery.other == {"shelf": 'B — ü "7"'}
    assert reel.other == {"note": "Invented for the tests of this project."}


def test_a_reel_in_the_words_of_version_1_is_the_same_reel_in_those_of_version_2() -> None:
    assert load(STORED / "reel-1.reel") == load(STORED / "reel-2.reel")


def test_every_node_kind_and_setting_of_an_upgraded_reel_is_known() -> None:
    reel, catalogue = load(STORED / "reel-1.reel"), Catalogue()
    kinds = {ref.name: catalogue.find(ref.kind) for ref in reel.chain.nodes}
    for key in (key for cue in reel.cues for key in cue.settings if key != "primary.other"):
        node, parameter, *_ = key.split(".")
        assert parameter == "on" or kinds[node].parameter(parameter).name == parameter
    words = {(kind, old) for kind, names in PARAMETERS.items() for old in names}
    document = json.loads((STORED / "reel-1.reel").read_bytes())
    old_kinds = {ref["name"]: ref["kind"] for ref in document["chain"]["nodes"]}
    keys = [key.split(".") for cue in document["cues"] for key in cue["settings"]]
    assert words <= {(old_kinds[node], parameter) for node, parameter, *_ in keys}  # it holds every old word


def test_a_field_of_somebody_else_under_a_word_that_became_ours_is_kept_beside_it() -> None:
    document = json.loads((STORED / "reel-1.reel").read_bytes())
    document["cues"][1] |= {"length": "as long as the song", "begins": None}
    cue = decode(json.dumps(document).encode(), "old.reel").cues[1]
    assert (cue.length, cue.begins) == (96, "transition")
    assert (cue.other["length_before"], cue.other["begins_before"]) == ("as long as the song", None)


def test_a_node_keeps_its_name_where_the_new_one_is_taken() -> None:
    document = json.loads((STORED / "reel-1.reel").read_bytes())
    document["chain"]["nodes"][0]["name"] = "mix"
    reel = decode(json.dumps(document).encode(), "old.reel")
    assert [ref.kind for ref in reel.chain.nodes if ref.name == "passage"] == ["mix"]
    assert reel.cues[2].settings == {"passage.share": 1.0}


@pytest.mark.slow
@given(st.recursive(ANY_JSON, _of_a_reel, max_leaves=8).filter(lambda part: isinstance(part, dict)))
@settings(max_examples=100, deadline=None)
def test_what_is_wrong_in_an_old_reel_is_a_sentence_as_in_a_new_one(part: Document) -> None:
    old = json.loads((STORED / "reel-1.reel").read_bytes())
    with suppress(BadInput):
        decode(json.dumps(old | part).encode(), "old.reel")


def test_fields_at_their_default_are_left_out_but_the_label_stands_first() -> None:
    scan = ScanRef(path="s", frames=1, width=2, height=3)
    reel = Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"), cues=(Cue(frame=0, settings={}),))
    assert encode(reel).decode() == (
        '{\n  "record": "reel/2",\n  "scan": {\n    "path": "s",\n    "frames": 1,\n    "width": 2,\n'
        '    "height": 3\n  },\n  "chain": {\n    "nodes": [],\n    "output": "scan"\n  },\n'
        '  "cues": [\n    {\n      "frame": 0\n    }\n  ]\n}\n'
    )


def test_older_versions_are_upgraded_step_by_step_in_turn() -> None:
    def to_first_draft(document: Document) -> Document:
        return {**document, "record": "reel/98", "labels": [*document["labels"], "first"]}

    def to_present(document: Document) -> Document:
        labels = document.pop("labels")
        return {**document, "record": LABEL, "gauge": document.pop("film"), "labels": [*labels, "second"]}

    old = json.loads((STORED / "reel-2.reel").read_bytes())
    del old["gauge"]
    old |= {"record": "reel/97", "film": "super8", "labels": []}
    steps = {"reel/97": to_first_draft, "reel/98": to_present}
    reel = decode(json.dumps(old).encode(), "old.reel", steps)
    assert (reel.record, reel.gauge) == (LABEL, "super8")
    assert reel.other["labels"] == ["first", "second"]
    assert reel.scan.frames == 1200
