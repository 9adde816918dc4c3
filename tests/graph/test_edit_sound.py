"""Where a sound lies beside its film, as it is typed and as it is moved. Advances: see `edits/sound.py`."""

from fractions import Fraction

import pytest

from lamphouse.graph.edits.sound import (
    ADVANCES,
    Offset,
    moved,
    offset_text,
    parse_offset,
    with_offset,
    with_place_at,
    with_rate,
)
from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef, SoundRef
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.graph.time.footage import frames_per_foot
from lamphouse.nodes.errors import BadInput

SCAN = ScanRef(path="film", frames=100, width=8, height=6)


def reel(**sound):
    chain = ChainRef(nodes=(), output="scan")
    return Reel(scan=SCAN, sound=SoundRef(path="a.wav", **sound), rate="24", chain=chain)


@pytest.mark.parametrize(
    ("text", "frames", "seconds"),
    [
        ("-26f", -26, 0),
        ("26 frames", 26, 0),
        ("+12.5ms", 0, Fraction(1, 80)),
        ("300 samples", 0, Fraction(300, 44100)),
        ("-1f +0.25 ms -1sample", -1, Fraction(1, 4000) - Fraction(1, 44100)),
        ("optical", 26, 0),
        ("magnetic", 28, 0),
        ("0f", 0, 0),
    ],
)
def test_an_offset_is_typed_in_frames_milliseconds_or_samples(text, frames, seconds):
    assert parse_offset(text, "16mm", 44100) == Offset(frames, Fraction(seconds))


@pytest.mark.parametrize("text", ["", "26", "1.5f", "300s", "f", "--2f", "2f later", "1e3ms", "Optical"])
def test_what_is_no_offset_is_refused(text):
    with pytest.raises(BadInput, match="is not an offset of sound"):
        parse_offset(text, "16mm", 48000)


def test_sound_that_lay_ahead_of_its_picture_plays_later_and_what_lay_behind_it_earlier():
    # On a 16 mm print the optical sound of a picture lies 26 frames nearer the head: so what was taken off
    # the film beside frame 100 belongs to frame 126.
    place = sound_place(with_offset(reel(), parse_offset("optical", "16mm", 48000)))
    assert place.frame(Fraction(100, 24)) == 126
    assert parse_offset("magnetic", "35mm", 48000).frames < 0
    for gauge in ADVANCES:
        assert frames_per_foot(gauge)
    with pytest.raises(BadInput, match=r"No advance of optical sound on 8mm film is known here"):
        parse_offset("optical", "8mm", 48000)


def test_a_sound_is_moved_by_frames_and_milliseconds_and_back_to_the_same():
    there = moved(moved(reel(), 1), seconds=Fraction(1, 1000))
    assert (there.sound.starts_at, there.sound.offset) == (1, "1/1000")
    assert moved(moved(there, -1), seconds=Fraction(-1, 1000)) == reel()
    with pytest.raises(BadInput, match="at most a day"):
        moved(there, seconds=Fraction(10**6))


@pytest.mark.parametrize(
    ("rate", "recorded"), [(None, 24), ("25", 25), ("24000/1001", Fraction(24000, 1001))]
)
def test_a_place_of_the_sound_is_put_at_a_frame_exactly(rate, recorded):
    before = reel() if rate is None else with_rate(reel(), rate)
    at = Fraction(287_999, 44100)
    place = sound_place(with_place_at(before, at, 48))
    assert (place.frame(at), place.recorded) == (48, recorded)


def test_where_a_sound_begins_is_said_in_words():
    assert offset_text(reel(starts_at=-26).sound) == "with frame -26"
    assert offset_text(reel(starts_at=2, offset="1/80").sound) == "12.5 ms after frame 2"
    assert offset_text(reel(offset="-1/44100").sound) == "0.0226757 ms before frame 0"


@pytest.mark.parametrize("offset", ["0.5", "1/0", "day", "86401", "1/-2"])
def test_a_reel_whose_offset_is_no_exact_time_is_refused(offset):
    with pytest.raises(BadInput, match="is not an exact number of seconds"):
        reel(offset=offset)


def test_a_reel_without_sound_has_none_to_move():
    chain = ChainRef(nodes=(), output="scan")
    with pytest.raises(BadInput, match="has no sound"):
        moved(Reel(scan=SCAN, chain=chain), 1)
