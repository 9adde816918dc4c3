"""The record of a master: written whole, read whole, and never mistaken for another's."""

import json
import tracemalloc
from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.files.record import spread
from lamphouse.graph.media.master.record import (
    LABEL,
    Made,
    MasterRecord,
    SoundSums,
    decode_record,
    load_record,
    record_path,
    save_record,
)
from lamphouse.graph.reel.records import ChainRef, Cue, Delivery, Reel, ScanRef
from lamphouse.nodes.errors import BadInput

REEL = Reel(
    scan=ScanRef(path="film.mkv", frames=20, width=32, height=24),
    chain=ChainRef(nodes=(), output="scan"),
    cues=(Cue(frame=0, name="Garden"), Cue(frame=8, name="Gate")),
)
DELIVERY = Delivery(
    container="matroska", codec="ffv1", pixel_format="yuv422p10le", bars=2, black_before=1, black_after=3
)
RECORD = MasterRecord(
    made=Made(when="2026-01-02T03:04:05Z", who="somebody on a machine", versions={"Lamphouse": "1"}),
    reel_file="film.reel",
    reel=REEL,
    delivery=DELIVERY,
    first=5,
    stop=15,
    made_of={"the reel": "aa"},
    facts={"the timecode": "10:00:00:00"},
    files={"m.mkv": "0" * 64},
    sound=SoundSums(rate=48000, samples=3, seconds=("1" * 32,)),
    grades=("", "", "", *["ab"] * 10, "", "", ""),
    pictures=tuple(f"{n:032x}" for n in range(16)),
)


def test_what_is_saved_is_loaded(tmp_path: Path) -> None:
    save_record(tmp_path / "m.mkv", RECORD)
    assert load_record(tmp_path / "m.mkv") == RECORD
    assert [path.name for path in tmp_path.iterdir()] == ["m.mkv.record.json"]


def test_the_record_before_is_kept(tmp_path: Path) -> None:
    save_record(tmp_path / "m", RECORD)
    save_record(tmp_path / "m", msgspec.structs.replace(RECORD, stop=16))
    assert decode_record((tmp_path / "m.record.json.previous").read_bytes(), "it") == RECORD


def test_a_frame_of_the_master_is_called_by_timecode_and_cue() -> None:
    span = RECORD.span
    assert (span.before, span.frames) == (3, 16)
    assert [span.frame(n) for n in (0, 2, 3, 12, 13)] == [None, None, 5, 14, None]
    assert span.words(1) == "Frame 1 (10:00:00:03, bars)"
    assert span.words(2) == "Frame 2 (10:00:00:04, black)"
    assert span.words(5) == "Frame 5 (10:00:00:07, cue Garden)"
    assert span.words(6) == "Frame 6 (10:00:00:08, cue Gate)"
    assert span.number(8) == 6


def test_a_master_without_its_record_says_which_is_missing(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"m\.mkv has no record m\.mkv\.record\.json beside it"):
        load_record(tmp_path / "m.mkv")


def document() -> dict:
    found: dict = spread(RECORD)
    return found


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"record": "reel/2"}, "is not the record of a master"),
        ({"record": "master/999"}, "master/999 is not known here"),
        ({"pictures": ["no checksum"]}, r"it: at pictures\[0\]"),
        ({"reel": {"record": "reel/2"}}, "scan"),
        ({"files": {"m.mkv": "short"}}, "files"),
        ({"first": -1}, "first"),
    ],
)
def test_what_is_no_record_is_refused_with_the_place(change: dict, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        decode_record(json.dumps(document() | change).encode(), "it")


def test_a_field_of_a_later_version_survives_and_an_old_reel_within_is_upgraded() -> None:
    old = json.loads((Path(__file__).parents[2] / "reel" / "reel-1.reel").read_text())
    found = decode_record(json.dumps(document() | {"later": [1], "reel": old}).encode(), "it")
    assert found.other == {"later": [1]}
    assert found.reel.record == "reel/2"


def test_a_hundred_thousand_frames_are_one_record(tmp_path: Path) -> None:
    many = 100_000
    record = msgspec.structs.replace(
        RECORD,
        pictures=tuple(f"{n:032x}" for n in range(many)),
        grades=tuple(f"{n // 50:032x}" for n in range(many)),
    )
    save_record(tmp_path / "m.mkv", record)
    assert load_record(tmp_path / "m.mkv") == record
    assert record_path(tmp_path / "m.mkv").stat().st_size < 10_000_000
    assert record.record == LABEL


def test_writing_a_long_record_takes_little_room_beside_the_record_itself(tmp_path: Path) -> None:
    # All the pieces of its text at once took three times as much as the text.
    pictures = tuple(f"{number:032x}" for number in range(20_000))
    tracemalloc.start()
    try:
        save_record(tmp_path / "m.mkv", msgspec.structs.replace(RECORD, pictures=pictures))
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < record_path(tmp_path / "m.mkv").stat().st_size
