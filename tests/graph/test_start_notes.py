"""What `new` has to say of a scan, its sound and a stock. Files by FFmpeg and libsndfile; wording our own."""

import os
import shutil
import subprocess
from fractions import Fraction

import av
import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.edits.counters import with_start
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.presets import preset_names, stock_preset
from lamphouse.nodes.errors import BadInput


@pytest.fixture
def film(tmp_path):
    """A function that writes a second of grey film, 25 frames, with these tags on its frames."""

    def write(name="film.mkv", **tags):
        path = tmp_path / name
        with av.open(str(path), "w") as container:
            stream = container.add_stream("ffv1", rate=Fraction(25))
            stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv422p10le"
            for tag, value in tags.items():
                setattr(stream.codec_context, tag, value)
            for number in range(25):
                grey = np.full((48, 64), 90 + number, np.uint8)
                frame = av.VideoFrame.from_ndarray(grey, "gray").reformat(format="yuv422p10le")
                frame.pts, frame.time_base = number, Fraction(1, 25)
                for tag, value in tags.items():
                    setattr(frame, tag, value)
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        return path

    return write


@pytest.fixture
def noise(tmp_path):
    """A function that writes noise of some seconds as a sound file."""

    def write(name="sound.wav", seconds=1.0, channels=2):
        samples = np.random.default_rng(2).uniform(-0.5, 0.5, (round(48000 * seconds), channels))
        soundfile.write(tmp_path / name, samples, 48000, subtype="PCM_16")
        return tmp_path / name

    return write


def said(tmp_path, **start):
    return " ".join(start_reel(tmp_path / "a.reel", Start(**start)).notes)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.5, "The sound lasts 0:00:00.500 and the picture 0:00:01.000; the rest is silent."),
        (1.5, "The sound lasts 0:00:01.500 and the picture 0:00:01.000; the rest is left out."),
        (1.02, None),  # less than a frame
    ],
)
def test_sound_of_another_length_is_said(tmp_path, film, noise, seconds, words):
    notes = said(tmp_path, scan=film(), sound=noise(seconds=seconds))
    assert words in notes if words else "The sound lasts" not in notes


@pytest.mark.parametrize(
    ("given", "words"),
    [
        # 1 s at 25 frames a second is as long as 25 frames at 20 are.
        ({"rate": "20", "sound_rate": "25"}, "runs 20 % slower; its pitch follows"),
        (
            {"sound_offset": "5f"},
            "The sound begins 0:00:00.200 after the picture, which is silent until then.",
        ),
        ({"sound_offset": "5f"}, "The sound ends 0:00:00.200 after the picture; the rest is left out."),
        ({"sound_offset": "-5f"}, "The sound begins 0:00:00.200 before the picture; that part is left out."),
        ({"sound_offset": "-5f"}, "The sound ends 0:00:00.200 before the picture; the rest is silent."),
    ],
)
def test_the_speed_and_the_place_of_the_sound_are_said(tmp_path, film, noise, given, words):
    notes = said(tmp_path, scan=film(), sound=noise(), **given)
    assert words in notes
    assert "The sound lasts" not in notes


def test_sound_is_as_long_beside_the_picture_as_it_is_at_the_true_speed(tmp_path, film, noise):
    notes = said(tmp_path, scan=film(), sound=noise(), rate="20")
    assert "The sound lasts 0:00:01.000 and the picture 0:00:01.250; the rest is silent." in notes
    notes = said(tmp_path, scan=film(), sound=noise(), rate="20", sound_rate="50")
    assert "The sound lasts 0:00:02.500 and the picture 0:00:01.250; the rest is left out." in notes


@pytest.mark.parametrize("name", ["sound.wav", "sound.flac"])
def test_a_sound_file_that_was_cut_off_is_said(tmp_path, film, noise, name):
    whole = noise(name, seconds=2)
    assert "shorter than its header" not in said(tmp_path, scan=film(), sound=whole)
    whole.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert "shorter than its header says; it may be cut off" in said(tmp_path, scan=film(), sound=whole)


@pytest.mark.parametrize(
    ("channels", "words"),
    [
        (1, None),
        (2, None),
        (4, "Sound of 4 channels cannot be delivered"),
        (6, "The 6 channels of the sound are delivered in their order, as 5.1."),
    ],
)
def test_how_channels_are_taken_is_said(tmp_path, film, noise, channels, words):
    notes = said(tmp_path, scan=film(), sound=noise(channels=channels))
    assert words in notes if words else "channels" not in notes


def muxed(tmp_path, *arguments):
    if not shutil.which("ffmpeg") and not os.environ.get("CI"):
        pytest.skip("ffmpeg is not installed")
    path = tmp_path / "both.mkv"
    subprocess.run(["ffmpeg", "-v", "error", "-y", *map(str, arguments), path], check=True)
    return path


def test_a_second_sound_stream_is_said(tmp_path, film, noise):
    sound = ("-i", noise())
    both = muxed(tmp_path, "-i", film(), *sound, *sound, "-map", "0", "-map", "1", "-map", "2", "-c", "copy")
    assert "The file holds 2 sound streams; only the first is taken." in said(tmp_path, scan=both)
    assert "The sound lasts" not in said(tmp_path, scan=both)


def test_a_scan_with_sound_that_is_cut_off_is_said(tmp_path, film, noise):
    both = muxed(tmp_path, "-i", film(), "-i", noise(), "-c", "copy")
    assert "cut off" not in said(tmp_path, scan=both)
    both.write_bytes(both.read_bytes()[: both.stat().st_size * 2 // 3])
    with open_scan(both) as scan:
        assert scan.frames < 20
        assert f"The file speaks of 24 frames and holds {scan.frames}; it may be cut off." in scan.notes


# Timecode of the scan at 25, start, rate of the reel, timecode of its first frame; the frames of a second in
# proportion.
@pytest.mark.parametrize(
    ("given", "begins", "words"),
    [
        ({}, "10:00:20:05", "The counters start at the scan's own timecode, 10:00:20:05"),
        ({"rate": "50"}, "10:00:20:10", "and the counters start at 10:00:20:10."),
        ({"rate": "29.97"}, "10:00:20:06", "and the counters start at 10:00:20:06."),
        ({"start": "01:00:00:00"}, "01:00:00:00", "10:00:20:05, and the counters start at 01:00:00:00."),
    ],
)
def test_the_timecode_of_the_scan_is_kept_as_the_start(tmp_path, film, given, begins, words):
    coded = muxed(tmp_path, "-i", film(), "-c", "copy", "-metadata", "timecode=10:00:20:05")
    started = start_reel(tmp_path / "a.reel", Start(scan=coded, **given))
    assert counter(started.reel).readings(0).timecode == begins
    assert words in " ".join(started.notes)


def test_a_start_counts_drop_frame_or_not_as_asked(tmp_path, film):
    reel = start_reel(tmp_path / "a.reel", Start(scan=film(), rate="29.97", start="10:01:00;02")).reel
    assert counter(reel).readings(1).timecode == "10:01:00;03"
    counted = with_start(reel, counting="non-drop")
    assert counter(counted).readings(1).timecode == "10:01:00:03"
    assert counter(with_start(counted, "10:01:00:00")).readings(0).timecode == "10:01:00:00"
    back = with_start(with_start(counted, "10:01:00:00"), counting="drop")
    assert counter(back).readings(0).timecode == "10:01:00;02"
    with pytest.raises(BadInput, match="which this reel does not count in"):
        with_start(counted, "10:01:00;02")
    with pytest.raises(BadInput, match=r"for 29\.97 and 59\.94; this reel runs at 25"):
        with_start(start_reel(tmp_path / "b.reel", Start(scan=film())).reel, counting="drop")


STOCK = "tungsten-colour-negative"


def test_a_stock_for_densities_takes_the_scan_as_such_and_says_so(tmp_path, film):
    begun = start_reel(tmp_path / "a.reel", Start(scan=film(), stock=STOCK))
    assert begun.reel.scan.encoding == "density"
    assert f"The scan is taken as density, which is what the stock {STOCK} is for." in begun.notes
    assert stock_preset(STOCK).sentence in begun.notes
    for density in ("density", "adx10", "adx16"):
        assert "is taken as" not in said(tmp_path, scan=film(), stock=STOCK, encoding=density)
    assert "is taken as" not in said(tmp_path, scan=film(), stock="colour-print")
    begun = start_reel(tmp_path / "a.reel", Start(scan=film(), stock="colour-print", encoding="light"))
    assert begun.reel.scan.encoding == "light"


@pytest.mark.parametrize("name", [n for n in preset_names("stocks") if stock_preset(n).encoding == "density"])
@pytest.mark.parametrize("encoding", ["video", "light", "srgb"])
def test_a_stock_for_densities_refuses_a_scan_that_holds_none(tmp_path, film, name, encoding):
    sentence = (
        rf"^The stock {name} is for a scan in density, and --encoding says {encoding}; "
        r"leave --encoding out, or choose another stock\.$"
    )
    with pytest.raises(BadInput, match=sentence):
        start_reel(tmp_path / "a.reel", Start(scan=tmp_path / "none.mkv", stock=name, encoding=encoding))


@pytest.mark.parametrize("said", [{}, {"matrix": "bt709"}, {"range": "full"}])
def test_what_is_said_of_a_movie_s_codes_is_taken_and_kept_and_else_the_usual_is_told(tmp_path, film, said):
    begun = start_reel(tmp_path / "a.reel", Start(scan=film(), **said))
    notes = " ".join(begun.notes)
    assert ("No matrix tag" in notes, "No range tag" in notes) == ("matrix" not in said, "range" not in said)
    assert (begun.reel.scan.matrix, begun.reel.scan.range) == (said.get("matrix"), said.get("range"))


def test_every_stock_that_speaks_of_density_names_it_as_its_encoding():
    for name in preset_names("stocks"):
        preset = stock_preset(name)
        assert (preset.encoding == "density") == ("density" in preset.sentence), name


def still(path, width=8, height=6):
    spec = oiio.ImageSpec(width, height, 3, "uint16")
    out = oiio.ImageOutput.create(str(path))
    assert out.open(str(path), spec)
    out.write_image(np.full((height, width, 3), 1000, np.uint16))
    out.close()


def test_stills_of_several_sizes_are_refused_at_the_start(tmp_path):
    for number in range(12):
        still(tmp_path / f"a_{number}.tif", width=9 if number == 7 else 8)
    with pytest.raises(BadInput, match=r"a_7\.tif is 9x6 but a_0\.tif, the first of its sequence, is 8x6"):
        said(tmp_path, scan=tmp_path, rate="24")


def test_stills_that_cannot_be_read_are_said_at_the_start(tmp_path):
    for number in range(12):
        still(tmp_path / f"a_{number}.tif")
    for number in (3, 4):
        (tmp_path / f"a_{number}.tif").write_bytes(b"II")
    assert "2 of the stills cannot be read: frames 3, 4 (the first is a_3.tif)." in said(
        tmp_path, scan=tmp_path, rate="24"
    )
