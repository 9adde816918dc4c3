"""Bars and tone at the head of a master. Their codes are held against the table of bars."""

import numpy as np
import pytest

from lamphouse.graph.media.codes.encode_planes import (
    blank_frame,
    component_planes,
    encode_into,
    plane_coding,
    to_frame,
)
from lamphouse.graph.media.master.lineup import bars, tone


@pytest.mark.parametrize("width", [1920, 720, 1280, 1998])
def test_eight_bars_of_75_percent_fall_in_luma_and_begin_on_even_columns(width):
    line = bars(width, 4)[:, 0]
    edges = np.flatnonzero(np.abs(np.diff(line)).any(axis=0)) + 1
    assert len(edges) == 7
    assert not (edges % 2).any()
    assert np.abs(np.diff([0, *edges, width]) - width / 8).max() <= 2
    luma = np.array([0.2126, 0.7152, 0.0722]) @ line[:, [0, *edges]]
    assert (np.diff(luma) < 0).all()
    assert set(np.unique(line)) == {0, np.float32(0.75)}


def test_a_master_of_bars_has_the_codes_of_the_table_in_the_middle_of_each(colour_bars):
    coding = plane_coding("yuv422p10le", "bt709", "video")
    frame = to_frame(bars(160, 4), "yuv422p10le", coding)
    luma, blue, red = component_planes(frame, coding.layout)
    found = [[int(luma[0, x]), int(blue[0, x // 2]), int(red[0, x // 2])] for x in range(10, 160, 20)]
    assert found == [bar["bt709"]["75"] for bar in colour_bars]


@pytest.mark.parametrize(
    ("form", "white", "colours"), [("100/0/75/0", "100", "75"), ("100/0/100/0", "100", "100")]
)
def test_bars_of_625_line_practice_have_a_white_of_their_own(colour_bars, form, white, colours):
    # ITU-R BT.471 (from memory): white, black, most and least of the coloured bars, in per cent.
    coding = plane_coding("yuv422p10le", "bt601", "video")
    frame = to_frame(bars(160, 4, form), "yuv422p10le", coding)
    luma, blue, red = component_planes(frame, coding.layout)
    found = [[int(luma[0, x]), int(blue[0, x // 2]), int(red[0, x // 2])] for x in range(10, 160, 20)]
    assert found[0] == colour_bars[0]["bt601"][white]
    assert found[1:] == [bar["bt601"][colours] for bar in colour_bars[1:]]


@pytest.mark.parametrize("form", [("yuv420p", "bt709", "video"), ("gbrp10le", "rgb", "full")])
def test_black_is_reference_black(form):
    coding = plane_coding(*form)
    found, meant = (blank_frame(6, 4, form[0], coding) for _ in range(2))
    found.blacken()
    encode_into(np.zeros((3, 4, 6), np.float32), meant.planes, coding)
    assert all(np.array_equal(*pair) for pair in zip(found.planes, meant.planes, strict=True))


@pytest.mark.parametrize("rate", [48000, 44100, 96000])
def test_tone_is_1_khz_at_minus_18_dbfs_in_every_channel(rate):
    # EBU R 68 (from memory): 18 dB below full scale, where a full-scale sine peaks at 1.
    second = tone(0, rate, rate, 2)
    assert np.array_equal(second[0], second[1])
    level = 20 * np.log10(np.sqrt(np.mean(second[0].astype(float) ** 2)) * np.sqrt(2))
    assert level == pytest.approx(-18, abs=1e-4)
    spectrum = np.abs(np.fft.rfft(second[0]))
    assert spectrum.argmax() == 1000
    assert np.delete(spectrum, 1000).max() < spectrum[1000] * 1e-4


def test_the_left_channel_alone_is_marked_by_breaks_that_begin_and_end_at_zero():
    # Practice of the EBU, from memory: 250 ms of every 3 s.
    marked, plain = tone(0, 6 * 48000, 48000, 2, marks_left=True), tone(0, 6 * 48000, 48000, 2)
    assert np.array_equal(marked[1], plain[1])
    breaks = np.zeros(6 * 48000, bool)
    for start in (2.75, 5.75):
        breaks[round(start * 48000) : round((start + 0.25) * 48000)] = True
    assert not marked[0][breaks].any()
    assert np.array_equal(marked[0][~breaks], plain[0][~breaks])
    assert not plain[0][[round(2.75 * 48000), 3 * 48000]].any()
    assert np.array_equal(tone(0, 6 * 48000, 48000, 1, marks_left=True)[0], plain[0])


def test_tone_at_the_level_of_525_line_practice():
    # SMPTE RP 155 (from memory): 20 dB below full scale.
    assert 20 * np.log10(tone(0, 48000, 48000, 1, level=-20).max()) == pytest.approx(-20, abs=1e-3)


def test_tone_goes_on_without_a_step_from_block_to_block_after_hours():
    start = 3 * 3600 * 48000 + 17
    joined = np.concatenate(
        [tone(start, start + 1601, 48000, 1), tone(start + 1601, start + 5000, 48000, 1)], axis=1
    )
    assert np.array_equal(joined, tone(start, start + 5000, 48000, 1))
    assert np.abs(joined - tone(17, 5017, 48000, 1)).max() < 1e-6
