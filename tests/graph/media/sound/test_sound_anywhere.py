"""Sound for a listener who jumps about: each place is sought, and is what a master has there."""

from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.media.sound import readers
from lamphouse.graph.media.sound.read import Places, open_anywhere, open_sound, sample_at
from lamphouse.nodes.errors import BadInput

RATE, SECONDS = 48000, 30


@pytest.fixture(scope="module")
def movie(tmp_path_factory):
    """A function that makes a movie with half a minute of noise as its own sound."""
    noise = np.random.default_rng(5).integers(-9000, 9000, (1, RATE * SECONDS)).astype(np.int16)

    def made(name):
        path = tmp_path_factory.mktemp("anywhere") / name
        with av.open(str(path), "w") as container:
            video = container.add_stream("mpeg4", rate=25)
            video.width, video.height, video.pix_fmt, video.gop_size = 32, 24, "yuv420p", 25
            audio = container.add_stream("pcm_s16le", rate=RATE)
            audio.codec_context.layout = "mono"
            for number in range(25 * SECONDS):
                frame = av.VideoFrame(32, 24, "yuv420p")
                frame.pts, frame.time_base = number, Fraction(1, 25)
                container.mux(video.encode(frame))
                beside = av.AudioFrame.from_ndarray(noise[:, number * 1920 :][:, :1920], "s16", "mono")
                beside.sample_rate, beside.pts, beside.time_base = RATE, number * 1920, Fraction(1, RATE)
                container.mux(audio.encode(beside))
            for stream in (video, audio):
                container.mux(stream.encode(None))
        return path

    return made


# Matroska counts in milliseconds here (RFC 9559: TimestampScale), QuickTime in samples.
@pytest.mark.parametrize(("name", "off"), [("own.mkv", 24), ("own.mov", 0)])
def test_a_far_place_is_sought_and_what_is_there_is_heard(movie, name, off, monkeypatch):
    path, chunks = movie(name), []
    with open_sound(path, RATE) as whole:
        known = whole.block(-100, RATE * SECONDS + 100)[0]
    plain = readers.decoded
    monkeypatch.setattr(readers, "decoded", lambda *a: (chunks.append(c) or c for c in plain(*a)))
    with open_anywhere(path) as source:
        assert source.rate == RATE
        for second in (24, 3, 2, 27.5, 0, 12):
            start = int(second * RATE)
            found = source.block(start, start + 4000)[0]
            shifts = [np.abs(known[start + 100 + n :][:4000] - found).max() for n in range(-off, off + 1)]
            assert min(shifts) == 0
        assert not source.block(RATE * 40, RATE * 40 + 10).any()
        assert not source.block(-20, -10).any()
    # Six places of at most some two seconds each; decoded up to, they would be over a minute.
    assert sum(chunk.samples.shape[1] for chunk in chunks) < 20 * RATE


def test_places_are_frames_of_the_scan_and_begin_with_the_frame_that_the_sound_starts_at():
    places = Places(12, Fraction(30000, 1001), RATE)
    assert [places.at(n) for n in (12, 17, 11)] == [0, 8008, -1602]
    assert places.at(107_904) == sample_at(107_892, Fraction(30000, 1001), RATE) == 172_799_827


def test_what_has_no_sound_is_refused(tmp_path):
    path = tmp_path / "text.mov"
    path.write_text("no movie")
    with pytest.raises(BadInput, match="cannot be read as sound"):
        open_anywhere(path)
