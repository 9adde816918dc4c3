import io
import struct
from fractions import Fraction

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lamphouse.graph.time.timecode import frame_of_timecode, frames_per_day, timecode
from lamphouse.nodes.errors import BadInput

NTSC = Fraction(30000, 1001)
FILM = Fraction(24000, 1001)

# Rules of SMPTE ST 12-1, second-hand. OTIO: values in the tests of OpenTimelineIO. Library: values in the
# tests of the timecode package, which counts from 1. Derived: N = 30(3600h+60m+s) + f - 2(M - M//10).
ADDRESSES = [
    (1799, NTSC, "00:00:59;29"),  # OTIO
    (1800, NTSC, "00:01:00;02"),  # OTIO
    (3597, NTSC, "00:01:59;29"),  # derived
    (3598, NTSC, "00:02:00;02"),  # derived
    (10789, NTSC, "00:05:59;29"),  # OTIO
    (10790, NTSC, "00:06:00;02"),  # OTIO
    (17981, NTSC, "00:09:59;29"),  # OTIO
    (17982, NTSC, "00:10:00;00"),  # OTIO
    (17984, NTSC, "00:10:00;02"),  # OTIO
    (107892, NTSC, "01:00:00;00"),  # derived
    (215784, NTSC, "02:00:00;00"),  # OTIO
    (388703, NTSC, "03:36:09;23"),  # library, 388704
    (467943, NTSC, "04:20:13;21"),  # library, 467944
    (1084319, NTSC, "10:03:00;05"),  # OTIO
    (2589407, NTSC, "23:59:59;29"),  # library, 2589408
    (1800, Fraction(30), "00:01:00:00"),  # OTIO
    (10789, Fraction(30), "00:05:59:19"),  # OTIO
    (17982, Fraction(30), "00:09:59:12"),  # OTIO
    (107892, Fraction(30), "00:59:56:12"),  # derived
    (1084319, Fraction(30), "10:02:23:29"),  # OTIO
    (311279, Fraction(24), "03:36:09:23"),  # library, 311280
    (311279, FILM, "03:36:09:23"),  # the same count: 24 to a second of timecode
    (2073599, Fraction(24), "23:59:59:23"),  # library
    (324248, Fraction(25), "03:36:09:23"),  # library, 324249
    (389093, Fraction(30), "03:36:09:23"),  # library, 389094
]
RATES = st.sampled_from([FILM, NTSC, *map(Fraction, (16, 18, 20, 24, 25, 30))])


@pytest.mark.parametrize(("frame", "rate", "address"), ADDRESSES)
def test_an_address_agrees_with_the_published_values_both_ways(
    frame: int, rate: Fraction, address: str
) -> None:
    assert timecode(frame, rate) == address
    assert frame_of_timecode(address, rate) == frame


# Successors in the tests of OpenTimelineIO.
@pytest.mark.parametrize(
    ("before", "after"),
    [("13:36:59;29", "13:37:00;02"), ("13:39:59;29", "13:40:00;00"), ("23:59:59;29", "00:00:00;00")],
)
def test_the_next_frame_has_the_next_legal_address(before: str, after: str) -> None:
    assert timecode(frame_of_timecode(before, NTSC) + 1, NTSC) == after


# Days of ST 12-1, second-hand; drop-frame ends 86.4 ms before the clock does (derived).
@pytest.mark.parametrize(
    ("rate", "frames"), [(24, 2_073_600), (25, 2_160_000), (30, 2_592_000), (NTSC, 2_589_408)]
)
def test_a_day_of_addresses_is_as_long_as_published(rate: Fraction, frames: int) -> None:
    assert frames_per_day(Fraction(rate)) == frames
    assert timecode(frames, Fraction(rate)) == timecode(0, Fraction(rate))
    assert timecode(-1, Fraction(rate)).startswith("23:59:59")


def test_a_drop_frame_day_ends_864_ten_thousandths_before_the_clock() -> None:
    assert 86400 - frames_per_day(NTSC) / NTSC == Fraction(864, 10000)


@pytest.mark.slow
def test_an_hour_of_drop_frame_is_all_numbers_but_the_dropped_ones_in_turn() -> None:
    # The rule in words: numbers 00 and 01 are left out of every minute but each tenth.
    addresses = (
        f"10:{minute:02}:{second:02};{frames:02}"
        for minute in range(60)
        for second in range(60)
        for frames in range(30)
        if not (minute % 10 and second == 0 and frames < 2)
    )
    first = frame_of_timecode("10:00:00;00", NTSC)
    count = 0
    for frame, address in enumerate(addresses, first):
        assert timecode(frame, NTSC) == address
        assert frame_of_timecode(address, NTSC) == frame
        count += 1
    assert count == 107_892


@given(RATES, st.integers(0, 2_073_599))
def test_every_address_finds_its_frame(rate: Fraction, number: int) -> None:
    frame = number % frames_per_day(rate)
    assert frame_of_timecode(timecode(frame, rate), rate) == frame
    assert timecode(frame + frames_per_day(rate), rate) == timecode(frame, rate)


def _frame_by_ffmpeg(address: str, rate: Fraction) -> int:
    """Return the frame number that ffmpeg's QuickTime writer stores for `address` in its timecode track."""
    file = io.BytesIO()
    with av.open(file, "w", format="mov") as movie:
        stream = movie.add_stream("mpeg4", rate=rate)
        stream.width = stream.height = 16
        stream.metadata["timecode"] = address
        picture = av.VideoFrame.from_ndarray(np.zeros((16, 16, 3), np.uint8), format="rgb24")
        movie.mux([*stream.encode(picture), *stream.encode(None)])
    file.seek(0)
    with av.open(file, "r") as stored:
        packet = next(packet for packet in stored.demux(stored.streams.data[0]) if packet.size)
        return int(struct.unpack(">I", bytes(packet))[0])


@pytest.mark.parametrize(
    ("address", "rate"),
    [
        ("00:01:00;02", NTSC),
        ("09:59:52;18", NTSC),
        ("10:07:00;02", NTSC),
        ("10:10:00;00", NTSC),
        ("23:59:59;29", NTSC),
        ("09:59:52:18", FILM),
        ("09:59:52:18", Fraction(25)),
    ],
)
def test_ffmpeg_numbers_the_address_alike(address: str, rate: Fraction) -> None:
    assert frame_of_timecode(address, rate) == _frame_by_ffmpeg(address, rate)


def test_at_2997_people_may_type_either_mark_and_both_mean_drop_frame() -> None:
    assert frame_of_timecode("00:01:00:02", NTSC) == frame_of_timecode(" 0:1:0;2 ", NTSC) == 1800


@pytest.mark.parametrize(
    ("address", "next_address"),
    [("00:01:00;00", "00:01:00;02"), ("10:59:00:01", "10:59:00;02")],
)
def test_a_dropped_address_is_refused_with_the_next_legal_one(address: str, next_address: str) -> None:
    with pytest.raises(BadInput, match=f"leaves out {address}; the next address is {next_address}"):
        frame_of_timecode(address, NTSC)


@pytest.mark.parametrize(
    ("address", "rate", "sentence"),
    [
        ("00:00:00:25", 25, "25 frames at 25 a second; they run from 00 to 24"),
        ("00:00:00:16", 16, "they run from 00 to 15"),
        ("00:00:00;30", NTSC, "they run from 00 to 29"),
        ("00:00:60:00", 24, "60 seconds; they run from 00 to 59"),
        ("00:60:00:00", 24, "60 minutes"),
        ("24:00:00:00", 24, "24 hours"),
        ("00:01:00;00", FILM, "drop-frame, which only 29.97 and 59.94 have"),
        ("00:01:00;00", 30, "drop-frame, which only 29.97 and 59.94 have"),
        ("1:00:00", 24, "not a timecode"),
        ("aa:00:00:00", 24, "not a timecode"),
        ("-01:00:00:00", 24, "not a timecode"),
        ("٠١:00:00:00", 24, "not a timecode"),
        ("", NTSC, r"write HH:MM:SS:FF, such as 00:00:00;00"),
    ],
)
def test_what_is_no_address_is_refused_with_the_reason(address: str, rate: Fraction, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        frame_of_timecode(address, Fraction(rate))
