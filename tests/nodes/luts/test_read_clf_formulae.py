"""Range, Exponent and Log of a CLF file, against formulae of the CLF specification v3.0 written out here."""

import math

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput

FLOATS = 'inBitDepth="32f" outBitDepth="32f"'
X = [-1.5, -0.3, -0.01, -1e-4, 0.0, 1e-4, 0.003, 0.02, 0.0801, 0.18, 0.5, 0.9, 1.0, 1.7, 4.0]


def exponent(style, *params):
    inside = "".join(f"<ExponentParams {p}/>" for p in params)
    return f'<Exponent {FLOATS} style="{style}">{inside}</Exponent>'


def log(style, *params):
    return f'<Log {FLOATS} style="{style}">{"".join(f"<LogParams {p}/>" for p in params)}</Log>'


def range_node(depths=FLOATS, style="", **limits):
    inside = "".join(f"<{name}>{value}</{name}>" for name, value in limits.items())
    return f"<Range {depths} {style}>{inside}</Range>"


def one_channel(through, lut, values):
    """What the LUT makes of greys, which must stay grey."""
    result = through(lut, np.tile(values, (3, 1)).T)
    np.testing.assert_array_equal(result, result[:, :1] * np.ones(3))
    return result[:, 0]


# Range


def test_example_5_leads_full_range_to_video_range(clf, through):
    depths = 'inBitDepth="10i" outBitDepth="10i"'
    node = range_node(depths, minInValue=0, maxInValue=1023, minOutValue=64, maxOutValue=940)
    codes = one_channel(through, clf(node), np.array([0, 512, 1023, -100, 2000]) / 1023) * 1023
    np.testing.assert_allclose(codes, [64, 502.428153, 940, 64, 940], atol=5e-7)


@pytest.mark.parametrize(("style", "ends"), [("", (-0.5, 2)), ('style="noClamp"', (-0.67857143, 2.16741071))])
def test_a_range_between_depths_is_held_unless_it_says_otherwise(clf, through, style, ends):
    # (128 - 16) * 2.5 / 224 - 0.5 = 0.75; arithmetic, and likewise for 0 and 255.
    depths = 'inBitDepth="8i" outBitDepth="32f"'
    node = range_node(depths, style, minInValue=16, maxInValue=240, minOutValue=-0.5, maxOutValue=2)
    result = one_channel(through, clf(node), np.array([16, 128, 240, 0, 255]) / 255)
    np.testing.assert_allclose(result, [-0.5, 0.75, 2, *ends], atol=1e-8)


def test_a_range_with_one_end_holds_that_end_alone(clf, through):
    low = range_node('inBitDepth="10i" outBitDepth="8i"', minInValue=204.6, minOutValue=51)
    high = range_node(maxInValue=0.8, maxOutValue=0.8)
    np.testing.assert_allclose(
        one_channel(through, clf(low), [-1, 0.1, 0.5, 3]), [0.2, 0.2, 0.5, 3], atol=1e-12
    )
    np.testing.assert_allclose(one_channel(through, clf(high), [-1, 0.1, 0.9, 3]), [-1, 0.1, 0.8, 0.8])


# Exponent


def mon_curve_fwd(x, g, k):
    s = (g - 1) / k * (k * g / ((g - 1) * (1 + k))) ** g
    return ((x + k) / (1 + k)) ** g if x >= k / (g - 1) else x * s


def mon_curve_rev(y, g, k):
    at = (k * g / ((g - 1) * (1 + k))) ** g
    return (1 + k) * y ** (1 / g) - k if y >= at else y / ((g - 1) / k * at)


FORMULAE = {
    "basicFwd": lambda x, g, k: max(0, x) ** g,
    "basicRev": lambda y, g, k: max(0, y) ** (1 / g),
    "basicMirrorFwd": lambda x, g, k: x**g if x >= 0 else -((-x) ** g),
    "basicMirrorRev": lambda y, g, k: y ** (1 / g) if y >= 0 else -((-y) ** (1 / g)),
    "basicPassThruFwd": lambda x, g, k: x**g if x >= 0 else x,
    "basicPassThruRev": lambda y, g, k: y ** (1 / g) if y >= 0 else y,
    "monCurveFwd": mon_curve_fwd,
    "monCurveRev": mon_curve_rev,
    "monCurveMirrorFwd": lambda x, g, k: mon_curve_fwd(x, g, k) if x >= 0 else -mon_curve_fwd(-x, g, k),
    "monCurveMirrorRev": lambda y, g, k: mon_curve_rev(y, g, k) if y >= 0 else -mon_curve_rev(-y, g, k),
}
NUMBERS = ((2.4, 0.055), (1 / 0.45, 0.099), (3.0, 0.16))


@pytest.mark.parametrize("style", FORMULAE)
def test_every_style_of_exponent_is_its_formula(clf, through, style):
    for g, k in NUMBERS:
        params = f'exponent="{g!r}" offset="{k!r}"' if style.startswith("mon") else f'exponent="{g!r}"'
        expected = [FORMULAE[style](x, g, k) for x in X]
        np.testing.assert_allclose(
            one_channel(through, clf(exponent(style, params)), X), expected, atol=1e-13
        )


@pytest.mark.parametrize("style", FORMULAE)
def test_channels_have_exponents_of_their_own_and_one_without_passes_unchanged(clf, through, style):
    rgb = np.tile(X, (3, 1)).T
    toes = [f'offset="{k!r}"' if style.startswith("mon") else "" for _, k in NUMBERS]
    params = [
        f'channel="{c}" exponent="{g!r}" {t}' for c, (g, _), t in zip("BRG", NUMBERS, toes, strict=True)
    ]
    result = through(clf(exponent(style, *params)), rgb)
    expected = [[FORMULAE[style](x, *NUMBERS["BRG".index(c)]) for c in "RGB"] for x in X]
    np.testing.assert_allclose(result, expected, atol=1e-13)
    blue_alone = through(clf(exponent(style, params[0])), rgb)
    np.testing.assert_array_equal(blue_alone[:, :2], rgb[:, :2])
    np.testing.assert_allclose(blue_alone[:, 2], np.array(expected)[:, 2], atol=1e-13)


@pytest.mark.parametrize(
    ("g", "k", "result"),
    [
        (2.4, 0.055, 0.461356129500442),  # IEC 61966-2-1 of 0.18
        (2.2222222222222222, 0.099, 0.4090077289),  # ITU-R BT.709-6 of 0.18; arithmetic
        (3.0, 0.16, 0.4949610761),  # CIE L* / 100 of 0.18, example 15; arithmetic
    ],
)
def test_a_mon_curve_is_the_transfer_function_of_a_standard(clf, through, g, k, result):
    lut = clf(exponent("monCurveRev", f'exponent="{g}" offset="{k}"'))
    np.testing.assert_allclose(one_channel(through, lut, [0.18]), [result], atol=5e-11)


@pytest.mark.parametrize("mirror", ["", "Mirror"])
def test_where_the_formulae_would_divide_by_zero_their_limits_stand(clf, through, mirror):
    x = np.array(X)
    near = {}
    for g, k in ((1, 0.1), (2.4, 0), (1, 0)):
        fwd, rev = (
            clf(exponent(f"monCurve{mirror}{way}", f'exponent="{g}" offset="{k}"')) for way in ("Fwd", "Rev")
        )
        near[g, k] = one_channel(through, fwd, x), one_channel(through, rev, x)
    np.testing.assert_allclose(near[1, 0.1], (x / 1.1, x * 1.1), atol=1e-13)
    np.testing.assert_array_equal(near[1, 0], (x, x))
    by_hand = np.sign(x) * np.abs(x) ** 2.4, np.sign(x) * np.abs(x) ** (1 / 2.4)
    if not mirror:  # below zero: x s with s of 0, and the inverse held at zero
        by_hand = tuple(np.maximum(side, 0) for side in by_hand)
    np.testing.assert_allclose(near[2.4, 0], by_hand, atol=1e-13)
    # The limits are what numbers just beside them give.
    g, k = 1 + 1e-9, 0.1
    np.testing.assert_allclose(
        near[1, 0.1][0], [mon_curve_fwd(abs(v), g, k) * math.copysign(1, v) for v in X], atol=1e-6
    )


# Log

BASES = {
    "film curve": 'base="10" logSideSlope="0.29325513196" logSideOffset="0.66959921799" '
    'linSideSlope="0.98920224838" linSideOffset="0.01079775162"',
    "base 2": 'logSideSlope="0.05707762557" logSideOffset="0.5547945205" linSideBreak="0.0078125"',
    "with a slope": 'base="10" logSideSlope="0.25" logSideOffset="0.58" linSideSlope="0.99" '
    'linSideOffset="0.01" linSideBreak="0.0078" linearSlope="6"',
}
FLT_MIN = 1.175494e-38


def numbers_of(params):
    """Return base, log slope and offset, linear slope and offset, break, slope of the straight part."""
    given = {name: float(value.strip('"')) for name, value in (p.split("=") for p in params.split())}
    names = ("base", "logSideSlope", "logSideOffset", "linSideSlope", "linSideOffset")
    plain = [given.get(name, default) for name, default in zip(names, (2, 1, 0, 1, 0), strict=True)]
    return *plain, given.get("linSideBreak", 0.01), given.get("linearSlope")


def lin_to_log(x, base, slope, offset, lin_slope, lin_offset, *_):
    return slope * math.log(max(lin_slope * x + lin_offset, FLT_MIN), base) + offset


def log_to_lin(y, base, slope, offset, lin_slope, lin_offset, *_):
    return (base ** ((y - offset) / slope) - lin_offset) / lin_slope


def camera(base, slope, offset, lin_slope, lin_offset, at, straight):
    """Return the slope and offset of the straight part, and where it ends on the side of logarithms."""
    inner = lin_slope * at + lin_offset
    log_at = slope * math.log(inner, base) + offset
    straight = slope * lin_slope / (inner * math.log(base)) if straight is None else straight
    return straight, log_at - straight * at, log_at


def camera_lin_to_log(x, *numbers):
    straight, start, _ = camera(*numbers)
    return straight * x + start if x <= numbers[5] else lin_to_log(x, *numbers)


def camera_log_to_lin(y, *numbers):
    straight, start, log_at = camera(*numbers)
    return (y - start) / straight if y <= log_at else log_to_lin(y, *numbers)


SCALED = {
    "linToLog": lin_to_log,
    "logToLin": log_to_lin,
    "cameraLinToLog": camera_lin_to_log,
    "cameraLogToLin": camera_log_to_lin,
}
PLAIN = {
    "log10": lambda x: math.log10(max(x, FLT_MIN)),
    "log2": lambda x: math.log2(max(x, FLT_MIN)),
    "antiLog10": lambda y: 10**y,
    "antiLog2": lambda y: 2**y,
}
Y = [-0.2, 0.0, 0.05, 0.0928, 0.1, 0.155, 0.2, 0.41, 0.5548, 0.67, 0.9, 1.0]


@pytest.mark.parametrize("style", PLAIN)
def test_every_plain_style_of_log_is_its_formula(clf, through, style):
    expected = [PLAIN[style](x) for x in X]
    np.testing.assert_allclose(one_channel(through, clf(log(style)), X), expected, rtol=1e-12)


@pytest.mark.parametrize("style", SCALED)
@pytest.mark.parametrize("name", BASES)
def test_every_scaled_style_of_log_is_its_formula(clf, through, style, name):
    params = BASES[name] if "linSideBreak" in BASES[name] else BASES[name] + ' linSideBreak="0.01"'
    values = X if style.endswith("Log") else Y
    expected = [SCALED[style](v, *numbers_of(params)) for v in values]
    np.testing.assert_allclose(
        one_channel(through, clf(log(style, params)), values), expected, rtol=1e-11, atol=1e-13
    )


@pytest.mark.parametrize("style", SCALED)
def test_channels_have_logs_of_their_own_and_one_without_passes_unchanged(clf, through, style):
    params = [f'{BASES["base 2"]} channel="R"', 'linSideSlope="3" linSideBreak="0.1" channel="B"']
    values = X if style.endswith("Log") else Y
    result = through(clf(log(style, *params)), np.tile(values, (3, 1)).T)
    red, blue = ([SCALED[style](v, *numbers_of(p.rpartition(" ")[0])) for v in values] for p in params)
    np.testing.assert_allclose(result, np.array([red, values, blue]).T, rtol=1e-11, atol=1e-13)


def test_the_film_curve_puts_black_and_white_at_95_and_685(clf, through):
    # Light 0, 0.18 and 1 in a 10-bit printing-density scan: 95 / 1023, 0.457319613085418 and 685 / 1023, as
    # colour-science's test of that log encoding prints them. The parameters: CLF specification, appendix B.
    result = one_channel(through, clf(log("linToLog", BASES["film curve"])), [0, 0.18, 1])
    np.testing.assert_allclose(result, [0.0928641251, 0.4573196131, 0.6695992180], atol=5e-10)


def test_example_14_finds_its_own_straight_part(clf, through):
    lut = clf(log("cameraLinToLog", 'base="2" ' + BASES["base 2"]))
    result = one_channel(through, lut, [0.18, 1, 0, 0.001])
    start, slope = 0.0729055342, 10.5402377415  # solved by the note on LogParams; arithmetic
    np.testing.assert_allclose(result, [0.4135884024, 0.5547945205, start, start + slope / 1000], atol=5e-10)


REFUSED = {
    "range of nothing": (range_node(), "it has no limits"),
    "half a pair": (range_node(minInValue=0), "minInValue and minOutValue go together"),
    "one end without clamp": (
        range_node(style='style="noClamp"', maxInValue=1, maxOutValue=1),
        "with noClamp it needs all four",
    ),
    "one end that moves": (range_node(minInValue=0.1, minOutValue=0.2), "minOutValue must be minInValue"),
    "ends crossed": (
        range_node(minInValue=1, maxInValue=1, minOutValue=0, maxOutValue=1),
        "maxInValue must be more than its minInValue",
    ),
    "out values crossed": (
        range_node(minInValue=0, maxInValue=1, minOutValue=1, maxOutValue=0),
        "out values in order",
    ),
    "range of words": (
        range_node(minInValue="low", minOutValue=0),
        "line 3, minInValue: 'low' is not a number",
    ),
    "style of range": (range_node(style='style="clamp"'), "style = clamp is not known (did you mean Clamp"),
    "no style": (f"<Exponent {FLOATS}/>", "style is missing"),
    "no exponent params": (exponent("basicFwd"), "it has no ExponentParams"),
    "no exponent": (exponent("basicFwd", 'channel="R"'), "exponent is missing"),
    "exponent of 0": (exponent("basicRev", 'exponent="0"'), "exponent must be more than 0"),
    "toe for a basic style": (exponent("basicRev", 'exponent="2" offset="0.1"'), "takes no offset"),
    "mon curve without a toe": (exponent("monCurveFwd", 'exponent="2"'), "offset is missing"),
    "mon curve too steep": (exponent("monCurveFwd", 'exponent="11" offset="0.1"'), "from 1 to 10"),
    "no such channel": (exponent("basicFwd", 'exponent="2" channel="A"'), "channel = A is not R, G or B"),
    "channel twice": (exponent("basicFwd", 'exponent="2"', 'exponent="2" channel="G"'), "channel G has"),
    "log without params": (log("linToLog"), "with linToLog it needs LogParams"),
    "base of 1": (log("linToLog", 'base="1"'), "base must be more than 0, and not 1"),
    "two bases": (log("linToLog", 'channel="R"', 'base="10" channel="G"'), "the same base"),
    "slope of 0": (log("logToLin", 'linSideSlope="0"'), "must not be 0"),
    "camera without a break": (log("cameraLinToLog", ""), "linSideBreak is missing"),
    "break below zero": (
        log("cameraLogToLin", 'linSideBreak="-1"'),
        "no logarithm exists at its linSideBreak",
    ),
    "level straight part": (
        log("cameraLogToLin", 'linSideBreak="1" linearSlope="0"'),
        "linearSlope must not",
    ),
    "not finite": (
        log("linToLog", 'logSideOffset="inf"'),
        "line 3, LogParams, logSideOffset: inf is not a finite number",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_formula_without_sense_is_refused_where_it_stands(clf, case):
    nodes, words = REFUSED[case]
    with pytest.raises(BadInput, match=r"^a\.clf, line 3, .*\.$") as refused:
        clf(nodes)
    assert words in str(refused.value)
