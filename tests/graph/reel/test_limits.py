"""Numbers and words of documents that would take all memory or time, or end in a traceback. Invented."""

import json
from pathlib import Path
from typing import Any

import pytest

from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.limits import FRAMES, SIDE, check_raster, pixel_aspect
from lamphouse.graph.reel.records import ScanRef
from lamphouse.graph.reel.store import decode
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.sticks.mapping import decode_stick_map

STORED = json.loads((Path(__file__).parent / "reel-2.reel").read_bytes())
DELIVERY = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"}


def _with(document: dict[str, Any], path: str, value: object) -> bytes:
    document = json.loads(json.dumps(document))
    *parents, last = path.split(".")
    inner = document
    for name in parents:
        inner = inner[int(name)] if isinstance(inner, list) else inner[name]
    inner[last] = value
    return json.dumps(document).encode()


@pytest.mark.parametrize(
    "text", ["1e999999999", "1/0", "0", "-1", "inf", "nan", "5", "1_0", "٣", "9" * 5000, ""]
)
def test_an_aspect_is_a_plain_ratio_and_no_other_text_is_reckoned_out(text: str) -> None:
    with pytest.raises(BadInput, match="is not a ratio such as 12/11, from 1/4 to 4"):
        pixel_aspect(text)
    with pytest.raises(BadInput, match="at scan: the pixel aspect"):
        decode(_with(STORED, "scan.pixel_aspect", text), "x.reel")
    with pytest.raises(BadInput, match="The pixel aspect"):
        ScanRef(path="s", frames=1, width=2, height=2, pixel_aspect=text)


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("offset", "1e9", "the offset 1e9 is not"),
        ("offset", "1/0", "the offset"),
        ("rate", "0", "'0' is not"),
    ],
)
def test_a_sound_lies_at_an_exact_place_and_runs_at_a_rate(field: str, text: str, said: str) -> None:
    with pytest.raises(BadInput, match=f"x.reel: at sound: {said}"):
        decode(_with(STORED, f"sound.{field}", text), "x.reel")


@pytest.mark.parametrize(("text", "value"), [("1", 1), ("12/11", 12 / 11), ("1.25", 1.25), ("2", 2)])
def test_an_aspect_that_film_and_video_have_is_read(text: str, value: float) -> None:
    assert pixel_aspect(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("scan.width", 10**9),
        ("scan.height", 0),
        ("scan.frames", FRAMES + 1),
        ("head_mark", 10**30),
        ("cues.0.frame", -(10**30)),
        ("cues.1.length", 10**18),
        ("sound.starts_at", 10**18),
        ("deliveries.broadcast.width", SIDE + 1),
        ("deliveries.broadcast.bars", 10**12),
        ("deliveries.broadcast.sound.rate", 10**12),
    ],
)
def test_a_number_that_would_take_all_memory_is_refused_at_its_place(path: str, value: int) -> None:
    place = path.replace(".0.", "[0].").replace(".1.", "[1].")
    with pytest.raises(BadInput) as caught:
        decode(_with(STORED, path, value), "x.reel")
    assert f"x.reel: at {place}: expected `int` " in str(caught.value)


def test_a_raster_of_great_sides_each_allowed_is_refused_for_its_area() -> None:
    with pytest.raises(BadInput, match="the scan is 16384x16384; up to"):
        check_raster(SIDE, SIDE, "the scan")
    check_raster(12288, 8192, "the scan")
    with pytest.raises(BadInput, match="at scan: the scan is 16384x16384"):
        decode(_with(STORED, "scan.width", SIDE).replace(b'"height": 1556', b'"height": 16384'), "x.reel")


@pytest.mark.parametrize("path", ["scan.encoding", "cues.1.begins", "deliveries.broadcast.container"])
def test_half_of_a_character_where_a_word_is_wanted_is_a_sentence(path: str) -> None:
    with pytest.raises(BadInput, match=r"x\.reel: at .* holds half of a character"):
        decode(_with(STORED, path, "\ud800"), "x.reel")


TEXTS = {
    "another encoding": '{"sentence": "grün"}'.encode("latin-1"),
    "deep nesting": b'{"a": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "half as deep": b'{"a": ' + b"[" * 200 + b"]" * 200 + b"}",
    "one key twice": b'{"a": 1, "a": 2}',
    "not a number": b'{"a": NaN}',
    "too great a number": b'{"a": ' + b"9" * 10_000 + b"}",
    "a list": b"[]",
    "nothing": b"",
    "zero bytes": b"\0" * 64,
}


@pytest.mark.parametrize("name", TEXTS)
def test_deliveries_and_mappings_are_read_through_the_same_door_as_reels(tmp_path: Path, name: str) -> None:
    path = tmp_path / "mine.json"
    path.write_bytes(TEXTS[name])
    for read in (
        lambda: delivery(str(path), {}),
        lambda: decode_stick_map(TEXTS[name], str(path)),
        lambda: decode(TEXTS[name], str(path)),
    ):
        with pytest.raises(BadInput) as caught:
            read()
        assert str(caught.value).startswith(str(path))


def test_what_is_nested_too_deep_is_told_so_at_any_depth() -> None:
    for name in ("deep nesting", "half as deep"):
        with pytest.raises(BadInput, match="nested more than 100 deep"):
            decode(TEXTS[name], "x.reel")


def test_a_key_that_stands_twice_among_many_is_found_at_once() -> None:
    pairs = [f'"{n}": 0' for n in range(200_000)]
    data = ('{"record": "reel/2", ' + ", ".join([*pairs, '"199999": 1']) + "}").encode()
    with pytest.raises(BadInput, match="the key '199999' stands twice"):
        decode(data, "x.reel")
