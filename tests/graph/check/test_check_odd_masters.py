"""Masters made elsewhere, of every odd kind that ffmpeg writes: told of in sentences, never a traceback."""

import json
import subprocess
import wave
from pathlib import Path

import numpy as np
import pytest
import skimage.io
from typer.testing import CliRunner

from lamphouse.graph.check.several import told_apart
from lamphouse.graph.commands.cli import _app
from lamphouse.nodes.errors import BadInput, CheckFailed

# What ffmpeg is told: name of the file, then what is to be written. Rates and rasters that trouble others.
ODD = {
    "prores.mov": "-c:v prores_ks -pix_fmt yuv422p10le -timecode 10:00:00:00",
    "mpeg2.mpg": "-c:v mpeg2video -pix_fmt yuv420p -flags +ilme+ildct -r 30000/1001",
    "h264.mp4": "-c:v libx264 -bf 2 -pix_fmt yuv420p -r 24000/1001",
    "dnxhr.mxf": "-c:v dnxhd -profile:v dnxhr_hq -pix_fmt yuv422p -s 256x128",
    "eight.mkv": "-c:v ffv1 -pix_fmt yuv422p -vf setsar=16/15,setfield=tff",
    "rgb.mkv": "-c:v ffv1 -pix_fmt gbrp16le -color_range pc",
    "grey.mkv": "-c:v ffv1 -pix_fmt gray10le",
    "alpha.mov": "-c:v qtrle -pix_fmt argb",
    "palette.mov": "-c:v qtrle -pix_fmt gray -r 18",
    "drop.mov": "-c:v mpeg4 -r 30000/1001 -timecode 01:00:00;02",
    "float.mkv": "-c:v ffv1 -pix_fmt yuv411p",
    "strange.avi": "-c:v mjpeg -pix_fmt yuvj420p -s 66x50",
    "tagged wrongly.mkv": "-c:v ffv1 -pix_fmt yuv420p -color_primaries bt2020 -colorspace bt709",
    "with 'sound'.mkv": "-f lavfi -i sine=r=44100:d=1 -c:v ffv1 -c:a pcm_s16le -map 0 -map 1",
}


@pytest.fixture(scope="module")
def odd(tmp_path_factory):
    """A function that gives one of them by its name: eight frames of ffmpeg's own test picture."""
    folder = tmp_path_factory.mktemp("odd masters")

    def made(name):
        if not (folder / name).exists():
            source = ["-f", "lavfi", "-i", "testsrc2=s=64x48:r=25:d=0.32"]
            command = ["ffmpeg", "-v", "error", *source, *ODD[name].split(), folder / name]
            subprocess.run(command, check=True)
        return folder / name

    return made


def check(*typed):
    return CliRunner().invoke(_app(), ["check", *map(str, typed)])


@pytest.mark.slow  # each is written by a program of its own
@pytest.mark.parametrize("name", ODD)
def test_any_master_ends_in_sentences(odd, name):
    result = check(odd(name))
    assert result.exception is None or isinstance(result.exception, BadInput | CheckFailed), result.exception
    for line in result.stdout.splitlines():
        assert line.endswith((".", "due: some are missing or extra.")), line
        assert line[0].isupper() or line.startswith((name, "dnxhr", "h264", "prores")), line
    assert f"{name}: " in result.stdout


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (
            "tagged wrongly.mkv",
            "The matrix is that of bt709 and the primaries are bt2020, which do not go together.",
        ),
        ("grey.mkv", "The file does not state its primaries and transfer"),
        (
            "with 'sound'.mkv",
            "The sound of track 1 ends 0.680 s after the pictures; see whether that is meant.",
        ),
        ("prores.mov", "Timecode begins at 10:00:00:00 and runs with the frames."),
        ("rgb.mkv", "The file states no timecode."),
    ],
)
def test_what_is_odd_about_them_is_said(odd, name, words):
    assert words in check(odd(name)).stdout


def test_a_folder_is_checked_master_by_master_with_a_line_for_each(odd, tmp_path):
    folder = tmp_path / "several"
    folder.mkdir()
    for name in ("grey.mkv", "rgb.mkv"):
        (folder / name).symlink_to(odd(name))
    (folder / "torn.mkv").write_bytes(b"no movie")
    (folder / "notes.txt").write_text("not a master")
    result = check(folder, "--only", "tags")
    assert isinstance(result.exception, CheckFailed)
    assert "torn.mkv: 1 fault." in result.stdout.splitlines()
    lines = [line for line in result.stdout.splitlines() if line.startswith(("grey.mkv: ", "rgb.mkv: "))]
    assert len(lines) == 2


def test_a_folder_without_masters_is_refused(tmp_path):
    assert "holds no masters" in str(check(tmp_path).exception)


def test_stills_of_what_was_found_lie_where_they_are_asked_for(odd, tmp_path):
    result = check(odd("rgb.mkv"), "--pictures", tmp_path / "new" / "pictures", "--set", "levels.high=60")
    assert isinstance(result.exception, CheckFailed)
    (still, *_) = (tmp_path / "new" / "pictures").iterdir()
    assert still.name.startswith("rgb.mkv-00000")
    assert still.read_bytes()[:2] == b"\xff\xd8"  # JPEG, ISO/IEC 10918-1: start of image


def test_masters_of_one_name_have_their_stills_apart_and_are_told_by_their_folders(odd, tmp_path):
    """In each the first frame is beyond the limit, so that both want a still of the same name."""
    masters = [tmp_path / "in" / folder / "one.mkv" for folder in ("spring", "autumn")]
    for master, name in zip(masters, ("rgb.mkv", "grey.mkv"), strict=True):
        master.parent.mkdir(parents=True)
        master.symlink_to(odd(name))
    out = tmp_path / "out"
    result = check(*masters, "--only", "levels", "--set", "levels.high=60", "--pictures", out, "--json")
    for folder, master in zip(("spring", "autumn"), json.loads(result.stdout)["masters"], strict=True):
        stills = [fault["picture"] for fault in master["faults"]]
        assert stills[0].startswith(f"{folder}/one.mkv-00000")
        assert all((out / still).is_file() for still in stills)
    assert "spring/one.mkv, autumn/one.mkv" in str(result.exception)
    few, many = (skimage.io.imread(next((out / one).iterdir())) for one in ("autumn", "spring"))
    assert (
        np.ptp(few.astype(int), axis=-1).max() < 8 < np.ptp(many.astype(int), axis=-1).max()
    )  # grey, coloured


@pytest.mark.parametrize(
    ("typed", "called"),
    [
        (["a/one.mkv", "a/two.mkv"], ["one.mkv", "two.mkv"]),
        (["a/x/one.mkv", "b/x/one.mkv"], ["a/x/one.mkv", "b/x/one.mkv"]),
        (["one.mkv", "a/../a/one.mkv", "a/one.mkv"], ["here/one.mkv", "a/one.mkv", "a/one.mkv"]),
        (["/one.mkv", "/a/one.mkv"], ["one.mkv", "a/one.mkv"]),
    ],
)
def test_masters_are_called_by_as_many_folders_as_tell_them_apart(typed, called, tmp_path, monkeypatch):
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    assert [str(name) for name in told_apart(map(Path, typed)).values()] == called


@pytest.mark.parametrize("depth", ["uint16", "uint8"])
def test_stills_from_elsewhere_are_a_master(tmp_path, depth):
    import OpenImageIO as oiio

    folder = tmp_path / "stills"
    folder.mkdir()
    for number in range(3):
        picture = np.random.default_rng(number).uniform(0.2, 0.8, (24, 32, 3)).astype(np.float32)
        out = oiio.ImageOutput.create(str(folder / f"x.{number:06}.tif"))
        out.open(str(folder / f"x.{number:06}.tif"), oiio.ImageSpec(32, 24, 3, depth))
        out.write_image(picture)
        out.close()
    with wave.open(str(folder / "x.wav"), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(48000)
        sound.writeframes(np.random.default_rng(9).integers(-3000, 3000, 5760).astype("<i2").tobytes())
    result = check(folder)
    assert result.exception is None, result.stdout
    assert "The stills carry no timecode." in result.stdout
    assert "stills: nothing found." in result.stdout
    assert Path(folder, "x.wav").exists()
