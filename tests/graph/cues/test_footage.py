from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.time.footage import footage, frame_of_footage, frames_per_foot
from lamphouse.nodes.errors import BadInput

# 35mm, 16mm, 8mm and super8 from the table of a web article, 'Filmfuss', which counts 40 for 9.5mm; that by
# its pitch of 7.54 mm in another, 'Filmschritt'. 17.5mm: 'Transactions of S.M.P.E.', September 1926, page
# 168. 28mm from memory. The others derived from 64 perforations per foot.
PER_FOOT = {
    "35mm": Fraction(16),
    "35mm-3perf": Fraction(64, 3),
    "35mm-2perf": Fraction(32),
    "35mm-8perf": Fraction(8),
    "28mm": Fraction("20.5"),
    "17.5mm": Fraction(32),
    "16mm": Fraction(40),
    "super16": Fraction(40),
    "9.5mm": Fraction(15240, 377),
    "8mm": Fraction(80),
    "super8": Fraction(72),
    "65mm": Fraction(64, 5),
    "65mm-8perf": Fraction(8),
    "65mm-15perf": Fraction(64, 15),
    "70mm": Fraction("12.8"),
    "70mm-8perf": Fraction(8),
    "70mm-15perf": Fraction(64, 15),
}
GAUGES = st.sampled_from(sorted(PER_FOOT))


@pytest.mark.parametrize(("gauge", "frames"), PER_FOOT.items())
def test_a_foot_holds_the_frames_of_the_table(gauge: str, frames: Fraction) -> None:
    assert frames_per_foot(gauge) == frames


# A sound film of 100 minutes at 24 frames a second: published totals, same article.
@pytest.mark.parametrize(
    ("gauge", "total"),
    [
        ("35mm", "9000+00"),
        ("16mm", "3600+00"),
        ("17.5mm", "4500+00"),  # half of 35mm: the same Transactions
        ("8mm", "1800+00"),
        ("super8", "2000+00"),
    ],
)
def test_a_hundred_minutes_have_the_published_length(gauge: str, total: str) -> None:
    assert footage(100 * 60 * 24, gauge) == total
    assert frame_of_footage(total, gauge) == 100 * 60 * 24


# Feet in one minute at 16, 18, 20, 24, 25 frames a second, and minutes of 1000 feet at 24. 35mm at 16
# and 24 and 16mm at 24 are published; the rest is derived, 60 * rate / frames per foot.
@pytest.mark.parametrize(
    ("gauge", "feet", "thousand"),
    [
        ("35mm", (60, 67.5, 75, 90, 93.75), 11.111),
        ("35mm-3perf", (45, 50.625, 56.25, 67.5, 70.3125), 14.815),
        ("16mm", (24, 27, 30, 36, 37.5), 27.778),
        ("super16", (24, 27, 30, 36, 37.5), 27.778),
        ("9.5mm", (23.749, 26.717, 29.685, 35.622, 37.106), 28.073),
        ("28mm", (46.829, 52.683, 58.537, 70.244, 73.171), 14.236),
        ("17.5mm", (30, 33.75, 37.5, 45, 46.875), 22.222),
        ("8mm", (12, 13.5, 15, 18, 18.75), 55.556),
        ("super8", (13.333, 15, 16.667, 20, 20.833), 50.0),
    ],
)
def test_a_minute_of_film_has_the_length_of_the_table(
    gauge: str, feet: tuple[float, ...], thousand: float
) -> None:
    for rate, length in zip((16, 18, 20, 24, 25), feet, strict=True):
        whole, frames = footage(60 * rate, gauge).split("+")
        assert float(int(whole) + int(frames) / PER_FOOT[gauge]) == pytest.approx(length, abs=0.05)
        assert int(whole) == int(length)
    assert frame_of_footage("1000+00", gauge) / 24 / 60 == pytest.approx(thousand, abs=0.001)


def test_where_a_foot_is_no_whole_number_the_feet_take_turns_in_a_cycle_of_64_frames() -> None:
    three = [frame_of_footage(f"{foot}+00", "35mm-3perf") for foot in range(7)]
    five = [frame_of_footage(f"{foot}+00", "70mm") for foot in range(11)]
    assert [after - before for before, after in pairwise(three)] == [22, 21, 21] * 2
    assert [after - before for before, after in pairwise(five)] == [13, 13, 13, 13, 12] * 2


# Millimetres from one frame to the next. 'Filmschritt'; 38 mm of 8 perforations and 71.25 of 15 there too.
@pytest.mark.parametrize(
    ("gauge", "step"),
    [
        ("35mm", 19.0),
        ("16mm", 7.62),
        ("9.5mm", 7.54),
        ("8mm", 3.81),
        ("super8", 25.4 / 6),
        ("65mm", 23.75),
        ("70mm-8perf", 38.0),
        ("70mm-15perf", 71.25),
        ("17.5mm", 1000 / 105),  # 105 pictures a metre, says the paper of 1926
    ],
)
def test_a_frame_is_as_long_as_film_is_moved_for_it(gauge: str, step: float) -> None:
    assert float(304.8 / frames_per_foot(gauge)) == pytest.approx(step, rel=0.003)


def test_a_place_in_9_5_mm_is_found_by_its_pitch() -> None:
    # 100 feet are 30480 mm, and 7.54 mm go into that 4042.4 times.
    assert (footage(4042, "9.5mm"), footage(4043, "9.5mm")) == ("99+39", "100+00")


@given(GAUGES, st.integers(-10_000_000, 10_000_000))
def test_every_frame_is_found_again(gauge: str, frame: int) -> None:
    assert frame_of_footage(footage(frame, gauge), gauge) == frame


@given(GAUGES, st.integers(0, 100_000), st.integers(0, 79))
def test_every_legal_text_is_written_back_as_it_was(gauge: str, foot: int, frames: int) -> None:
    if frames < int(PER_FOOT[gauge]):
        text = f"{foot}+{frames:02}"
        assert footage(frame_of_footage(text, gauge), gauge) == text


@pytest.mark.parametrize(
    ("frame", "text"),
    [(0, "0+00"), (197, "12+05"), (-12, "-0+12"), (-16, "-1+00"), (15, "0+15"), (16, "1+00")],
)
def test_35mm_reads_as_the_footage_counter_does(frame: int, text: str) -> None:
    assert footage(frame, "35mm") == text
    assert frame_of_footage(f" {text} ", "35mm") == frame


@pytest.mark.parametrize(
    ("text", "gauge", "sentence"),
    [
        ("12+16", "35mm", r"foot 12 of 35mm runs to 12\+15"),
        ("0+22", "35mm-3perf", r"runs to 0\+21"),
        ("1+21", "35mm-3perf", r"runs to 1\+20"),
        ("12", "35mm", "not feet"),
        ("+05", "35mm", "not feet"),
        ("1+-5", "35mm", "not feet"),
        ("1.5+00", "35mm", "not feet"),
        ("1+00", "super 8", "did you mean super8"),
        ("1+00", "vhs", "there is 16mm"),
        ("1+00", "17mm", "did you mean 17.5mm"),
    ],
)
def test_what_is_no_footage_is_refused_with_the_reason(text: str, gauge: str, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        frame_of_footage(text, gauge)
