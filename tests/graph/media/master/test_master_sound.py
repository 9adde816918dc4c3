"""Sound by sample: where it is taken from, where it goes, and that nothing drifts."""

from fractions import Fraction

import av
import numpy as np
import pytest
import soundfile

from lamphouse.graph.media.sound.read import open_sound, sample_at
from lamphouse.graph.media.sound.write import integers
from lamphouse.nodes.errors import BadInput

NTSC = Fraction(30000, 1001)


@pytest.fixture
def wave(tmp_path):
    """A function that writes samples (n, channels) as a WAV file of 24 bits and returns its path."""

    def write(samples, rate=48000, name="sound.wav"):
        soundfile.write(tmp_path / name, samples, rate, subtype="PCM_24")
        return tmp_path / name

    return write


def whole_noise(count, channels=2):
    """Noise of exactly 24 bits, as fractions of full scale."""
    return np.random.default_rng(7).integers(-(1 << 23), 1 << 23, (count, channels)) / (1 << 23)


def movie_with_sound(path, sound_begins, picture_begins=0, rate=48000):
    """A Matroska file with a click of one sample at 0.1 s of its sound. Begins are in milliseconds."""
    with av.open(str(path), "w") as container:
        video = container.add_stream("ffv1", rate=25)
        video.width, video.height, video.pix_fmt = 32, 24, "yuv420p"
        audio = container.add_stream("pcm_s16le", rate=rate)
        audio.codec_context.layout = "mono"
        samples = np.zeros((1, rate // 2), np.int16)
        samples[0, rate // 10] = 20000
        for number in range(10):
            frame = av.VideoFrame(32, 24, "yuv420p")
            frame.pts, frame.time_base = number + picture_begins // 40, Fraction(1, 25)
            container.mux(video.encode(frame))
        sound = av.AudioFrame.from_ndarray(samples, "s16", "mono")
        sound.sample_rate, sound.pts, sound.time_base = rate, sound_begins, Fraction(1, 1000)
        container.mux(audio.encode(sound))
        container.mux(video.encode(None))
        container.mux(audio.encode(None))
    return path


def test_frames_begin_on_whole_samples_that_never_drift():
    # 1001/30000 s of 48 kHz is 1601.6 samples: five frames have 8008.
    assert [sample_at(n, NTSC, 48000) for n in range(6)] == [0, 1601, 3203, 4804, 6406, 8008]
    # An hour of drop-frame timecode is 107 892 frames (SMPTE ST 12-1 arithmetic): 3 599.9964 s.
    assert sample_at(107892, NTSC, 48000) == 107892 * 1001 * 48000 // 30000 == 172799827
    assert sample_at(90000, Fraction(25), 48000) == 3600 * 48000
    assert sample_at(-1, NTSC, 48000) == -1602


def test_a_sound_at_the_wanted_rate_is_taken_sample_for_sample(wave):
    noise = whole_noise(5000)
    with open_sound(wave(noise), 48000) as source:
        assert source.channels == 2
        assert np.array_equal(source.block(1234, 2345), noise[1234:2345].T)
        assert np.array_equal(source.block(0, 10), noise[:10].T)


@pytest.mark.parametrize("rate", [48000, 44100])
def test_before_and_after_the_file_is_silence(wave, rate):
    with open_sound(wave(whole_noise(rate // 10), rate), 48000) as source:
        block = source.block(-100, 6000)
        assert block.shape == (2, 6100)
        assert not block[:, :100].any()
        assert block[:, 100:4900].any(axis=0).all()
        assert not block[:, 4902:].any()
        assert not source.block(20000, 20010).any()
        assert source.block(5, 5).shape == (2, 0)


def test_resampled_sound_keeps_its_time_and_pitch(wave):
    # A sine of 1 kHz is known at every instant; the library's converter may not shift it.
    at = np.arange(44100) / 44100
    source = open_sound(wave(0.5 * np.sin(2 * np.pi * 1000 * at)[:, None], 44100), 48000)
    with source:
        block = source.block(10000, 20000)[0]
    expected = 0.5 * np.sin(2 * np.pi * 1000 * np.arange(10000, 20000) / 48000)
    assert np.abs(block - expected).max() < 2e-3


def test_blocks_in_any_order_give_the_same_samples(wave):
    with open_sound(wave(whole_noise(8820), 44100), 48000) as source:
        whole = source.block(0, 9600)
        for start in (7000, 100, 0, 4801, 4800, 9000):
            assert np.array_equal(source.block(start, start + 321), whole[:, start : start + 321])


@pytest.mark.parametrize(("sound_begins", "picture_begins"), [(0, 0), (200, 0), (0, 80), (40, 80)])
def test_the_sound_of_a_movie_is_reckoned_from_its_first_picture(tmp_path, sound_begins, picture_begins):
    path = movie_with_sound(tmp_path / "a.mkv", sound_begins, picture_begins)
    click = 48 * (100 + sound_begins - picture_begins)
    with open_sound(path, 48000) as source:
        assert source.channels == 1
        assert np.flatnonzero(source.block(0, 48000)[0]).tolist() == [click]


@pytest.mark.parametrize("rate", ["30000/1001", "25"])
def test_a_master_has_the_very_samples_of_its_frames(begin, wave, rate):
    rate, frames, first = Fraction(rate), 20, 777
    noise = whole_noise(60000)
    with open_sound(wave(noise), 48000) as source, begin(rate=rate) as master:
        for number in range(frames):
            master.write(np.zeros((3, 24, 32), np.float32))
            start, stop = sample_at(number, rate, 48000), sample_at(number + 1, rate, 48000)
            master.write_sound(source.block(start + first, stop + first))
        master.finish()
    with av.open(str(master.path)) as container:
        found = np.concatenate([frame.to_ndarray()[0] for frame in container.decode(audio=0)])
    count = sample_at(frames, rate, 48000)
    meant = np.round(noise[first : first + count] * (1 << 23)).astype(np.int64)
    assert np.array_equal(found.reshape(-1, 2) >> 8, meant)


def test_sound_and_picture_lie_close_together_in_the_file(begin):
    with begin() as master:
        for _ in range(50):
            master.write(np.zeros((3, 24, 32), np.float32))
            master.write_sound(np.zeros((1, 1920), np.float32))
        master.finish()
    with av.open(str(master.path)) as container:
        order = [packet.stream.type for packet in container.demux() if packet.size]
    runs = "".join(kind[0] for kind in order)
    assert "vvvv" not in runs
    assert "aaaa" not in runs


def test_a_viewing_copy_has_its_sound_in_step(begin):
    # Lossy coding smears a click, but its place is known within a few samples.
    clicks = np.zeros((2, 48000), np.float32)
    clicks[:, 24000:24010] = 0.9
    with begin("h264") as master:
        for number in range(25):
            master.write(np.zeros((3, 24, 32), np.float32))
            master.write_sound(clicks[:, number * 1920 : (number + 1) * 1920])
        master.finish()
    with open_sound(master.path, 48000) as source:
        block = np.abs(source.block(0, 48000)[0])
    assert abs(int(block.argmax()) - 24005) < 40


def test_a_master_without_sound_has_no_sound_stream(written):
    with av.open(str(written("ffv1", 2).path)) as container:
        assert not container.streams.audio


def test_sound_that_cannot_be_used_is_refused(tmp_path, written, wave):
    with pytest.raises(BadInput, match="no sound file"):
        open_sound(tmp_path / "none.wav", 48000)
    with pytest.raises(BadInput, match="has no sound"):
        open_sound(written("ffv1", 1).path, 48000)
    (tmp_path / "text.wav").write_text("no sound at all")
    with pytest.raises(BadInput, match="cannot be read as sound"):
        open_sound(tmp_path / "text.wav", 48000)


def test_samples_are_rounded_to_the_nearest_and_held_at_full_scale():
    level = np.array([[0, 0.4, 0.6, -0.6, 1 << 23, -(1 << 24), np.nan]]) / (1 << 23)
    meant = [0, 0, 1, -1, (1 << 23) - 1, -(1 << 23), -(1 << 23)]
    assert list(integers(level.astype(np.float32), 24).ravel() >> 8) == meant
    assert list(integers(np.array([[0.6, -2e5]], np.float32) / (1 << 15), 16).ravel()) == [1, -(1 << 15)]


def test_sound_that_begins_too_late_is_a_fault_of_the_caller(begin):
    master = begin()
    for _ in range(2):
        master.write(np.zeros((3, 24, 32), np.float32))
    with pytest.raises(ValueError, match="first picture"):
        master.write_sound(np.zeros((2, 1920), np.float32))


def test_a_number_of_channels_that_is_not_delivered_is_refused(begin, tmp_path):
    with begin() as master:
        master.write(np.zeros((3, 24, 32), np.float32))
        with pytest.raises(BadInput, match="5 channels"):
            master.write_sound(np.zeros((5, 1920), np.float32))
    assert not list(tmp_path.iterdir())
