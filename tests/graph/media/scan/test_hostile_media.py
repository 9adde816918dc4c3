"""Media whose headers say what cannot be. Made from whole ones by changing their bytes; all invented."""

from fractions import Fraction

import av
import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.sound.read import open_anywhere, open_sound
from lamphouse.graph.reel.limits import FRAMES
from lamphouse.nodes.errors import BadInput


def _still(path):
    spec = oiio.ImageSpec(16, 8, 3, oiio.HALF)
    spec.attribute("owner", "Gruen")
    file = oiio.ImageOutput.create(str(path))
    assert file.open(str(path), spec)
    assert file.write_image(np.zeros((8, 16, 3), np.float32))
    file.close()
    return path


def _changed(path, old, new):
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new))
    return path


def test_words_in_a_header_that_are_not_utf_8_do_not_matter_where_none_asks_for_them(tmp_path):
    path = _changed(_still(tmp_path / "a.0001.exr"), b"Gruen", b"Gr\xfcne")
    with open_scan(path) as scan:
        assert scan.read(0).shape == (3, 8, 16)


@pytest.mark.parametrize("name", [b"channels\0chlist", b"compression\0compression"])
def test_a_header_that_is_refused_in_words_that_are_not_utf_8_is_a_sentence(tmp_path, name):
    path = _changed(_still(tmp_path / "a.0001.exr"), name, name[:-1] + b"\xff")
    with (
        pytest.raises(BadInput, match="is damaged, or holds names that are not UTF-8"),
        open_scan(path) as scan,
    ):
        scan.read(0)


def test_numbers_more_than_a_day_apart_are_no_sequence(tmp_path):
    for number in (1, FRAMES + 1):
        _still(tmp_path / f"a.{number}.exr")
    with pytest.raises(BadInput, match="a day of film; take away the one that does not belong"):
        open_scan(tmp_path)


def test_a_movie_that_states_pixels_of_no_shape_is_square_with_a_note(tmp_path):
    with av.open(str(tmp_path / "a.mov"), "w") as container:
        stream = container.add_stream("libx264", rate=25)
        stream.width, stream.height, stream.pix_fmt = 48, 32, "yuv420p"
        stream.codec_context.sample_aspect_ratio = Fraction(9)
        frame = av.VideoFrame(48, 32, "yuv420p")
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    with open_scan(tmp_path / "a.mov") as scan:
        assert scan.pixel_aspect == 1
        assert any("pixels 9 times as wide" in note and "square" in note for note in scan.notes)


def _sound(path):
    soundfile.write(path, np.zeros((4800, 2)), 48000, subtype="PCM_16")
    return path


@pytest.mark.parametrize("rate", [1, 2**31 - 1])
@pytest.mark.parametrize("read", [lambda path: open_sound(path, 48000), open_anywhere], ids=["pass", "desk"])
def test_a_rate_that_no_sound_has_is_a_sentence(tmp_path, read, rate):
    path = _changed(_sound(tmp_path / "a.wav"), (48000).to_bytes(4, "little"), rate.to_bytes(4, "little"))
    with pytest.raises(BadInput, match=f"{rate} samples a second; from 1000 to 768000"):
        read(path)


def test_a_sound_stream_of_no_known_coding_is_a_sentence(tmp_path):
    with av.open(str(tmp_path / "a.mkv"), "w") as container:
        stream = container.add_stream("mp2", rate=48000)
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 2304), np.int16), format="s16", layout="stereo")
        frame.sample_rate, frame.pts = 48000, 0
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    path = _changed(tmp_path / "a.mkv", b"A_MPEG/L2", b"A_NOTHING")
    for read in (lambda: open_sound(path, 48000), lambda: open_anywhere(path)):
        with pytest.raises(BadInput, match="has no sound that can be decoded"):
            read()


def test_a_file_that_cannot_be_read_on_is_damaged_from_there(tmp_path, numbered_movie, monkeypatch):
    from lamphouse.graph.media.scan import decoding

    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=6)
    with open_scan(path) as scan:
        scan.read(5)
    read = decoding.number_packets

    def failing(container, stream):
        for ordinal, packet in read(container, stream):
            if ordinal == 3:
                raise av.error.MemoryError(12, "Cannot allocate memory", str(path))
            yield ordinal, packet

    monkeypatch.setattr(decoding, "number_packets", failing)
    with open_scan(path) as scan:
        assert scan.read(2).shape == (3, 96, 160)
        with pytest.raises(BadInput, match=r"Frame 5 of .* is damaged"):
            scan.read(5)


def test_a_decoder_that_does_not_open_is_a_sentence(tmp_path, numbered_movie):
    path = numbered_movie(tmp_path / "a.mkv", "ffv1", count=6, options={"level": "3", "g": "1"})
    with av.open(str(path)) as container:
        extradata = bytes(container.streams.video[0].codec_context.extradata)
    _changed(path, extradata, bytes(byte ^ 0xFF for byte in extradata))
    with pytest.raises(BadInput, match=r"No picture of .* can be decoded"):
        open_scan(path)
