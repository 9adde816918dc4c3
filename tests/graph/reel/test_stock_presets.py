"""Every stock fits its chain, and starts its film with white, grey and black about where they belong."""

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.reel.presets import chain_preset, preset_names, stock_preset
from lamphouse.nodes.catalogue import Catalogue


@pytest.mark.parametrize("name", preset_names("stocks"))
def test_a_stock_fits_the_chain_that_it_names(name):
    stock = stock_preset(name)
    controls = Controls(chain_preset(stock.chain).chain, Catalogue())
    settings = controls.check(stock.settings, "")
    assert any(value != controls.neutral[key] for key, value in settings.items())
    assert "starting point" in stock.sentence.lower()


def started(name, densities):
    """The video signal, (n, 3), that a stock makes of film of those densities above clear light or base."""
    stock = stock_preset(name)
    chain = chain_preset(stock.chain).chain
    controls = Controls(chain, Catalogue())
    settings = controls.effective(controls.check(stock.settings, ""))
    film = np.array(densities, float).T
    # 0.002 density a code above code 95 (common practice with SMPTE ST 268-1), or ITU-R BT.1886.
    codes = (film / 0.002 + 95) / 1023 if stock.encoding == "density" else 10 ** (-film / 2.4)
    program = Program(chain, stock.encoding or "video", Catalogue())
    with NumpyRun(1) as run:
        return run.run(program.expression(settings), {SCAN: codes}, inputs=program.numbers(settings)).T


# White, a laboratory's grey patch and black. Kodak H-387, second-hand: the patch is code 445, 0.70 above code
# 95, in a scan, and printing density 0.89 above the base of a duplicate negative, whose black is code 95 of
# the file, 0.19 above it; from memory: on a master positive it is 1.0 above the base. White and black lie
# from it as those of a negative of gamma 0.6 do, 1.17 and 0 above its base, in a steeper layer farther
# (common practice). Prints: the patch is 1.09, 1.06, 1.03 (H-387). Densest black of prints and reversal:
# from memory.
TONES = {
    "tungsten-colour-negative": ((1.17, 1.17, 1.21), (0.70, 0.70, 0.72), 0.0),
    "daylight-colour-negative": ((1.17, 1.19, 1.23), (0.70, 0.71, 0.735), 0.0),
    "black-and-white-negative": (1.2, 0.70, 0.0),
    "internegative": (1.36, 0.89, 0.19),
    "interpositive": (0.53, 1.0, 1.70),
    "colour-print-density": (0.06, (1.09, 1.06, 1.03), 3.4),
    "black-and-white-reversal": (0.08, 1.0, 3.0),
    "daylight-colour-reversal": ((0.15, 0.15, 0.17), 1.0, 3.2),
}


@pytest.mark.parametrize("name", TONES)
def test_a_stock_for_densities_starts_with_white_grey_and_black_where_they_belong(name):
    white, grey, black = started(name, [np.broadcast_to(tone, 3) for tone in TONES[name]])
    assert white == pytest.approx(np.ones(3), abs=0.06)
    assert 0.28 < grey.min() <= grey.max() < 0.55
    assert np.ptp(grey) < 0.04
    assert -0.005 < black.min() <= black.max() < 0.11
    if name in ("internegative", "interpositive", "colour-print-density", "black-and-white-reversal"):
        assert white == pytest.approx(np.ones(3), abs=0.005)
        assert np.ptp(grey) < 0.002
        assert black.max() < 0.02


def test_every_stock_for_densities_is_among_those_whose_tones_are_known():
    assert {name for name in preset_names("stocks") if stock_preset(name).encoding == "density"} == set(TONES)


def test_an_intermediate_prints_as_the_negative_that_it_was_made_from_but_for_a_blacker_black():
    densities = (1.17, 0.9, 0.7, 0.5)
    negative = started("tungsten-colour-negative", [(d, d, d) for d in densities])
    positive = started("interpositive", [(1.70 - d,) * 3 for d in densities])
    again = started("internegative", [(0.19 + d,) * 3 for d in densities])
    assert positive == pytest.approx(again, abs=1e-6)
    assert positive[:, :2] == pytest.approx(negative[:, :2], abs=0.06)  # the blue layer is steeper


@pytest.mark.parametrize(
    ("name", "clear", "dark"),
    [
        ("tinted-print", (0.05, 0.20, 0.75), (1.25, 1.40, 1.95)),  # amber all over (invented)
        ("toned-print", (0.05, 0.05, 0.05), (1.6, 1.2, 0.9)),  # a blue image on clear film (invented)
    ],
)
def test_what_a_print_was_tinted_or_toned_with_stays(name, clear, dark):
    plane = encode_matrix("bt709")[1:]
    before = 10 ** (-np.array([clear, dark]) / 2.4)
    after = started(name, [clear, dark])
    for was, now in zip(before @ plane.T, after @ plane.T, strict=True):
        if np.hypot(*was) < 1e-9:
            assert np.hypot(*now) < 1e-9
            continue
        assert was @ now / np.hypot(*was) / np.hypot(*now) > np.cos(np.radians(2))
        assert 0.95 < np.hypot(*now) / np.hypot(*was) < 1.1
    assert 0.9 < after[0].max() < 1.02
    assert "balance" in stock_preset(name).sentence
    assert stock_preset("black-and-white-print").settings["saturation.amount"] == 0  # which takes it away
