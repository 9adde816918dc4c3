from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.reel.counters import Counter, Readings, counter
from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef
from lamphouse.graph.time.timecode import timecode
from lamphouse.nodes.errors import BadInput

NTSC = Fraction(30000, 1001)
# An invented reel: 35 mm at 25, head mark 200 frames in, a minute of film.
MINUTE = Counter(Fraction(25), "35mm", 200, "10:00:00:00", 1500)


@st.composite
def counters(draw: st.DrawFn) -> Counter:
    rate = draw(st.sampled_from([Fraction(24000, 1001), NTSC, Fraction(16), Fraction(24), Fraction(25)]))
    frames = draw(st.integers(1, 200_000))
    return Counter(
        rate,
        draw(st.sampled_from(["35mm", "35mm-3perf", "16mm", "super8", "70mm"])),
        draw(st.integers(-1000, frames + 1000)),
        timecode(draw(st.integers(0, 2_600_000)), rate),
        frames,
    )


@given(counters(), st.data())
def test_each_reading_of_a_frame_finds_that_frame(reel: Counter, data: st.DataObject) -> None:
    frame = data.draw(st.integers(0, reel.frames - 1))
    readings = reel.readings(frame)
    assert reel.find(readings.timecode) == frame
    assert reel.find(readings.footage) == frame
    assert reel.find(str(readings.frame)) == frame


def test_every_frame_of_a_reel_across_midnight_and_dropped_numbers_is_found() -> None:
    reel = Counter(NTSC, "35mm-3perf", 700, "23:59:30;00", 4000)
    for frame in range(reel.frames):
        readings = reel.readings(frame)
        assert {reel.find(text) for text in (readings.timecode, readings.footage, str(frame))} == {frame}


def test_the_counters_read_start_and_zero_at_the_head_mark_and_earlier_before_it() -> None:
    assert MINUTE.readings(200) == Readings("10:00:00:00", "0+00", 200)
    assert MINUTE.readings(188) == Readings("09:59:59:13", "-0+12", 188)
    assert MINUTE.readings(397) == Readings("10:00:07:22", "12+05", 397)
    assert MINUTE.readings(0) == Readings("09:59:52:00", "-12+08", 0)


def test_a_reel_that_starts_at_midnight_reads_yesterday_before_its_mark() -> None:
    reel = Counter(NTSC, "16mm", 1, "00:00:00;00", 10)
    assert reel.readings(0).timecode == "23:59:59;29"
    assert reel.find("23:59:59:29") == 0


@pytest.mark.parametrize(
    ("outside", "sentence"),
    [
        ("1500", "runs from frame 0 to frame 1499"),
        ("-1", "runs from frame 0 to frame 1499"),
        ("10:00:52:00", "runs from 09:59:52:00 to 10:00:51:24"),
        ("09:59:51:24", "runs from 09:59:52:00 to 10:00:51:24"),
        ("81+04", r"runs from -12\+08 to 81\+03"),
        ("-12+09", r"runs from -12\+08 to 81\+03"),
    ],
)
def test_a_place_outside_the_reel_is_refused_with_its_ends_in_the_same_reading(
    outside: str, sentence: str
) -> None:
    with pytest.raises(BadInput, match=sentence) as refusal:
        MINUTE.find(outside)
    assert outside in str(refusal.value)


def test_an_exclusive_end_may_lie_just_after_the_last_frame_and_no_later() -> None:
    assert {MINUTE.find(text, end=True) for text in ("1500", "10:00:52:00", "81+04")} == {1500}
    for text in ("1501", "10:00:52:01", "81+05"):
        with pytest.raises(BadInput, match=r"to (frame 1500|10:00:52:00|81\+04)\.$"):
            MINUTE.find(text, end=True)


@pytest.mark.parametrize("text", ["", "here", "12.5", "1e3", "0x10", "1_000", "٣"])
def test_what_is_no_place_is_refused_with_an_example_of_each_reading(text: str) -> None:
    with pytest.raises(
        BadInput, match=r"timecode \(09:59:52:00\), feet\+frames \(-12\+08\) or a frame number"
    ):
        MINUTE.find(text)


def test_a_reel_in_which_two_frames_would_share_a_timecode_is_refused() -> None:
    assert Counter(Fraction(24), "16mm", 0, "00:00:00:00", 2_073_599)
    for frames in (2_073_600, 0, -1):
        with pytest.raises(BadInput, match=f"A reel of {frames} frames"):
            Counter(Fraction(24), "16mm", 0, "00:00:00:00", frames)


def _reel(**fields: str) -> Reel:
    scan = ScanRef(path="scan.mkv", frames=1500, width=2048, height=1556)
    return Reel(scan=scan, chain=ChainRef(nodes=(), output="scan"), head_mark=200, **fields)  # type: ignore[arg-type]


def test_a_reel_has_the_counters_it_states() -> None:
    assert counter(_reel(rate="25")) == MINUTE
    assert counter(_reel(rate="29.97", gauge="8mm", start="01:00:00;00")).readings(1001) == Readings(
        "01:00:26;21", "10+01", 1001
    )


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"rate": "16.67"}, "not a frame rate"),
        ({"gauge": "16 mm"}, "did you mean 16mm"),
        ({"start": "10:00"}, "not a timecode"),
        ({"rate": "29.97", "start": "10:01:00:00"}, "next address"),
    ],
)
def test_a_reel_whose_counters_cannot_count_is_refused(fields: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        counter(_reel(**fields))
