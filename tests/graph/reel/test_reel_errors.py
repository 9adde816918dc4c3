"""A reel file that cannot be used says in one sentence what is wrong and where. All reels are invented."""

import json
import tracemalloc
from pathlib import Path
from typing import Any

import pytest

from lamphouse.graph.files.json_document import MOST
from lamphouse.graph.reel.records import ChainRef, Cue, Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode, load, save
from lamphouse.nodes.errors import BadInput

STORED = Path(__file__).parent / "reel-2.reel"
TEXT = STORED.read_bytes()


def test_a_file_cut_off_after_any_byte_says_at_which_line_it_ends() -> None:
    for length in range(1, len(TEXT) - 1):
        cut = TEXT[:length]
        line = cut.rstrip().count(b"\n") + 1
        with pytest.raises(BadInput, match=f"x.reel is cut off; it ends at line {line}, before"):
            decode(cut, "x.reel")


def test_a_file_cut_off_inside_a_word_or_an_escape_is_known_as_cut_too() -> None:
    for start in ('{"record": "reel/2",\n"a": ', '{"record": "reel/2",\n"a": ["b", '):
        for whole in ("true", "false", "null", "-1.5e-9", '"\\u00e9\\n"'):
            for length in range(len(whole)):
                with pytest.raises(BadInput, match=r"cut off; it ends at line [12],"):
                    decode((start + whole[:length]).encode(), "x.reel")


@pytest.mark.parametrize(
    ("path", "value", "sentence"),
    [
        (("cues", 1, "length"), "many", r"x\.reel: at cues\[1\]\.length: expected `int`, got `str`"),
        (("cues", 1, "frame"), 1.5, r"at cues\[1\]\.frame: expected `int`, got `float`"),
        (("cues", 1, "begins"), "jump", r"at cues\[1\]\.begins: invalid enum value 'jump'"),
        (("cues", 1, "ease", 2), [0, "1"], r"at cues\[1\]\.ease\[2\]\[1\]: expected `float`"),
        (("cues", 0), None, r"at cues\[0\]: expected `object`, got `null`"),
        (("cues",), {}, r"at cues: expected `array`, got `object`"),
        (("scan",), [], r"at scan: expected `object`, got `array`"),
        (("scan", "frames"), True, r"at scan\.frames: expected `int`, got `bool`"),
        (("sound",), "none", r"at sound: expected `object \| null`, got `str`"),
        (("sound", "path"), None, r"at sound\.path: expected `str`, got `null`"),
        (("chain", "nodes", 0, "inputs"), "scan", r"at chain\.nodes\[0\]\.inputs: expected `array`"),
        (("deliveries", "broadcast", "sound", "rate"), "48k", r"at deliveries\.broadcast\.sound\.rate: "),
        (("note",), float("nan"), "at note: nan is not a finite number"),
        (("cues", 0, "settings", "x"), [float("-inf")], r"at cues\[0\]\.settings\.x\[0\]: -inf is not"),
        (("record",), "reel/3", "x.reel: reel/3 is not known here, only reel/2; a later version wrote it"),
        (("record",), "tape/1", "x.reel is not a reel, for it lacks the label"),
        (("record",), 1, "x.reel is not a reel, for it lacks the label"),
    ],
)
def test_a_wrong_value_is_named_with_its_file_and_path(
    path: tuple[str | int, ...], value: object, sentence: str
) -> None:
    document = json.loads(TEXT)
    inner: Any = document
    for part in path[:-1]:
        inner = inner[part]
    inner[path[-1]] = value
    with pytest.raises(BadInput, match=sentence):
        decode(json.dumps(document).encode(), "x.reel")


@pytest.mark.parametrize(
    ("path", "sentence"),
    [
        (("scan",), "x.reel: object missing required field `scan`"),
        (("scan", "width"), "x.reel: at scan: object missing required field `width`"),
        (("cues", 1, "frame"), r"x.reel: at cues\[1\]: object missing required field `frame`"),
        (("record",), "x.reel is not a reel"),
    ],
)
def test_a_missing_field_is_named_with_the_record_that_lacks_it(
    path: tuple[str | int, ...], sentence: str
) -> None:
    document = json.loads(TEXT)
    inner: Any = document
    for part in path[:-1]:
        inner = inner[part]
    del inner[path[-1]]
    with pytest.raises(BadInput, match=sentence):
        decode(json.dumps(document).encode(), "x.reel")


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "x.reel is empty"),
        (b" \n\n", "x.reel is empty"),
        (b"[]", "is not a reel"),
        (b'"reel/2"', "is not a reel"),
        (b'{"name": "something else"}', "is not a reel"),
        (b"\x1aE\xdf\xa3\x93B\x82\x88", "is not a reel, for it is not text"),
        (b"\0" * 64, "is not JSON at line 1, column 1"),
        (b'{"record": "reel/2",\n "gauge" "16mm", "rate": "24"}', "is not JSON at line 2, column 10"),
        (b'{"record": "reel/2", "a": 1, "a": 2}', "the key 'a' stands twice"),
        (b'{"record": "reel/2", "a": ' + b"1" * 5000 + b"}", "cannot be read as JSON"),
        (b'{"record": "reel/2", "a": 1e999}', "at a: inf is not a finite number"),
        (b'{"record": "reel/2", "a": ' + b"[" * 200 + b"]" * 200 + b"}", "nested more than 100 deep"),
        (b'{"record": "reel/2", "a": ' + b"[" * 99999 + b"]" * 99999 + b"}", "x.reel"),
    ],
)
def test_what_is_no_reel_is_told_apart(data: bytes, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        decode(data, "x.reel")


def test_values_without_end_are_refused_before_they_take_memory() -> None:
    empty = (
        b'{"record": "reel/2", "a": [' + b"[]," * (MOST // 2) + b"[]]}"
    )  # 12 MB here, half a gigabyte there
    tracemalloc.start()
    with pytest.raises(BadInput, match=r"x.reel holds more than \d+ values; a reel does not"):
        decode(empty, "x.reel")
    assert tracemalloc.get_traced_memory()[1] < 1 << 20
    tracemalloc.stop()


def test_a_file_that_an_editor_began_with_a_byte_order_mark_loads() -> None:
    assert decode(b"\xef\xbb\xbf" + TEXT, "x.reel") == decode(TEXT, "x.reel")


def test_a_missing_or_unreadable_file_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"none\.reel does not exist\.$"):
        load(tmp_path / "none.reel")
    with pytest.raises(BadInput, match=r"cannot be read \(Is a directory\)"):
        load(tmp_path)
    with pytest.raises(BadInput, match=r"cannot be read \(Not a directory\)"):
        load(STORED / "below.reel")


def test_where_the_version_before_it_is_kept_the_error_says_so(tmp_path: Path) -> None:
    file = tmp_path / "a.reel"
    reel = decode(TEXT, "x.reel")
    save(file, reel)
    save(file, Reel(scan=reel.scan, chain=reel.chain))
    file.write_bytes(TEXT[:100])
    with pytest.raises(BadInput, match=r"cut off.*; the version before it is in a\.reel\.previous\.$"):
        load(file)
    file.unlink()
    with pytest.raises(BadInput, match=r"does not exist; the version before it is in a\.reel\.previous\.$"):
        load(file)
    assert load(tmp_path / "a.reel.previous") == reel


def test_a_setting_that_is_not_finite_is_refused_with_its_path_and_nothing_is_written(tmp_path: Path) -> None:
    cue = Cue(frame=3, settings={"primary.gain": (1.0, float("nan"))})
    scan = ScanRef(path="s", frames=9, width=2, height=3)
    reel = Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"), cues=(cue,))
    sentence = r"The reel: at cues\[0\]\.settings\.primary\.gain\[1\]: nan is not a finite number"
    with pytest.raises(BadInput, match=sentence):
        encode(reel)
    with pytest.raises(BadInput, match=sentence):
        save(tmp_path / "a.reel", reel)
    assert list(tmp_path.iterdir()) == []
