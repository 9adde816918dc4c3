"""Film at one rate in video at another: every frame, and every line of a field, shows its film frame.

Each film frame is one grey of its own, so that a decoded line says which it is. ffprobe judges the tags.
"""

import json
import shutil
import subprocess
from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.media.master.record import load_record
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

FRAMES = 12
STEP = 40  # codes between the greys of one film frame and the next


@pytest.fixture(scope="module")
def film_at(tmp_path_factory, lamphouse, write_stills):
    """A function that returns a reel of 12 frames at a rate, and a folder for what is made of it."""
    folder = tmp_path_factory.mktemp("cadence")
    greys = (64 + STEP * np.arange(FRAMES))[:, None, None, None] / 1023
    write_stills(folder / "film", np.broadcast_to(greys, (FRAMES, 8, 16, 3)), "dpx")

    def started(rate):
        reel = folder / f"{rate.replace('/', '-')}.reel"
        if not reel.exists():
            lamphouse("new", reel, "--scan", folder / "film", "--rate", rate, "--gauge", "16mm")
        return reel, folder

    return started


@pytest.fixture(scope="module")
def delivered(film_at, lamphouse):
    """A function that makes a master at a rate of a reel at another, and returns both."""

    def made(film, **delivery):
        reel, folder = film_at(film)
        name = "-".join([film, *map(str, delivery.values())]).replace("/", "_").replace(":", "_")
        wanted = {"container": "matroska", "codec": "ffv1", "pixel_format": "gbrp10le", "matrix": "rgb"}
        (folder / f"{name}.json").write_text(json.dumps(wanted | {"range": "full"} | delivery))
        master = folder / f"{name}.mkv"
        if not master.exists():
            lamphouse("transfer", reel, "-o", master, "--delivery", folder / f"{name}.json")
        return reel, master

    return made


@pytest.fixture
def lines_of(decode_planes):
    """A function that returns which film frame each line of each frame of a master shows, (frames, lines)."""

    def found(master):
        planes = np.array([frame[0] for frame in decode_planes(master)]).astype(int)
        assert np.ptp(planes, axis=2).max() == 0
        shown = (planes[:, :, 0] - 64) / STEP
        assert np.array_equal(shown, np.round(shown))  # nothing is blended
        return shown.astype(int)

    return found


def probed(master):
    words = ["-show_entries", "stream=avg_frame_rate,field_order:stream_tags=timecode", "-of", "json"]
    said = subprocess.run(["ffprobe", "-v", "error", *words, master], capture_output=True, check=True)
    return json.loads(said.stdout)["streams"][0]


# film, delivery, film frames in the order of the pictures, rate and field order as ffprobe says them
PROGRESSIVE = [
    ("25", {}, list(range(12)), "25/1"),
    ("24", {"rate": "23.976"}, list(range(12)), "24000/1001"),
    ("18", {"rate": "25"}, list(range(12)), "25/1"),
    ("12", {"rate": "24", "cadence": "repeat"}, [n // 2 for n in range(24)], "24/1"),
    (
        "16",
        {"rate": "24", "cadence": "repeat"},
        [n for n in range(12) for _ in range(1 + n % 2)],
        "24/1",
    ),
    (
        "24",
        {"rate": "59.94", "cadence": "2:3"},
        [n for n in range(12) for _ in range(2 + n % 2)],
        "60000/1001",
    ),
    ("25", {"rate": "50", "cadence": "2:2"}, [n // 2 for n in range(24)], "50/1"),
]


@pytest.mark.parametrize(("film", "delivery", "shown", "rate"), PROGRESSIVE)
def test_frames_show_the_film_frames_of_the_cadence(delivered, lines_of, film, delivery, shown, rate):
    _, master = delivered(film, **delivery)
    assert lines_of(master)[:, 0].tolist() == shown
    found = probed(master)
    # FFmpeg's reader of Matroska keeps rates in numbers up to 30000: 60000/1001 is 19001/317 to it.
    assert float(Fraction(found["avg_frame_rate"])) == pytest.approx(float(Fraction(rate)), abs=1e-5)
    assert found["field_order"] == "progressive"


@pytest.mark.parametrize(("scanning", "order", "first"), [("top-first", "tt", 0), ("bottom-first", "bb", 1)])
def test_two_and_three_fields_in_turn_lie_on_their_lines(delivered, lines_of, scanning, order, first):
    _, master = delivered("24", rate="29.97", scanning=scanning, cadence="2:3")
    lines = lines_of(master)
    fields = np.stack([lines[:, first::2], lines[:, 1 - first :: 2]], 1).reshape(-1, 4)
    assert np.ptp(fields, axis=1).max() == 0
    assert fields[:, 0].tolist() == [n for n in range(12) for _ in range(2 + n % 2)]
    assert (probed(master)["avg_frame_rate"], probed(master)["field_order"]) == ("30000/1001", order)


def test_three_fields_each_of_a_film_at_sixteen_and_two_thirds(delivered, lines_of):
    _, master = delivered("50/3", rate="25", scanning="top-first", cadence="repeat")
    lines = lines_of(master)
    assert np.stack([lines[:, 0], lines[:, 1]], 1).ravel().tolist() == [n // 3 for n in range(36)]


def test_the_record_says_which_film_frames_a_frame_shows(delivered):
    _, master = delivered("24", rate="29.97", scanning="top-first", cadence="2:3")
    span = load_record(master).span
    assert [span.shown(number) for number in range(6)] == [(0, 0), (1, 1), (1, 2), (2, 3), (3, 3), (4, 4)]
    assert span.words(2).startswith("Frame 2 (10:00:00;02, film frames 1 and 2, cue start")
    assert probed(master)["tags"]["TIMECODE"] == "10:00:00;00"


def test_a_cue_is_made_anew_in_all_that_shows_it(
    delivered, film_at, lamphouse, lines_of, decode_planes, tmp_path
):
    _, whole = delivered("24", rate="29.97", scanning="top-first", cadence="2:3")
    reel, _ = film_at("24")
    corrected, master = tmp_path / "24.reel", tmp_path / "master.mkv"
    for old, new in ((whole, master), (f"{whole}.record.json", f"{master}.record.json"), (reel, corrected)):
        shutil.copy(old, new)
    lamphouse("reel", corrected, "--scan", reel.parent / "film")
    lamphouse("cue", corrected, "5", "--name", "dark", "--set", "primary.gain=0.5")
    lamphouse("cue", corrected, "7", "--name", "on", "--set", "primary.gain=1")
    lamphouse("insert", corrected, master, "--stale")
    old, new = (np.array([frame[0] for frame in decode_planes(movie)]) for movie in (whole, master))
    assert np.array_equal((old != new).any(axis=2), np.isin(lines_of(whole), (5, 6)))
    assert "Each of its 15 frames is what the reel makes now." in lamphouse("verify", master, corrected)


def test_rate_and_cadence_are_given_to_a_pass_and_its_speed_is_said(film_at, lamphouse, lines_of, tmp_path):
    reel, _ = film_at("18")
    command = ("transfer", reel, "--delivery", "rgb-ffv1", "--rate", "25", "-o")
    assert "Note: The film, of 18 frames a second, runs at 25: 38.9 % faster." in lamphouse(
        *command, tmp_path / "run.mkv"
    )
    said = lamphouse(*command, tmp_path / "repeat.mkv", "--cadence", "repeat")
    assert "25 frames a second, film repeat" in said
    assert "Note: The film" not in said
    with av.open(str(tmp_path / "repeat.mkv")) as container:
        assert len(list(container.decode(video=0))) == 17  # 12 / 18 s at 25 a second, to half a frame
    with pytest.raises(BadInput, match="3:2 is no cadence; give run, repeat, 2:2 or 2:3"):
        lamphouse(*command, tmp_path / "wrong.mkv", "--cadence", "3:2")
    with pytest.raises(
        BadInput, match=r"no video runs at 26 frames a second; a delivery has 23\.976, 24, 25"
    ):
        lamphouse("transfer", reel, "--rate", "26", "-o", tmp_path / "wrong.mkv")
    with pytest.raises(BadInput, match=r"nterlaced masters are written in ffv1, .* or dnxhd, not libx264"):
        lamphouse(
            *("transfer", reel, "--delivery", "viewing-h264", "--scanning", "top-first"),
            *("-o", tmp_path / "wrong.mp4"),
        )
