"""Sound beside the picture: to the sample, against numbers and against a file, without a device."""

from fractions import Fraction

import numpy as np
import pytest
import soundfile

from lamphouse.graph.media.sound.read import Places, open_anywhere, sample_at
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.sound.line import Line
from lamphouse.viewer.sound.pieces import Pieces
from lamphouse.viewer.sound.scrub import Scrub, scrubbed
from lamphouse.viewer.sound.segment import Segment, segment_due
from lamphouse.viewer.sound.voice import FADE, Voice

SECOND = 1_000_000_000
HERTZ = 48000
FADED = HERTZ // FADE
NTSC = Fraction(30000, 1001)
BLOCK = 1920  # samples


def begins(frame, rate):
    """The nanosecond of a motion from frame 0 at which `frame` is due."""
    return -(-frame * SECOND * rate.denominator // rate.numerator)


def ramp(start, stop):
    """A sound whose every sample is its place, exact in float64."""
    return np.arange(start, stop, dtype=np.float64)[None]


def sounded(voice, transport, places, blocks, count, fetch=ramp, clock=HERTZ, begun=0):
    """Blocks for a device that hears `clock` samples in a second of ours."""
    made = []
    for number in range(blocks):
        heard = begun + number * count * SECOND // clock
        made.append(voice.block(segment_due(transport, heard, places), count, fetch)[0])
    return np.concatenate(made)


@pytest.mark.parametrize("rate", [Fraction(24), Fraction(25), NTSC])
@pytest.mark.parametrize("frame", [0, 1, 7, 107_892, 215_783])  # the last two are one and two hours on
def test_a_frame_sounds_from_its_very_first_sample_at_every_rate(rate, frame):
    playing = Transport(300_000, rate).play(0)
    places = Places(0, rate, HERTZ)
    assert segment_due(playing, begins(frame, rate), places).sample == sample_at(frame, rate, HERTZ)
    # 1001/30000 s are 1601.6 samples, so the last one of a frame begins 1600 or 1601 after its first.
    last = segment_due(playing, begins(frame + 1, rate) - 1, places).sample
    assert sample_at(frame + 1, rate, HERTZ) - last in (0, 1)
    late = Places(10, rate, HERTZ)
    assert segment_due(playing, begins(frame, rate), late).sample == sample_at(frame - 10, rate, HERTZ)


def test_backwards_a_frame_sounds_from_its_last_sample_to_its_first():
    places = Places(0, Fraction(25), HERTZ)
    back = Transport(1000, Fraction(25)).go_to(50, 0).reverse(0)
    assert [segment_due(back, begins(n, Fraction(25)), places).sample for n in range(3)] == [
        97920,
        96000,
        94080,
    ]
    heard = sounded(Voice(1, HERTZ, 960), back, places, 4, BLOCK)
    assert np.allclose(heard[FADED:], 97919 - np.arange(FADED, 4 * BLOCK), rtol=1e-7)


def test_standing_shuttling_and_the_end_of_the_reel_are_silent():
    still, places = Transport(100, Fraction(25)), Places(0, Fraction(25), HERTZ)
    assert segment_due(still, 0, places) is None
    for speed in (2, -4, 32, Fraction(1, 2)):
        assert segment_due(still.go_to(50, 0).run(speed, 0), 1000, places) is None
    playing = still.play(0)
    assert segment_due(playing, 99 * 40_000_000 - 1, places) is not None
    assert segment_due(playing, 99 * 40_000_000, places) is None
    assert segment_due(playing, -5, places).sample == 0  # asked for before it began, through a late clock


def test_a_loop_wraps_at_its_exact_sample_either_way_and_fades_across_it():
    places = Places(0, NTSC, HERTZ)
    low, high = sample_at(7, NTSC, HERTZ), sample_at(19, NTSC, HERTZ)  # 11211 and 30430
    span = high - low
    looping = Transport(100, NTSC).go_to(7, 0).looping((7, 19), 0)
    heard = sounded(Voice(1, HERTZ, 800), looping.play(0), places, 60, 1000)
    place = low + np.arange(60_000) % span
    plain = np.arange(60_000) % span >= FADED
    assert np.allclose(heard[plain], place[plain])
    # Over the fade the end of the loop goes on and falls while its beginning rises.
    assert heard[span] == pytest.approx(high, abs=20)
    assert heard[span + FADED // 2] == pytest.approx((low + high + FADED) / 2, abs=200)
    back = sounded(Voice(1, HERTZ, 800), looping.reverse(0), places, 60, 1000)
    first = sample_at(8, NTSC, HERTZ) - 1
    where = low + (first - low - np.arange(60_000)) % span
    plain = (np.arange(60_000) - (first + 1 - low)) % span >= FADED
    plain[:FADED] = False
    assert np.allclose(back[plain], where[plain])


def test_an_hour_neither_drifts_nor_is_put_right_when_the_clocks_agree():
    table = np.tile(np.arange(100_003, dtype=np.float32), 2)[None]

    def short(start, stop):  # single precision holds no hour of samples
        return table[:, start % 100_003 :][:, : stop - start]

    places, voice = Places(0, NTSC, HERTZ), Voice(1, HERTZ, 800)
    playing, hour = Transport(200_000, NTSC).play(0), 3600 * HERTZ
    for start in range(0, hour, HERTZ):
        block = voice.block(segment_due(playing, start * SECOND // HERTZ, places), HERTZ, short)[0]
        assert block[FADED] == (start + FADED) % 100_003
        assert block[-1] == (start + HERTZ - 1) % 100_003


def test_a_device_that_runs_slow_is_put_right_by_whole_jumps_of_half_a_frame():
    places, slack = Places(0, Fraction(25), HERTZ), 960
    playing = Transport(100_000, Fraction(25)).play(0)
    slow = HERTZ - 48  # a thousandth
    heard = sounded(Voice(1, HERTZ, slack), playing, places, 1500, BLOCK, clock=slow)
    due = np.arange(len(heard)) * (HERTZ / slow)
    settled = slice(FADED, None)
    assert np.abs(heard - due)[settled].max() <= slack + BLOCK / 500
    jumps = np.diff(heard[::BLOCK][1:]) != BLOCK
    assert jumps.sum() == len(heard) // (slack * 1000)  # 60 s by a thousandth is 2880 samples


def test_a_sync_pulse_of_a_file_is_heard_when_its_frame_is_due(tmp_path):
    # One sample at frame 60, as the pip of a sync mark; 29.97 puts it at floor(60 * 1601.6) = 96096.
    samples = np.zeros((HERTZ * 4, 2), np.float32)
    samples[96096] = 0.5
    soundfile.write(tmp_path / "pip.wav", samples, HERTZ, subtype="PCM_24")
    places, voice, line = Places(0, NTSC, HERTZ), Voice(2, HERTZ, 800), Line(HERTZ, BLOCK)
    playing, began = Transport(100, NTSC).play(7), 7
    peaks, now = [], began
    with open_anywhere(tmp_path / "pip.wav") as source:
        pieces = Pieces(source)
        for number in range(70):
            # The device fills two lengths at once, then asks every 40 ms, its thread up to 9 ms late.
            now = began + max(0, number - 1) * 40_000_000
            while pieces.read_next(playing, now, places):
                pass
            heard = line.heard(now + (number * 37 % 10) * 1_000_000, BLOCK)
            segment = None if heard is None else segment_due(playing, heard, places)
            block = voice.block(segment, BLOCK, pieces.fetch)
            # What was asked for as number n is heard from n * 40 ms on.
            peaks += [
                began + (number * BLOCK + at) * SECOND // HERTZ for at in np.flatnonzero(block[0] > 0.4)
            ]
    assert len(peaks) == 1
    assert abs(peaks[0] - (began + begins(60, NTSC))) < 9_100_000


def test_starts_stops_and_jumps_do_not_click():
    # A tone of 300 Hz at full scale moves by 2 pi 300 / 48000 = 0.04 from one sample to the next.
    def tone(start, stop):
        return np.cos(2 * np.pi * 300 * np.arange(start, stop) / HERTZ)[None].astype(np.float32)

    def level(start, stop):
        return np.ones((1, stop - start), np.float32)

    begun = (Segment(0, 1, 1), Segment(80, 1, 2), Segment(20_040, -1, 3), None, Segment(7, 1, 4))
    segments = (None, *begun, *(None,) * 5)
    # Blocks of 100 are shorter than a fade, so that up to three overlap; each moves by pi / 2 / 192 at most.
    for sound, most in ((tone, 0.08), (level, 0.02)):
        voice = Voice(1, HERTZ, 960)
        heard = np.concatenate([voice.block(segment, 100, sound)[0] for segment in segments])
        assert np.abs(np.diff(heard)).max() < most
        assert np.abs(heard).max() > 0.4
        assert heard[0] == heard[-1] == 0
        assert voice.is_silent


def test_two_places_of_a_loop_are_near_across_its_wrap():
    loop = (1000, 9000)
    assert Segment(1005, 1, 1, loop).off(Segment(8995, 1, 1, loop)) == 10
    assert Segment(1005, 1, 1, loop).off(Segment(2005, 1, 1, loop)) == 1000
    assert Segment(1005, 1, 1).off(Segment(8995, 1, 1)) == 7990
    assert Segment(1005, 1, 1).off(Segment(1005, -1, 1)) is None
    assert Segment(1005, 1, 1, None, 5).off(Segment(1005, 1, 1, None, 6)) is None  # the sound was moved
    assert Segment(1005, 1, 1).off(Segment(1005, 1, 2)) is None


class Counted:
    """A sound that counts what is read of it."""

    rate, channels = HERTZ, 1

    def __init__(self):
        self.read = []

    def block(self, start, stop):
        self.read.append(start)
        return ramp(start, stop)


@pytest.mark.parametrize("loop", [None, (300, 301), (295, 330), (260, 390)])
@pytest.mark.parametrize("way", [1, -1])
def test_what_will_be_heard_is_read_before_and_not_much_more(loop, way):
    source, places = Counted(), Places(0, Fraction(25), HERTZ)
    pieces, voice = Pieces(source), Voice(1, HERTZ, 960)
    moving = Transport(600, Fraction(25)).go_to(300, 0).looping(loop, 0).run(way, 0)
    missing = 0
    for number in range(250):
        now = number * 40_000_000
        while pieces.read_next(moving, now, places):
            assert len(source.read) < 999
        # The device is 80 ms ahead of the clock, and the reader is not asked again before it is.
        segment = segment_due(moving, now + 80_000_000, places)
        missing += not voice.block(segment, BLOCK, pieces.fetch).any()
    assert missing == 0
    assert len(pieces) <= 9
    if loop is None:
        assert len(source.read) == len(set(source.read)) <= 26


def test_what_is_not_read_yet_is_silence_with_a_fade_before_it():
    def known(start, stop):
        return np.ones((1, stop - start), np.float32) if stop <= 5000 else None

    voice = Voice(1, HERTZ, 960)
    heard = np.concatenate([voice.block(Segment(n * 1000, 1, 1), 1000, known)[0] for n in range(7)])
    assert heard[FADED:4000] == pytest.approx(1)
    assert not heard[4000 + FADED :].any()
    assert np.abs(np.diff(heard)).max() < 0.02


def test_a_device_that_ran_dry_is_believed_at_once():
    line = Line(HERTZ, BLOCK)
    assert [line.heard(0, BLOCK), line.heard(0, BLOCK)] == [None, None]  # it fills what it keeps in hand
    assert line.heard(40_000_000, BLOCK) == 80_000_000
    assert line.heard(95_000_000, BLOCK) == 120_000_000  # late by 15 ms, which is only its thread
    assert line.heard(600_000_000, BLOCK) == 640_000_000


def test_a_sound_at_another_rate_is_heard_at_its_own_and_a_missing_one_is_refused(tmp_path):
    soundfile.write(tmp_path / "slow.wav", np.arange(44100) / (1 << 17), 44100, subtype="PCM_24")
    with open_anywhere(tmp_path / "slow.wav") as source:
        assert (source.rate, source.channels) == (44100, 1)
        assert source.block(22050, 22051)[0, 0] * (1 << 17) == 22050
    with pytest.raises(BadInput, match="no sound file"):
        open_anywhere(tmp_path / "none.wav")


@pytest.mark.parametrize(
    ("act", "expected"),
    [
        (lambda reel: reel.step(1, 100), (26, 1)),
        (lambda reel: reel.step(-1, 100), (24, -1)),
        (lambda reel: reel.go_to(3, 100), (3, -1)),
        (lambda reel: reel.go_to(25, 100), None),
        (lambda reel: reel.play(100), None),
        (lambda reel: reel, None),
    ],
)
def test_a_frame_is_heard_where_a_reel_that_stands_is_taken_to_another(act, expected):
    standing = Transport(250, Fraction(25)).go_to(25, 0)
    found = scrubbed(standing, act(standing), False, 7)
    assert (found and (found.frame, found.way)) == expected


def test_coming_to_a_stop_sounds_no_frame_and_stepping_out_of_playing_does():
    playing = Transport(250, Fraction(25)).go_to(25, 0).play(0)
    later = 10 * 40_000_000
    assert scrubbed(playing, playing.stop(later), False, 1) is None
    assert scrubbed(playing, playing.step(-1, later), False, 1) == Scrub(34, -1, 1)
    assert scrubbed(None, playing.stop(later), False, 1) is None


def test_a_segment_with_an_end_stops_there_with_a_fade_whatever_the_block():
    def known(start, stop):
        return np.ones((1, stop - start), np.float32)

    voice = Voice(1, HERTZ, 800)
    heard = voice.block(Segment(0, 1, -1, ends=1000), 1920, known)[0]
    fade = HERTZ // FADE
    assert (heard[fade:1000] == 1).all()
    assert not heard[1000 + fade :].any()
    assert voice.is_silent
