"""The command `sound`, and what `new` says of sound. All invented; the movie is FFmpeg's."""

import json
import subprocess

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.media.master.delivery import as_asked, asked_of, delivery
from lamphouse.graph.reel.store import load
from lamphouse.nodes.errors import BadInput

RATE = 48000


@pytest.fixture(scope="module")
def movie(tmp_path_factory):
    """Two seconds of film at 25 frames a second, with sound of its own: a pip of a frame at 1 s."""
    folder = tmp_path_factory.mktemp("own")
    samples = np.zeros(2 * RATE)
    samples[RATE : RATE + 1920] = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(1920) / RATE)
    soundfile.write(folder / "pip.wav", samples, RATE)
    made = ["-f", "lavfi", "-i", "color=gray:s=32x24:r=25:d=2", "-i", folder / "pip.wav"]
    coded = ["-c:v", "ffv1", "-c:a", "pcm_s16le", folder / "film.mkv"]
    subprocess.run(["ffmpeg", "-v", "error", *made, *coded], check=True)
    return folder / "film.mkv"


def test_a_movies_own_sound_belongs_to_its_frames_at_any_rate_of_the_reel(typed, movie, tmp_path):
    status, answer, _ = typed("new", "a.reel", "--scan", movie, "--rate", "24")
    assert status == 0
    assert "recorded at 25 film frames a second and the film runs at 24, so it runs 4 % slower" in answer
    assert "The sound lasts" not in answer  # it is as long as the picture
    assert load(tmp_path / "a.reel").sound.rate == "25"
    told = json.loads(typed("sound", "a.reel", "--json")[1])
    assert (told["recorded"], told["runs"]) == ("25", "24")
    assert told["ends_seconds"] == pytest.approx(told["picture_seconds"], abs=0.01)
    assert told["pip"]["frame"] == 25  # at 1 s of the sound, beside frame 25 whatever the film runs at


def test_a_pip_is_told_and_put_at_a_frame(typed, movie, tmp_path):
    typed("new", "a.reel", "--scan", movie)
    status, answer, _ = typed("sound", "a.reel", "--pip-at", "30")
    assert status == 0
    assert "frame 30 (10:00:01:05)" in answer
    told = json.loads(typed("sound", "a.reel", "--json")[1])["pip"]
    assert (told["frame"], told["milliseconds_into_it"]) == (30, 0)
    assert abs(told["sample"] - RATE) <= RATE / 1000
    sound = load(tmp_path / "a.reel").sound
    assert sound.starts_at == 5
    assert sound.rate == "25"


def test_offsets_and_the_rate_are_set_by_new_and_by_sound(typed, movie, tmp_path):
    wave = movie.with_name("pip.wav")
    words = (
        "--scan",
        movie,
        "--sound",
        wave,
        "--gauge",
        "16mm",
        "--sound-rate",
        "24",
        "--sound-offset",
        "-26f",
    )
    assert typed("new", "a.reel", *words)[0] == 0
    sound = load(tmp_path / "a.reel").sound
    assert (sound.starts_at, sound.offset, sound.rate) == (-26, "0", "24")
    status, answer, _ = typed("sound", "a.reel", "--offset", "300 samples", "--rate", "25")
    assert status == 0
    assert "6.25 ms after frame 0" in answer
    assert "0:00:02.000, and ends 0:00:00.006 after the picture, which lasts 0:00:02.000" in answer
    sound = load(tmp_path / "a.reel").sound
    assert (sound.starts_at, sound.offset, sound.rate) == (0, "1/160", "25")
    typed("sound", "a.reel", "--offset", "optical")
    assert load(tmp_path / "a.reel").sound.starts_at == 26


def test_a_pitch_is_asked_for_where_a_delivery_has_sound():
    asked = as_asked(delivery("hd-ffv1", {}), "delivery hd-ffv1", {"pitch": "kept"})
    assert asked.sound.pitch == "kept"
    assert asked_of(asked).endswith("Hz, its pitch kept")
    with pytest.raises(BadInput, match="high is no pitch; give follows or kept"):
        as_asked(asked, "delivery hd-ffv1", {"pitch": "high"})
    with pytest.raises(BadInput, match="delivery mute has no sound"):
        as_asked(msgspec.structs.replace(asked, sound=None), "delivery mute", {"pitch": "kept"})


def test_what_cannot_be_is_one_sentence_and_changes_nothing(typed, movie, tmp_path):
    typed("new", "a.reel", "--scan", movie)
    soundfile.write(tmp_path / "hum.wav", np.full(RATE, 0.1), RATE)
    typed("new", "hum.reel", "--scan", movie, "--sound", "hum.wav")
    before = (tmp_path / "a.reel").read_bytes()
    for words, said in [
        (("sound", "a.reel", "--offset", "26"), "is not an offset of sound"),
        (("sound", "a.reel", "--rate", "fast"), "is not a frame rate"),
        (("sound", "a.reel", "--pip-at", "500"), "lies outside the reel"),
        (("sound", "a.reel", "--pip-at", "5", "--offset", "5f"), "give one of the two"),
        (("sound", "hum.reel", "--pip-at", "5"), "No sync pip was found"),
    ]:
        status, _, sentence = typed(*words)
        assert (status, sentence.count("\n")) == (2, 1)
        assert said in sentence
    assert (tmp_path / "a.reel").read_bytes() == before
