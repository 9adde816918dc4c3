"""ITU-R BT.1702 (second-hand): each limit from both sides, with patterns made here and never shown moving.

A flash is two opposing changes of 20 cd/m2 or more where the darker picture is below 160; more than three in
any one second over more than a quarter of the picture are too many. White is at 200 cd/m2.
"""

import json
from fractions import Fraction

import av
import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.flashes.display import Display, cells_of
from lamphouse.graph.check.flashes.swings import Swings
from lamphouse.graph.check.flashes.watch import Flashes
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.commands.cli import _app
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.pixel_layout import layout_of

RATES = [Fraction(24), Fraction(24000, 1001), Fraction(25), Fraction(30000, 1001), Fraction(50), Fraction(60)]
GRID = (20, 30)
WHITE = 200


def watched(frames, rate=25, **options):
    """Return the findings of frames of light in cd/m2: a number each, or (rows, columns), or (3, ...)."""
    flashes = Flashes(Fraction(rate), **options)
    for number, frame in enumerate(frames):
        light = np.broadcast_to(np.float32(frame) / WHITE, (3, *GRID))
        flashes.take(number, light)
    return list(flashes.found(Names(None)))


def kinds(frames, rate=25, **options):
    return [finding.kind for finding in watched(frames, rate, **options)]


def square(low, high, half, count):
    """Return `count` changes between two levels, `half` frames apart, and some frames before and after."""
    levels = [low if n % 2 == 0 else high for n in range(count + 1) for _ in range(half)]
    return [low] * 5 + levels + levels[-1:] * 40


def part(share, levels, rest=10.0):
    """Return frames of which `share`, from the left, has the levels."""
    for level in levels:
        flat = np.full(GRID[0] * GRID[1], rest, np.float32)
        flat[: round(share * flat.size)] = level
        yield flat.reshape(GRID[::-1]).T


def srgb(code):
    """IEC 61966-2-1."""
    v = code / 255
    return WHITE * (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)


# The test set pse-test-media, rel_lum f001 and c001 (30 frames a second): 64 and 109 in turn.
@pytest.mark.parametrize(("changes", "flashing"), [(7, True), (6, False)])
def test_seven_changes_within_a_second_are_too_many_and_six_are_not(changes, flashing):
    assert kinds(square(srgb(64), srgb(109), 1, changes), 30) == ["flashes"] * flashing


@pytest.mark.parametrize(("step", "flashing"), [(19.9, False), (20.1, True)])
@pytest.mark.parametrize("low", [0.0, 50.0, 159.0])
def test_a_change_counts_from_20_candelas_on(low, step, flashing):
    assert kinds(square(low, low + step, 2, 12)) == ["flashes"] * flashing


@pytest.mark.parametrize(("low", "flashing"), [(159.5, True), (160.5, False)])
def test_it_counts_only_where_the_darker_picture_is_below_160_candelas(low, flashing):
    assert kinds(square(low, low + 30, 2, 12)) == ["flashes"] * flashing


@pytest.mark.parametrize("rate", RATES)
def test_more_than_three_a_second_are_found_at_every_rate_and_three_are_not(rate):
    slowest = next(frames for frames in range(2, 60, 2) if frames * 3 >= rate)  # of a flash that is accepted
    assert kinds(square(20, 120, slowest // 2, 40), rate) in ([], ["run of flashes"])
    assert kinds(square(20, 120, slowest // 2 - 1, 40), rate) == ["flashes"]


@pytest.mark.parametrize(("share", "flashing"), [(0.249, False), (0.25, False), (0.251, True), (0.5, True)])
def test_it_counts_from_more_than_a_quarter_of_the_picture_on(share, flashing):
    assert kinds(part(share, square(20, 120, 2, 12))) == ["flashes"] * flashing


def test_the_finding_says_where_how_fast_how_much_by_which_rule_and_what_to_do():
    (finding,) = watched(part(0.6, square(20, 120, 2, 20)))
    assert (finding.frame, finding.stop) == (7, 46)
    assert "6.5 times in a second over 60 % of the picture" in finding.sentence
    assert "photosensitive epilepsy" in finding.sentence
    assert (finding.rule, finding.weight) == ("ITU-R BT.1702", "fault")
    assert "second-hand" in finding.source


def test_parts_that_flash_in_turn_are_not_added_up_and_parts_that_flash_against_each_other_are():
    left, right = np.zeros(GRID, np.float32), np.zeros(GRID, np.float32)
    left[:, :6], right[:, -6:] = 100, 100  # a fifth each
    quiet = np.full(GRID, 10, np.float32)
    once = [quiet, quiet + left] * 3 + [quiet] * 4
    other = [quiet, quiet + right] * 3 + [quiet] * 4
    assert kinds((once + other) * 2) == []
    against = [quiet + left, quiet + right] * 10
    assert kinds(against) == ["flashes"]


def test_flashes_that_move_on_from_place_to_place_are_none():
    frames = [np.full(GRID, 10, np.float32) for _ in range(30)]
    for number, frame in enumerate(frames):
        frame[:, number : number + 10] = 120
    assert kinds(frames) == []


def test_a_slow_fade_and_cuts_a_second_apart_are_none():
    fade = list(np.linspace(0, 200, 60))
    assert kinds((fade + fade[::-1]) * 2) == []
    assert kinds(square(5, 180, 25, 8)) == []


def test_a_change_counts_however_many_frames_it_takes():
    steps = [20, 60, 100, 140, 100, 60] * 10  # 4.2 flashes a second, in steps of 40
    assert kinds(steps) == ["flashes"]
    assert kinds([100 + 15 * np.sin(2 * np.pi * 5 * n / 25) for n in range(75)]) == ["flashes"]
    assert kinds([100 + 9 * np.sin(2 * np.pi * 5 * n / 25) for n in range(75)]) == []


def test_lightning_of_three_strokes_is_accepted_and_of_four_is_not():
    def strokes(count):
        return [8] * 30 + [150, 40, 8, 8, 8] * count + [8] * 40

    assert kinds(strokes(3)) == []
    assert kinds(strokes(4)) == ["flashes"]


@pytest.mark.parametrize(("seconds", "kind"), [(4.5, []), (6, ["run of flashes"])])
def test_a_run_of_more_than_five_seconds_is_a_caution_though_it_keeps_to_the_rate(seconds, kind):
    frames = ([20] * 16 + [120]) * round(
        seconds * 50 / 17
    )  # 2.94 a second: 17 fields of 50 apart, 18 are no run
    found = watched(frames, 50)
    assert [finding.kind for finding in found] == kind
    assert [finding.weight for finding in found] == ["caution"] * len(kind)
    assert kinds(([20] * 17 + [120]) * 40, 50) == []


def of_screen(colour):
    """The light of #RRGGBB."""
    return tuple(srgb(code) for code in bytes.fromhex(colour[1:]))


RED = of_screen("#CD4E4E")  # of whose linear light red has 0.8003 (pse-test-media)


def coloured(*colours):
    return [np.float32(colour)[:, None, None] for colour in colours]


# The same table: 0.8021, 0.8012; #CD5050, just beside the first, has 0.793 by arithmetic.
@pytest.mark.parametrize(("colour", "kind"), [("#DC3768", 1), ("#C44A4A", 1), ("#CD5050", 0)])
def test_red_is_saturated_from_four_fifths_of_linear_light_on(colour, kind):
    red = of_screen(colour)
    grey = (float(np.dot((0.2126, 0.7152, 0.0722), red)),) * 3
    assert kinds(coloured(red, grey) * 12) == ["red flashes"] * kind


def test_saturated_red_flashes_at_equal_luminance_too():
    luminance = float(np.dot((0.2126, 0.7152, 0.0722), RED))
    frames = coloured(RED, (luminance,) * 3) * 12
    found = watched(frames)
    assert [finding.kind for finding in found] == ["red flashes"]
    assert "WCAG" in found[0].source
    less = (RED[0] * 0.99, RED[1], RED[2])  # 0.7986
    assert kinds(coloured(less, (luminance,) * 3) * 12) == []


def test_a_change_counts_only_where_its_brighter_end_is_marked():
    swings, no, yes = Swings(20), np.zeros((1, 1), bool), np.ones((1, 1), bool)
    seen = [(0, yes), (30, no), (30, yes), (0, no), (30, no), (0, no)]
    turns = [swings.take(np.full((1, 1), value, np.float32), marked) for value, marked in seen]
    assert [bool(up) for up, _ in turns] == [False, False, True, False, False, False]
    assert [bool(down) for _, down in turns] == [False, False, False, True, False, False]
    swings = Swings(20)
    swings.take(np.full((1, 1), 30, np.float32), no)
    assert not swings.take(np.zeros((1, 1), np.float32), yes)[1]


def test_red_that_changes_little_or_three_times_is_no_flash():
    assert kinds(coloured((60, 2, 2), (70, 2, 2)) * 12) == []  # by 16 of 320
    assert kinds(coloured((60, 2, 2), (74, 2, 2)) * 12) == ["red flashes"]  # by 22.4
    assert kinds(coloured((10, 0, 0), (80, 0, 0)) * 3 + coloured((80, 0, 0)) * 40) == []


def test_national_forms_are_settings_with_their_source():
    mild = square(20, 50, 3, 50)  # 4.2 a second, by 15 % of white
    assert kinds(mild) == kinds(mild, form="Ofcom") == ["flashes"]
    (long,) = watched(mild, form="NAB-J")
    assert "superdramatv" in long.source
    assert kinds(square(20, 50, 3, 10), form="NAB-J") == []  # five a second for two seconds are accepted
    assert kinds(square(20, 65, 3, 10), form="NAB-J") == ["flashes"]  # of more than 20 % they are not


def test_the_assumed_display_is_a_setting_and_is_said():
    frames = square(0.0, 38.0, 2, 12)
    assert kinds(frames) == ["flashes"]
    assert kinds(frames, display=Display(peak=100)) == []  # 19 cd/m2 where white is at 100
    said = " ".join(Flashes(Fraction(25), Display(peak=100)).said())
    assert "white at 100 cd/m2, black at 0, gamma 2.4" in said
    assert "no certificate" in said
    assert "licensed testing" in said


# ITU-R BT.1886: the light of 10-bit codes on a screen with white at 200 cd/m2, black at 0.
@pytest.mark.parametrize(
    ("code", "light"), [(64, 0), (256, 5.235), (512, 40.003), (768, 118.357), (940, 200)]
)
def test_light_is_that_of_bt_1886(code, light):
    signal = np.float32([(code - 64) / 876])
    assert Display().light(signal)[0] * 200 == pytest.approx(light, abs=2e-3)


def test_a_black_that_is_not_at_zero_is_that_of_bt_1886_too():
    lifted = Display(peak=100, black=0.1)  # annex 1: L = a max(V + b, 0) ** 2.4; L(0) is black, L(1) white
    assert lifted.light(np.float32([0, 1])) * 100 == pytest.approx([0.1, 100], rel=1e-4)


@pytest.mark.parametrize("rows", [24, 72, 135, 195, 240, 270])
def test_a_grid_has_about_forty_rows_of_any_picture(rows):
    assert 24 <= cells_of(np.zeros((3, rows, 100), np.float32)).shape[1] <= 79


@pytest.mark.parametrize(("high", "flashing"), [(396, False), (404, True)])  # 19.3 and 20.5 cd/m2 by BT.1886
def test_flashes_are_found_in_the_codes_of_a_master(high, flashing):
    flashes = Flashes(Fraction(25))
    for number in range(20):
        luma = np.full((96, 128), 64 if number % 2 else high, np.uint16)
        chroma = np.full((96, 64), 512, np.uint16)
        layout = layout_of(av.VideoFormat("yuv422p10le", 128, 96))
        flashes.see(number, Seen(Coded((luma, chroma, chroma), layout, Coding("bt709", "video"))))
    assert [finding.kind for finding in flashes.found(Names(None))] == ["flashes"] * flashing


def test_check_finds_a_flashing_movie_that_others_made_and_the_screen_is_a_setting(tmp_path):
    master = tmp_path / "its 'lightning'.mkv"
    with av.open(str(master), "w") as container:
        stream = container.add_stream("ffv1", rate=Fraction(24000, 1001))
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv422p10le"
        for number in range(24):
            grey = np.full((48, 64), 160 if number % 4 > 1 else 40, np.uint8)
            frame = av.VideoFrame.from_ndarray(grey, "gray").reformat(format="yuv422p10le")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    asked = ["check", str(master), "--only", "flashes", "--json"]
    (told,) = json.loads(CliRunner().invoke(_app(), asked).stdout)["masters"]
    (fault,) = told["faults"]
    assert (fault["kind"], fault["rule"], fault["frame"]) == ("flashes", "ITU-R BT.1702", 2)
    result = CliRunner().invoke(_app(), [*asked, "--set", "flashes.peak=25"])
    assert json.loads(result.stdout)["masters"][0]["is_good"]


def test_frames_that_nobody_saw_keep_their_time():
    def found(numbers):
        flashes = Flashes(Fraction(25))
        for number, level in zip(numbers, square(20, 120, 1, 30), strict=False):
            flashes.take(number, np.full((3, *GRID), level / WHITE, np.float32))
        return [(finding.kind, finding.frame) for finding in flashes.found(Names(None))]

    assert found(range(100, 200)) == [("flashes", 106)]
    assert found(range(0, 400, 4)) == [("flashes", 24)]
    assert found(range(0, 500, 5)) == []  # 2.5 flashes a second
    assert found(range(0, 4000, 40)) == []


def test_a_run_over_two_rasters_is_counted_in_each():
    flashes = Flashes(Fraction(25))
    for number in range(40):
        size = (20, 30) if number < 20 else (30, 30)
        flashes.take(number, np.full((3, *size), number % 2, np.float32))
    assert next(iter(flashes.found(Names(None)))).kind == "flashes"
