"""The sound of masters as files: what is missing, dead, clipped, silent, inverted or too long."""

from fractions import Fraction
from types import SimpleNamespace

import av
import numpy as np
import pytest
import soundfile

from lamphouse.graph.check.hearing.hearing import hearing
from lamphouse.graph.check.settings import settings_of
from lamphouse.graph.check.subject import subject_of
from lamphouse.nodes.errors import Stopped

RATE, SECONDS, PICTURES = 8000, 4, 25
SEEN = ("master", "settings", "record", "rate", "frames", "names")  # of a subject
NOISE = np.random.default_rng(5).uniform(-0.1, 0.1, (6, RATE * SECONDS)).astype(np.float32)


def movie(path, *tracks, codec="pcm_s24le", layout=None, pictures=PICTURES * SECONDS, rate=RATE, late=0):
    """Write a movie with a track for each of (channels, n)."""
    layouts = {1: "mono", 2: "stereo", 6: "5.1"}
    with av.open(str(path), "w") as container:
        video = container.add_stream("ffv1", rate=PICTURES)
        video.width, video.height, video.pix_fmt = 16, 16, "yuv422p10le"
        streams = []
        for track in tracks:
            stream = container.add_stream(codec, rate=rate)
            stream.codec_context.layout = layout or layouts[len(track)]
            streams.append(stream)
        for _ in range(pictures):
            frame = av.VideoFrame.from_ndarray(np.zeros((16, 16), np.uint8), "gray")
            container.mux(video.encode(frame.reformat(format="yuv422p10le")))
        container.mux(video.encode(None))
        for stream, track in zip(streams, tracks, strict=True):
            _sound(container, stream, track, rate, late)
    return path


def _sound(container, stream, track, rate, late):
    packed = np.ascontiguousarray(track.T).reshape(1, -1)
    frame = av.AudioFrame.from_ndarray(packed, format="flt", layout=stream.codec_context.layout.name)
    frame.sample_rate, frame.pts, frame.time_base = rate, late * rate, Fraction(1, rate)
    form = stream.codec_context.format.name
    resampler = av.AudioResampler(
        form, stream.codec_context.layout, rate, stream.codec_context.frame_size or None
    )
    for part in [*resampler.resample(frame), *resampler.resample(None)]:
        container.mux(stream.encode(part))
    container.mux(stream.encode(None))


def told(master, *settings):
    """Return what is found in a master, by kind, and what is said."""
    found = hearing(subject_of(master, settings_of(settings)))
    return {finding.kind: finding for finding in [*found.faults, *found.others]}, " ".join(found.said)


def test_good_sound_has_its_numbers_told(tmp_path):
    found, said = told(movie(tmp_path / "a 'b'.mkv", NOISE[:2]))
    assert set(found) == {"loudness"}
    assert found["loudness"].weight == "caution"
    assert found["loudness"].rule == "EBU R 128"
    assert "track 1 (stereo, 8000 Hz)" in said
    assert "dBTP (ITU-R BS.1770, EBU R 128)" in said


@pytest.mark.parametrize("codec", ["pcm_s16le", "pcm_s24le", "pcm_s32le", "pcm_f32le", "flac", "aac"])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_every_coding_and_layout_is_heard_to_its_end(tmp_path, codec, channels):
    rate, second = (48000, np.repeat(NOISE, 6, 1)[:, :48000]) if codec == "aac" else (RATE, NOISE[:, :RATE])
    found, said = told(movie(tmp_path / "a.mkv", second[:channels], codec=codec, pictures=25, rate=rate))
    assert set(found) <= {"loudness"}
    assert "LUFS, a range of" in said


def test_hearing_stops_when_it_is_asked_to(tmp_path):
    subject = subject_of(movie(tmp_path / "a.mkv", NOISE[:2]), settings_of(()))
    with pytest.raises(Stopped, match="was heard"):
        hearing(subject, lambda: True)


def test_a_master_without_sound_is_a_note(tmp_path):
    found, _ = told(movie(tmp_path / "a.mkv"))
    assert found["no sound"].weight == "note"


def test_tracks_of_one_channel_are_heard_together(tmp_path):
    left, right = NOISE[:1], NOISE[1:2]
    _, alone = told(movie(tmp_path / "a.mkv", left, right, left))
    assert "track 3 (mono, 8000 Hz, measured as one channel)" in alone
    found, said = told(movie(tmp_path / "b.mkv", left, -left))
    assert "tracks 1 and 2 (stereo, 8000 Hz)" in said
    assert "inverted to each other (correlation -1.00)" in found["phase"].sentence
    assert found["phase"].weight == "fault"


def test_a_passage_that_is_against_itself_is_told_with_its_place(tmp_path):
    sound = np.tile(NOISE[:1], (2, 1))
    sound[1, RATE : RATE * 7 // 2] *= -1
    finding = told(movie(tmp_path / "a.mkv", sound))[0]["phase"]
    assert (finding.frame, finding.stop, finding.weight) == (25, 88, "caution")


def test_a_dead_channel_and_a_silent_track_are_faults(tmp_path):
    dead = NOISE[:2].copy()
    dead[1] = 0
    found, _ = told(movie(tmp_path / "a.mkv", dead))
    assert "(front right), where others sound" in found["dead channel"].sentence
    found, said = told(movie(tmp_path / "b.mkv", 0 * dead))
    assert found["silent"].weight == "fault"
    assert "it is silent" in said


def test_the_low_frequency_channel_may_be_dead_and_no_other_may(tmp_path):
    sound = NOISE.copy()
    sound[3] = 0
    assert "dead channel" not in told(movie(tmp_path / "a.mkv", sound))[0]
    sound[4] = 0
    assert told(movie(tmp_path / "b.mkv", sound))[0]["dead channel"].weight == "caution"


def test_sound_that_begins_late_is_told_and_its_places_are_those_of_the_pictures(tmp_path):
    sound = NOISE[:2].copy()
    sound[0, RATE : RATE + 3] = 1
    found, _ = told(movie(tmp_path / "a.mkv", sound, codec="pcm_f32le", late=1))
    assert found["clipped sound"].frame == 50
    assert "begins 1.000 s after" in found["sound length"].sentence


def test_silence_inside_is_told_and_silence_around_is_not(tmp_path):
    inside, around = NOISE[:2].copy(), NOISE[:2].copy()
    inside[:, RATE : 3 * RATE] = 0
    around[:, : 2 * RATE] = 0
    finding = told(movie(tmp_path / "a.mkv", inside), "sound.seconds=1.5")[0]["silence"]
    assert (finding.frame, finding.stop) == (25, 75)
    assert "silence" not in told(movie(tmp_path / "a.mkv", inside), "sound.seconds=2.5")[0]
    assert "silence" not in told(movie(tmp_path / "b.mkv", around), "sound.seconds=1.5")[0]


@pytest.mark.parametrize(
    ("codec", "top"), [("pcm_s16le", 1 - 2**-15), ("pcm_s24le", 1 - 2**-23), ("pcm_f32le", 1.5)]
)
def test_three_samples_at_full_scale_are_clipped_and_two_are_not(tmp_path, codec, top):
    sound = NOISE[:2].copy()
    sound[0, 2 * RATE : 2 * RATE + 3] = top
    finding = told(movie(tmp_path / "a.mkv", sound, codec=codec))[0]["clipped sound"]
    assert (finding.frame, finding.stop) == (50, 51)
    sound[0, 2 * RATE + 2] = 0
    assert "clipped sound" not in told(movie(tmp_path / "b.mkv", sound, codec=codec))[0]


def test_a_true_peak_above_the_target_is_a_fault_and_the_target_is_a_setting(tmp_path):
    sound = NOISE[:2].copy()
    sound[:, RATE : RATE + 80] = 0.85 * np.sin(np.arange(80) * np.pi / 8)  # -1.4 dBTP
    master = movie(tmp_path / "a.mkv", sound)
    assert "true peak" not in told(master)[0]
    finding = told(master, "sound.target=A85")[0]["true peak"]
    assert (finding.weight, finding.rule) == ("fault", "ATSC A/85")
    assert 23 <= finding.frame <= 27


@pytest.mark.parametrize(("pictures", "words"), [(100, None), (90, "0.400 s after"), (110, "0.400 s before")])
def test_sound_that_is_longer_or_shorter_than_the_pictures_is_told(tmp_path, pictures, words):
    finding = told(movie(tmp_path / "a.mkv", NOISE[:2], pictures=pictures))[0].get("sound length")
    assert (finding is None) if words is None else (words in finding.sentence)


def test_line_up_tone_is_not_heard_where_the_record_tells_what_is_film(tmp_path):
    sound = NOISE[:2].copy()
    sound[:, : 2 * RATE] = np.sin(np.arange(2 * RATE) / 8)  # bars, of full scale
    sound[:, 3 * RATE :] = 0  # black
    subject = subject_of(movie(tmp_path / "a.mkv", sound), settings_of(["sound.seconds=0.5"]))
    assert {finding.kind for finding in hearing(subject).faults} == {"true peak"}
    film = SimpleNamespace(film=range(50, 75))
    known = SimpleNamespace(**{name: getattr(subject, name) for name in SEEN}, span=film)
    assert hearing(known).faults == []
    assert not [other for other in hearing(known).others if other.kind != "loudness"]


@pytest.mark.parametrize(
    ("channels", "words"), [(3, "all weigh the same"), (8, "(7.1, "), (16, "all weigh the same")]
)
def test_sound_beside_stills_is_heard_whatever_the_number_of_its_channels(tmp_path, channels, words):
    folder = tmp_path / "stills"
    folder.mkdir()
    soundfile.write(folder / "a.wav", np.tile(NOISE[:1, :RATE].T, (1, channels)), RATE, "PCM_24")
    (folder / "a.0000.tif").touch()
    assert words in told(folder)[1]


def test_samples_that_are_no_numbers_are_no_sound(tmp_path):
    sound = NOISE[:2].copy()
    sound[0, 100], sound[1, 200] = np.nan, np.inf
    finding = told(movie(tmp_path / "a.mkv", sound, codec="pcm_f32le"))[0]["true peak"]
    assert finding.sentence.startswith("Frame 0 and those up to frame 2 have a true peak of +")


def test_a_track_without_a_sample_is_silent(tmp_path):
    assert "silent" in told(movie(tmp_path / "a.mkv", 0 * NOISE[:2, :1]))[0]


def test_bytes_that_are_broken_are_a_sentence(tmp_path):
    path = movie(tmp_path / "a.mkv", NOISE[:2], codec="flac")
    data = bytearray(path.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 3000] = bytes(3000)
    path.write_bytes(data)
    found, _ = told(path)
    assert all(finding.sentence.endswith(".") for finding in found.values())
    assert {"broken sound", "sound length", "sound unreadable"} & set(found)
