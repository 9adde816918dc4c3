"""ASC_CDL of a CLF file: four styles, against the formulae that the CLF specification v3.0 restates.

ASC CDL v1.2 (2009) itself was not seen.
"""

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput

FLOATS = 'inBitDepth="16f" outBitDepth="16f"'
RNG = np.random.default_rng(12)
COLOURS = RNG.uniform(-0.4, 1.6, (200, 3))
SLOPE, OFFSET, POWER = (1.1, 0.9, 1.3), (-0.03, 0.02, 0.1), (1.25, 0.8, 1.0)
SATURATIONS = (1.7, 0.4)  # undoing the second leads out of 0..1


def words(numbers):
    return " ".join(f"{n!r}" for n in numbers)


def sop(slope=SLOPE, offset=OFFSET, power=POWER):
    return (
        f"<SOPNode><Description>as delivered</Description><Slope>{words(slope)}</Slope>"
        f"<Offset>{words(offset)}</Offset><Power>{words(power)}</Power></SOPNode>"
    )


def sat(saturation=1.7):
    return f"<SatNode><Saturation>{saturation}</Saturation></SatNode>"


def cdl(inside, style="", depths=FLOATS):
    asked = f'style="{style}"' if style else ""
    return f'<ASC_CDL id="cc01234" {depths} {asked}>{inside}</ASC_CDL>'


def clamp(x):
    return np.clip(x, 0, 1)


def luma(rgb):
    return (0.2126 * rgb[:, 0] + 0.7152 * rgb[:, 1] + 0.0722 * rgb[:, 2])[:, None]


def where_positive(x, power):
    return np.array([[v**p if v >= 0 else v for v, p in zip(row, power, strict=True)] for row in x])


def fwd(x, saturation):
    y = clamp(x * SLOPE + OFFSET) ** POWER
    return clamp(luma(y) + saturation * (y - luma(y)))


def fwd_no_clamp(x, saturation):
    y = where_positive(x * SLOPE + OFFSET, POWER)
    return luma(y) + saturation * (y - luma(y))


def rev(x, saturation):
    x = clamp(x)
    y = luma(x) + (x - luma(x)) / saturation
    return clamp((clamp(y) ** (1 / np.array(POWER)) - OFFSET) / SLOPE)


def rev_no_clamp(x, saturation):
    y = luma(x) + (x - luma(x)) / saturation
    return (where_positive(y, 1 / np.array(POWER)) - OFFSET) / SLOPE


STYLES = {"": fwd, "Fwd": fwd, "FwdNoClamp": fwd_no_clamp, "Rev": rev, "RevNoClamp": rev_no_clamp}


@pytest.mark.parametrize("style", STYLES)
def test_every_style_is_its_formula(clf, through, style):
    for saturation in SATURATIONS:
        result = through(clf(cdl(sop() + sat(saturation), style)), COLOURS)
        np.testing.assert_allclose(result, STYLES[style](COLOURS, saturation), atol=1e-12)


def test_example_12_as_computed_by_hand(clf, through):
    node = cdl(sop((1.0, 1.0, 0.9), (-0.03, -0.02, 0.0), (1.25, 1.0, 1.0)) + sat(1.7), "Fwd")
    np.testing.assert_allclose(
        through(clf(node), (0.5, 0.4, 0.3)), [(0.39976, 0.384197, 0.197197)], atol=5e-7
    )


@pytest.mark.parametrize(("saturation", "result"), [(0, (0.41404,) * 3), (0.75, (0.47851, 0.40351, 0.32851))])
def test_saturation_alone_as_computed_by_hand(clf, through, saturation, result):
    np.testing.assert_allclose(through(clf(cdl(sat(saturation))), (0.5, 0.4, 0.3)), [result], atol=1e-12)


def test_without_saturation_and_without_slope_offset_power_nothing_is_done(clf, through):
    np.testing.assert_allclose(through(clf(cdl("", "FwdNoClamp")), COLOURS), COLOURS, atol=1e-15)
    np.testing.assert_allclose(through(clf(cdl(sop())), COLOURS), clamp(COLOURS * SLOPE + OFFSET) ** POWER)


def test_the_ten_numbers_do_not_depend_on_depths(clf, through):
    tens, floats = (
        through(clf(cdl(sop() + sat(), "FwdNoClamp", depths)), COLOURS)
        for depths in ('inBitDepth="10i" outBitDepth="12i"', FLOATS)
    )
    np.testing.assert_array_equal(tens, floats)


def test_the_way_back_undoes_the_way_there(clf, through):
    there, back = (cdl(sop() + sat(1.2), style) for style in ("FwdNoClamp", "RevNoClamp"))
    np.testing.assert_allclose(through(clf(there + back), COLOURS), COLOURS, atol=1e-9)


REFUSED = {
    "no such style": (cdl(sop(), "v1.2_Fwd"), "style = v1.2_Fwd is not known (did you mean Fwd"),
    "no power": (
        cdl("<SOPNode><Slope>1 1 1</Slope><Offset>0 0 0</Offset></SOPNode>"),
        "SOPNode: it has no Power",
    ),
    "two slopes": (
        cdl(sop().replace("1.1 0.9 1.3", "1.1 0.9")),
        "Slope: it must hold 3 of them, and holds 2",
    ),
    "slope below 0": (cdl(sop(slope=(-1, 1, 1))), "must not be below 0"),
    "power of 0": (cdl(sop(power=(0, 1, 1))), "power must be above it"),
    "nothing undoes a slope of 0": (cdl(sop(slope=(0, 1, 1)), "Rev"), "nothing undoes them"),
    "nothing undoes black and white": (cdl(sat(0), "RevNoClamp"), "nothing undoes them"),
    "no number": (cdl(sat("strong")), "Saturation: 'strong' is not a number"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_numbers_without_sense_are_refused_where_they_stand(clf, case):
    nodes, said = REFUSED[case]
    with pytest.raises(BadInput, match=r"^a\.clf, line 3, .*\.$") as refused:
        clf(nodes)
    assert said in str(refused.value)
