"""CLF nodes against colour-clf-io, an independent reader that also executes.

It is asked only where it follows the specification. Its release 0.2.0 does not: for antilogarithms of
negative numbers (it takes them for zero), camera styles without linearSlope, matrices of 3 x 4, depths of
integers other than in Range, LUT1D other than of two entries from 0 to 1 or over half floats, LUT3D of more
than two nodes an axis.
"""

import numpy as np
import pytest

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.luts.clf.file import clf_bytes, read_clf

FLOATS = 'inBitDepth="32f" outBitDepth="32f"'
AMPAS = 'id="a" compCLFversion="3.0" xmlns="urn:AMPAS:CLF:v3.0"'
RNG = np.random.default_rng(8)
COLOURS = RNG.uniform(-0.4, 1.6, (25, 3))

GAMMA = '<ExponentParams channel="R" exponent="2.2"/><ExponentParams channel="B" exponent="0.7"/>'
TOE = (
    '<ExponentParams channel="R" exponent="2.4" offset="0.055"/>'
    '<ExponentParams channel="G" exponent="2.2" offset="0.1"/>'
)
LOG = (
    '<LogParams base="10" logSideSlope="0.25" logSideOffset="0.58" linSideSlope="0.99" '
    'linSideOffset="0.01" linSideBreak="0.0078" linearSlope="6"/>'
)
CDL = (
    "<SOPNode><Slope>1.1 0.9 1.3</Slope><Offset>-.03 2e-2 0.1</Offset><Power>1.25 0.8 1.1</Power></SOPNode>"
    "<SatNode><Saturation>1.7</Saturation></SatNode>"
)
LIMITS = {"minIn": 20, "maxIn": 200, "minOut": 100, "maxOut": 900}
CUBE = f'<Array dim="2 2 2 3">{" ".join(map(str, RNG.uniform(-0.2, 1.2, 24)))}</Array>'

NODES = {
    **{
        f"Exponent {style}": f'<Exponent {FLOATS} style="{style}">{params}</Exponent>'
        for params, kinds in (
            (GAMMA, ("basic", "basicMirror", "basicPassThru")),
            (TOE, ("monCurve", "monCurveMirror")),
        )
        for style in (f"{kind}{way}" for kind in kinds for way in ("Fwd", "Rev"))
    },
    **{f"Log {style}": f'<Log {FLOATS} style="{style}"/>' for style in ("log10", "log2")},
    **{
        f"Log {style}": f'<Log {FLOATS} style="{style}">{LOG}</Log>'
        for style in ("linToLog", "logToLin", "cameraLinToLog", "cameraLogToLin")
    },
    **{
        f"ASC_CDL {style}": f'<ASC_CDL {FLOATS} style="{style}">{CDL}</ASC_CDL>'
        for style in ("Fwd", "Rev", "FwdNoClamp", "RevNoClamp")
    },
    **{
        f"Range {style}": f'<Range inBitDepth="8i" outBitDepth="10i" style="{style}">'
        + "".join(f"<{name}Value>{value}</{name}Value>" for name, value in LIMITS.items())
        + "</Range>"
        for style in ("Clamp", "noClamp")
    },
    **{
        f"LUT3D {between}": f'<LUT3D {FLOATS} interpolation="{between}">{CUBE}</LUT3D>'
        for between in ("trilinear", "tetrahedral")
    },
    "Matrix": f'<Matrix {FLOATS}><Array dim="3 3">1 .1 -2e-1 0 0.9 0 .3 .3 .5</Array></Matrix>',
}


@pytest.fixture(scope="module")
def judged():
    """A function from the text of a CLF file and rows of colours to what colour-clf-io makes of them."""
    colour_science()  # which colour-clf-io imports as well, and not quietly
    import colour_clf_io

    def run(text, rows):
        process = colour_clf_io.CLFProcessList(colour_clf_io.read_clf(text.encode()))
        with np.errstate(all="ignore"):  # it also raises what it then leaves out
            return np.array([process.apply(row, normalised_values=True) for row in rows])

    return run


@pytest.mark.parametrize("name", NODES)
def test_a_node_does_what_an_independent_reader_makes_of_it(clf, clf_text, through, judged, name):
    expected = judged(clf_text(NODES[name], AMPAS), COLOURS)
    np.testing.assert_allclose(through(clf(NODES[name], AMPAS), COLOURS), expected, rtol=1e-11, atol=1e-12)
    assert np.abs(expected - COLOURS).max() > 0.01


@pytest.mark.parametrize("name", NODES)
def test_a_node_that_is_written_again_is_the_same_to_an_independent_reader(clf_text, judged, name):
    text = clf_text(NODES[name], AMPAS)
    again = clf_bytes(read_clf(text.encode(), "a.clf")).decode()
    np.testing.assert_array_equal(judged(again, COLOURS), judged(text, COLOURS))


@pytest.mark.parametrize("style", ["antiLog10", "antiLog2"])
def test_an_antilogarithm_of_what_is_not_negative_is_the_same(clf, clf_text, through, judged, style):
    node = f'<Log {FLOATS} style="{style}"/>'
    colours = np.abs(COLOURS)
    np.testing.assert_allclose(through(clf(node), colours), judged(clf_text(node), colours), rtol=1e-12)


# colour-clf-io 0.2 reads a half's code by setting the dtype of its array, which NumPy 2.5 deprecates.
@pytest.mark.filterwarnings("ignore:Setting the dtype:DeprecationWarning:colour_clf_io.processing")
def test_a_half_domain_table_is_the_same_at_half_floats(clf, clf_text, through, judged):
    codes = " ".join(map(str, range(65536)))
    node = f'<LUT1D {FLOATS} halfDomain="true"><Array dim="65536 1">{codes}</Array></LUT1D>'
    halfs = COLOURS.astype(np.float16).astype(np.float64)
    np.testing.assert_array_equal(through(clf(node), halfs), judged(clf_text(node), halfs))
