"""Film made from published patches by the relations named at each, and brought back to them."""

from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.grade.patches import Patch, density, density_of, fading, reel_up_to
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.corrections.dye_fade import absorptions
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.trace import walk

CATALOGUE = Catalogue()
SIZE = 20  # pixels of a patch
WHITE, BLACK = 18, 23

# 10-bit printing-density scans: 0.002 density a code above code 95, common practice with SMPTE ST 268-1.
PER_CODE, BASE_CODE = 0.002, 95

# An orange base, invented but of the kind that colour negatives have; gamma of camera negatives, second-hand.
ORANGE, GAMMA = np.array([0.12, 0.46, 0.74]), 0.6
# Light at which the straight part of the curve begins; no logarithm reaches zero, and what is darker rests on
# the base. With half of it the white patch would be denser in blue than code 1023 can say.
DARKEST = 0.02

# Shares kept and side absorptions as in tests/nodes/rows/dye_fade.toml: invented.
KEPT, STAIN = np.array([0.5, 0.9, 0.7]), np.array([0.02, 0.05, 0.09])
SIDES = {
    "magenta_red": 0.10,
    "yellow_red": 0.02,
    "cyan_green": 0.12,
    "yellow_green": 0.08,
    "cyan_blue": 0.03,
    "magenta_blue": 0.15,
}


@pytest.fixture(scope="module")
def chart():
    """BT.709 light (24, 3) and Lab of the chart: colour-science, 'ColorChecker24 - Before November 2014'."""
    colour = colour_science()
    published = colour.CCS_COLOURCHECKERS["ColorChecker24 - Before November 2014"]
    xyz = colour.xyY_to_XYZ(np.array(list(published.data.values())))
    light = colour.XYZ_to_RGB(
        xyz, "ITU-R BT.709", published.illuminant, "Bradford", apply_cctf_encoding=False
    )
    return np.clip(light, 1e-4, None)


def _difference(chart, video):
    """Return CIEDE2000 of each patch (Sharma et al. 2005, in colour-science), BT.709 light under D65."""
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]

    def lab(light):
        return colour.XYZ_to_Lab(colour.RGB_to_XYZ(light, space, apply_cctf_decoding=False), space.whitepoint)

    return colour.delta_E(lab(chart), lab(np.clip(video, 0, None) ** 2.4), method="CIE 2000")


def _scanned(densities, noise=0.0):
    """Return codes (3, SIZE, 25 SIZE) of patches side by side and one of unexposed film, as code / 1023."""
    wide = np.repeat(np.asarray(densities, float).T[:, None, :], SIZE, axis=1)
    wide = np.repeat(wide, SIZE, axis=2)
    wide = wide + np.random.default_rng(7).normal(0, noise, wide.shape)
    codes = np.clip(np.rint(BASE_CODE + wide / PER_CODE), 0, 1023)
    return (codes / 1023).astype(np.float32)


def _grade(reel, threads=1):
    return Grade(OpenedReel(Path("a.reel"), reel, CATALOGUE), threads)


def _reel(chain, settings):
    scan = ScanRef(path="none.dpx", encoding="density", frames=1, width=25 * SIZE, height=SIZE)
    return Reel(scan=scan, chain=chain_preset(chain).chain, cues=(Cue(frame=0, settings=settings),))


def _graded(reel, codes):
    """Return the mean colour of each patch (25, 3) as video."""
    with _grade(reel) as grade:
        picture = grade.correct(0, codes)
    return picture.reshape(3, SIZE, 25, SIZE).mean(axis=(1, 3)).T


def _patch(number):
    return Patch(number * SIZE + 2, 2, SIZE - 4, SIZE - 4)


def _measured(reel, node, codes, *numbers):
    (ref,) = (ref for ref in reel.chain.nodes if ref.name == node)
    with _grade(reel_up_to(ref, reel)) as grade:
        picture = density(grade, 0, codes)
    return [density_of(_patch(number).of(picture)) for number in numbers]


def _negative(chart, noise=0.0):
    """D = base + gamma (log E - log E of the darkest): gamma = dD / d log E on the straight part."""
    exposed = GAMMA * (np.log10(np.maximum(chart, DARKEST)) - np.log10(DARKEST))
    return _scanned([*(ORANGE + exposed), ORANGE], noise)


@pytest.mark.parametrize(("noise", "mean"), [(0.0, 0.25), (0.01, 0.4)])
def test_a_negative_of_the_chart_becomes_the_chart_by_film_base_and_primary(chart, noise, mean):
    codes = _negative(chart, noise)
    (base,) = _measured(_reel("negative", {}), "film_base", codes, 24)
    np.testing.assert_allclose(base, ORANGE, atol=0.002)
    settings = {"film_base.film": "negative", "film_base.base": tuple(base), "film_base.gamma": (GAMMA,) * 3}
    # White stays where it is by default; the primary's gain brings the white patch to its place.
    before = _graded(_reel("negative", settings), codes)
    gain = float((chart[WHITE] ** (1 / 2.4)).mean() / before[WHITE].mean())
    assert gain > 1.1
    after = _graded(_reel("negative", settings | {"primary.gain": gain}), codes)
    as_scanned = _graded(_reel("negative", {}), codes)
    assert _difference(chart, as_scanned[:24]).mean() > 25
    assert _difference(chart, after[:24]).mean() < mean


@pytest.mark.parametrize("sides", [{}, SIDES], ids=["proportional", "side-absorptions"])
def test_a_faded_print_of_the_chart_is_restored_from_two_of_its_neutral_patches(chart, sides):
    # Proportional: J. Wallace, Topics in Photographic Preservation 3 (1989) 151. Linear model: R. Gschwind
    # and F. Frey, J. Imaging Sci. Technol. 38 (1994) 520, from memory. The patches are not quite neutral.
    every_side = dict.fromkeys(SIDES, 0.0) | sides
    dyes = absorptions(every_side)
    fade = dyes @ np.diag(KEPT) @ np.linalg.inv(dyes)
    codes = _scanned([*(-np.log10(chart) @ fade.T + STAIN), np.zeros(3)])
    named = {f"dye_fade.{name}": value for name, value in sides.items()}
    dark, light = _measured(_reel("faded-print", named), "dye_fade", codes, BLACK, WHITE)
    kept, stain = fading(dark, light, dyes)
    np.testing.assert_allclose(kept, KEPT / KEPT.max(), atol=0.03)
    settings = named | {"dye_fade.kept": tuple(kept), "dye_fade.stain": tuple(stain)}
    neutral = _graded(_reel("faded-print", settings), codes)
    assert np.ptp(neutral[[WHITE, BLACK]], axis=1).max() < 0.004
    # What the most lasting dye has lost too is contrast and density alone: gamma and gain of the primary.
    want = (chart[[WHITE, BLACK]] ** (1 / 2.4)).mean(axis=1)
    have = neutral[[WHITE, BLACK]].mean(axis=1)
    gamma = float(np.log(have[0] / have[1]) / np.log(want[0] / want[1]))
    gain = float(want[0] ** gamma / have[0])
    after = _graded(_reel("faded-print", settings | {"primary.gamma": gamma, "primary.gain": gain}), codes)
    assert _difference(chart, _graded(_reel("faded-print", {}), codes)[:24]).mean() > 8
    assert _difference(chart, after[:24]).mean() < 1.0


def test_film_base_on_a_density_scan_is_one_scale_and_one_offset_before_light():
    reel = _reel("negative", {"film_base.film": "negative", "film_base.base": tuple(ORANGE)})
    with _grade(reel) as grade:
        steps = [step.primitive for step in walk(grade.program(0)) if step.arguments]
    assert steps == ["scale", "offset", "toe_antilog", "power"]


def test_what_was_kept_and_stained_is_found_exactly_and_both_patches_come_out_neutral():
    rng = np.random.default_rng(9)
    for _ in range(50):
        dyes = np.eye(3) + rng.uniform(0, 0.45, (3, 3)) * (1 - np.eye(3))
        kept = rng.uniform(0.3, 1, 3)
        kept[rng.integers(3)] = 1.0
        fade = dyes @ np.diag(kept) @ np.linalg.inv(dyes)
        stain = rng.uniform(-0.1, 0.3, 3)
        dark, light = (fade @ np.full(3, d) + stain for d in (1.8, 0.2))
        found, stained = fading(dark, light, dyes)
        np.testing.assert_allclose(found, kept, rtol=1e-9)
        restored = np.linalg.inv(dyes @ np.diag(found) @ np.linalg.inv(dyes))
        for patch in (dark, light):
            np.testing.assert_allclose(np.ptp(restored @ (patch - stained)), 0, atol=1e-9)


def test_patches_that_do_not_differ_or_come_in_the_wrong_order_are_refused():
    with pytest.raises(BadInput, match="a dark patch and then a light one"):
        fading(np.array([0.5, 0.9, 0.7]), np.array([0.5, 0.2, 0.1]), np.eye(3))
    with pytest.raises(BadInput, match="a dark patch and then a light one"):
        fading(np.full(3, 0.1), np.full(3, 1.0), np.eye(3))


def test_a_speck_of_dust_does_not_move_a_patch():
    patch = np.random.default_rng(5).normal(0.3, 0.002, (3, 20, 20))
    patch[:, 3:6, 3:9] = 2.5
    np.testing.assert_allclose(density_of(patch), 0.3, atol=5e-4)


@pytest.mark.parametrize(
    "patch", [Patch(-1, 0, 5, 5), Patch(0, 0, 0, 5), Patch(496, 0, 5, 5), Patch(0, 16, 5, 5)]
)
def test_a_patch_outside_the_scan_is_refused(patch):
    with pytest.raises(BadInput, match="does not lie within the scan, which is 500x20"):
        patch.of(np.zeros((3, 20, 500)))
