"""Framing from the command to the master: set, moved in a transition, delivered, proved, made anew."""

import json
import subprocess

import numpy as np
import pytest

from lamphouse.graph.edits.cues import averaged, reset_cue
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.framing import NEUTRAL, Framing
from lamphouse.graph.media.codes.placing import unplaced
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.errors import BadInput

FRAMES, WIDTH, HEIGHT = 12, 32, 24
DELIVERY = {
    "container": "matroska",
    "codec": "ffv1",
    "pixel_format": "gbrp10le",
    "matrix": "rgb",
    "range": "full",
}


@pytest.fixture(scope="module")
def film(tmp_path_factory, lamphouse, write_stills):
    """A folder with stills in which every pixel is another, and the delivery of a master beside them."""
    folder = tmp_path_factory.mktemp("framing")
    codes = np.random.default_rng(4).integers(100, 900, (FRAMES, HEIGHT, WIDTH, 3))
    write_stills(folder / "film", codes / 1023, "dpx")
    (folder / "own.json").write_text(json.dumps(DELIVERY))
    return folder, codes


@pytest.fixture
def started(film, tmp_path, lamphouse):
    """A function that starts a reel of the film, with words of its own."""

    def start(*words):
        reel = tmp_path / "film.reel"
        lamphouse("new", reel, "--scan", film[0] / "film", "--rate", 24, "--gauge", "16mm", *words)
        return reel

    return start


def framings(reel):
    with Grade(open_reel(reel), threads=1) as grade:
        return [grade.framing(frame) for frame in range(FRAMES)]


def test_framing_is_set_switched_copied_and_moved_as_any_setting_is(started, lamphouse):
    reel = started()
    said = lamphouse("cue", reel, 2, "--set", "framing.size=2", "--set", "framing.mirror=left-right")
    assert "framing.size=2" in said
    lamphouse("cue", reel, 10, "--length", 8, "--ease", "even", "--set", "framing.size=0.5")
    lamphouse("cue", reel, 10, "--set", "framing.position_x=0.4", "--set", "framing.quarter_turns=90")
    found = framings(reel)
    assert found[:2] == [NEUTRAL, NEUTRAL]
    assert found[6] == Framing(position_x=0.2, size=1.0, mirror="left-right")  # by equal ratios
    assert found[10] == Framing(position_x=0.4, size=0.5, quarters=1, mirror="left-right")
    lamphouse("cue", reel, 2, "--set", "framing.on=off")
    assert framings(reel)[2:3] == [NEUTRAL]
    lamphouse("cue", reel, 2, "--set", "framing.on=on", "--set", "framing.mirror.on=off")
    assert framings(reel)[2] == Framing(size=2.0)


@pytest.mark.parametrize(
    ("setting", "said"),
    [
        (
            "framing.sise=2",
            r"^framing.sise is not a parameter of this reel's chain \(did you mean framing.size",
        ),
        ("framing.size=0", r"^framing.size = 0 is outside its range 0.1 to 10\.$"),
        ("framing.quarter_turns=45", r"^framing.quarter_turns = 45 is not a choice"),
    ],
)
def test_a_framing_that_cannot_be_is_refused_in_a_sentence(started, lamphouse, setting, said):
    with pytest.raises(BadInput, match=said):
        lamphouse("cue", started(), 0, "--set", setting)


def test_nodes_says_what_framing_is(lamphouse):
    page = lamphouse("nodes", "framing")
    for name in ("position_x", "size", "turn", "quarter_turns", "mirror", "gate_left"):
        assert f"framing.{name}  " in page
    assert "framing.on=off switches all of it off" in page
    assert "\nframing" in lamphouse("nodes")
    assert json.loads(lamphouse("nodes", "framing", "--json"))["framing"]["parameters"][2]["unit"] == ""


def test_no_node_of_a_chain_can_go_by_the_name_of_framing(started, lamphouse, film):
    reel = started()
    document = json.loads(reel.read_text())
    for node in document["chain"]["nodes"]:
        node["name"] = "framing" if node["name"] == document["chain"]["output"] else node["name"]
    document["chain"]["output"] = "framing"
    reel.write_text(json.dumps(document))
    with pytest.raises(
        BadInput, match=r"^The name framing stands for where the picture lies in the frame in"
    ):
        lamphouse("frame", reel, 0, "-o", reel.parent / "a.png")


def codes_of(master, height=HEIGHT):
    """The R'G'B' codes of every frame of a master as ffmpeg decodes them: (frames, h, w, 3)."""
    asked = ["ffmpeg", "-v", "error", "-i", str(master), "-f", "rawvideo", "-pix_fmt", "gbrp10le", "-"]
    planes = np.frombuffer(subprocess.run(asked, capture_output=True, check=True).stdout, np.uint16)
    green, blue, red = np.moveaxis(planes.reshape(-1, 3, height, WIDTH), 1, 0)
    return np.stack([red, green, blue], -1)


@pytest.mark.slow
def test_a_framed_master_is_proved_and_mended_where_its_framing_changes(started, film, lamphouse, tmp_path):
    folder, codes = film
    reel, master = started(), tmp_path / "m.mkv"
    lamphouse("transfer", reel, "-o", master, "--delivery", folder / "own.json")
    plain = load_record(master)
    assert np.array_equal(codes_of(master), codes)  # neutral: the very codes of the scan
    lamphouse("cue", reel, 4, "--set", "framing.mirror=left-right", "--set", "framing.gate_top=0.25")
    lamphouse("cue", reel, 8, "--set", "framing.on=off")
    lamphouse("insert", reel, master, "--stale")
    mended = codes_of(master)
    meant = codes.copy()
    meant[4:8] = meant[4:8, :, ::-1]
    meant[4:8, :6] = 0
    assert np.array_equal(mended, meant)
    now = load_record(master)
    changed = [a != b for a, b in zip(plain.grades, now.grades, strict=True)]
    assert changed == [4 <= frame < 8 for frame in range(FRAMES)]
    assert "Each of its 12 frames is what the reel makes now." in lamphouse("verify", master, reel)


def test_a_still_shows_the_framing_and_before_the_bare_scan(started, film, lamphouse, tmp_path, as_srgb):
    import OpenImageIO as oiio

    reel = started()
    lamphouse("cue", reel, 0, "--set", "framing.quarter_turns=180")

    def still(*words):
        lamphouse("frame", reel, 3, "-o", tmp_path / "a.tif", *words)
        return oiio.ImageBuf(str(tmp_path / "a.tif")).get_pixels(oiio.FLOAT)

    bare = still("--before")
    assert np.abs(bare - as_srgb(film[1][3] / 1023)).max() < 1e-3
    assert np.array_equal(still(), bare[::-1, ::-1])
    wide = {**DELIVERY, "width": 64, "height": 24}
    (tmp_path / "wide.json").write_text(json.dumps(wide))
    placed = still("--delivery", tmp_path / "wide.json")
    assert placed.shape[:2] == (24, 64)
    assert np.array_equal(placed[:, 16:48], bare[::-1, ::-1])
    assert not placed[:, :16].any()


def test_the_shape_of_a_film_is_kept_with_its_reel_and_widens_the_pixels_of_squeezed_film(started, lamphouse):
    reel = started("--shape", "scope")
    assert load(reel).scan.pixel_aspect == "2"
    assert unplaced(load(reel)).film == pytest.approx(2.39)
    assert json.loads(lamphouse("reel", reel, "--json"))["shape"] == "scope"
    lamphouse("reel", reel, "--shape", "1.85")
    assert (load(reel).shape, load(reel).scan.pixel_aspect) == ("1.85", "1")
    assert "all of the scan" in lamphouse("reel", reel, "--shape", "scan")
    with pytest.raises(BadInput, match=r"^There is no film shape called super18 \(did you mean .*super16"):
        lamphouse("reel", reel, "--shape", "super18")


def test_what_lies_outside_the_shape_of_the_film_is_black_in_its_master(started, film, lamphouse, tmp_path):
    folder, codes = film
    reel = started("--shape", "2")  # of 32 by 24: sixteen lines
    lamphouse("transfer", reel, "-o", tmp_path / "m.mkv", "--delivery", folder / "own.json")
    meant = codes.copy()
    meant[:, :4] = meant[:, 20:] = 0
    assert np.array_equal(codes_of(tmp_path / "m.mkv"), meant)


def test_the_average_of_two_framings_lies_between_them_each_setting_in_its_own_way(started, lamphouse):
    reel = started()
    lamphouse("cue", reel, 0, "--set", "framing.size=0.5", "--set", "framing.quarter_turns=90")
    lamphouse("cue", reel, 6, "--set", "framing.size=2", "--set", "framing.turn=3")
    opened = open_reel(reel)
    first, second = opened.reel.cues
    controls = opened.controls()
    assert averaged(first, second, controls, 0.5) == {"framing.size": 1.0, "framing.turn": 1.5}
    bare = reset_cue(opened.reel, 6, controls, "framing.turn").cues[1].settings
    assert bare == {"framing.size": 2.0, "framing.quarter_turns": "90"}


def test_a_cue_blanks_what_lies_outside_a_shape_of_film(started, lamphouse):
    reel = started()
    lamphouse("cue", reel, 0, "--gate", "2", "--set", "framing.gate_left=0.25")
    gate = framings(reel)[0].gate
    assert gate == pytest.approx((0.25, 4 / HEIGHT, 0, 4 / HEIGHT))  # 32 by 16 of 32 by 24
    lamphouse("cue", reel, 0, "--gate", "1.0")
    assert framings(reel)[0].gate == pytest.approx((4 / HEIGHT, 0, 4 / HEIGHT, 0))
    with pytest.raises(BadInput, match=r"^There is no film shape called supr8 "):
        lamphouse("cue", reel, 0, "--gate", "supr8")


def test_a_pass_is_told_which_part_of_the_picture_to_show(started, film, lamphouse, tmp_path):
    codes = film[1]
    (tmp_path / "wide.json").write_text(json.dumps({**DELIVERY, "width": 32, "height": 16}))
    master, words = tmp_path / "m.mkv", ("--delivery", tmp_path / "wide.json", "--shape", "fill", "--to", "2")
    said = lamphouse("transfer", started(), "-o", master, *words)
    assert ", shape fill" in said
    assert load_record(master).delivery.shape == "fill"
    assert np.array_equal(codes_of(master, 16), codes[:2, 4:20])  # 32 by 16 of 32 by 24, pixel for pixel


def test_a_delivery_of_an_unknown_shape_is_refused_before_the_pass(started, lamphouse, tmp_path):
    (tmp_path / "bad.json").write_text(json.dumps({**DELIVERY, "shape": "full"}))
    with pytest.raises(
        BadInput, match=r"bad.json: full is not the shape of a picture; give its width to its"
    ):
        lamphouse("transfer", started(), "-o", tmp_path / "m.mkv", "--delivery", tmp_path / "bad.json")


def test_a_lut_of_a_framed_cue_says_that_it_holds_no_framing(started, lamphouse, tmp_path):
    reel = started()
    lamphouse("cue", reel, 0, "--name", "a", "--set", "framing.size=1.05")
    said = lamphouse("lut", reel, "--cue", "a", "-o", tmp_path / "a.clf")
    assert "Note: A LUT holds colours alone; the framing of this cue is not in it." in said
