"""A CLF file around the process nodes of a test, as text and as a LUT; and strategies of CLF lists."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import strategies as st

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.clf import exponent, log
from lamphouse.nodes.luts.clf.asc_cdl import STYLES as CDL_STYLES
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.depths import DEPTH_SCALES
from lamphouse.nodes.luts.clf.exponent import Exponent, ExponentParams
from lamphouse.nodes.luts.clf.file import read_clf
from lamphouse.nodes.luts.clf.log import Log, LogParams
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_list import NAMESPACES, VERSIONS, Entry, ProcessList
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import INTERPOLATIONS, Lut1D, Lut3D

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
ROOT = 'id="a" compCLFversion="3.0"'


def _clf_text(nodes: str, root: str = ROOT) -> str:
    """Return a file whose process nodes begin in line 3."""
    return f"{HEAD}<ProcessList {root}>\n{nodes}\n</ProcessList>\n"


@pytest.fixture(scope="session")
def clf_text():
    """A function from process nodes, and what stands in the root's tag, to the text of a CLF file."""
    return _clf_text


@pytest.fixture(scope="session")
def clf():
    """A function from process nodes, and what stands in the root's tag, to the LUT that is read."""
    return lambda nodes, root=ROOT: read_clf(_clf_text(nodes, root).encode(), "a.clf").lut()


@pytest.fixture(scope="session")
def through():
    """A function from a LUT and rows of three numbers to the rows that it makes, in float64."""
    return lambda lut, rows: lut(np.array(rows, np.float64).reshape(-1, 3).T).T


@pytest.fixture(scope="session")
def any_node_row():
    """A strategy of process nodes in a row, whose depths meet."""
    return node_rows()


@pytest.fixture(scope="session")
def any_list():
    """A strategy of whole lists."""
    return LISTS


# Characters that XML 1.0 can hold; an end of line is one character in it, whatever it was.
CHARACTERS = st.characters(
    codec="utf-8", exclude_characters="\r\ufffe\uffff", exclude_categories=["Cc", "Cs"]
)
TEXT = st.text(CHARACTERS, max_size=12)
SPOKEN = TEXT.map(str.strip)
NUMBERS = st.just(0.0) | st.floats(-1e18, 1e18)
ABOVE = st.floats(1e-6, 1e6)
CHANNELS = st.lists(st.sampled_from("RGB"), min_size=1, max_size=3, unique=True)


def arrays(*shape, of=NUMBERS):
    count = int(np.prod(shape))
    listed = st.lists(of, min_size=count, max_size=count)
    return listed.map(lambda numbers: np.array(numbers, np.float64).reshape(shape))


def by_channel(kind, **fields):
    """Parameters for all three channels, or for some of them, in any order."""

    def of(channels):
        return st.tuples(*(st.builds(kind, channel=st.just(c), **fields) for c in channels))

    return st.one_of(st.just([None]), CHANNELS).flatmap(of)


@st.composite
def matrices(draw, given):
    return Matrix(array=draw(arrays(3, draw(st.sampled_from([3, 4])))), **given)


@st.composite
def ranges(draw, given):
    ends = draw(st.sampled_from(["min", "max", "both"]))
    if ends == "both":
        low, high, out = draw(st.floats(-1e4, 1e4)), draw(ABOVE), draw(st.floats(-1e4, 1e4))
        limits = {"min_in_value": low, "max_in_value": low + 1 + high}
        limits |= {"min_out_value": out, "max_out_value": out + draw(st.floats(0, 1e4))}
        return Range(**limits, style=draw(st.sampled_from(["Clamp", "noClamp"])), **given)
    before = draw(st.floats(-2, 2))
    after = before / DEPTH_SCALES[given["in_depth"]] * DEPTH_SCALES[given["out_depth"]]
    return Range(**{f"{ends}_in_value": before, f"{ends}_out_value": after}, **given)


@st.composite
def logs(draw, given):
    style = draw(st.sampled_from(log.STYLES))
    fields = {"base": st.just(draw(st.sampled_from([2.0, 10.0, 2.718281828]))), "lin_side_offset": ABOVE}
    fields |= {"log_side_slope": ABOVE, "log_side_offset": NUMBERS, "lin_side_slope": ABOVE}
    if style.startswith("camera"):
        fields |= {"lin_side_break": ABOVE, "linear_slope": st.none() | ABOVE}
    return Log(
        style=style, params=() if style in log.PLAIN else draw(by_channel(LogParams, **fields)), **given
    )


@st.composite
def exponents(draw, given):
    style = draw(st.sampled_from(list(exponent.STYLES)))
    fields = {"exponent": ABOVE, "offset": st.none()}
    if style.startswith("monCurve"):
        fields = {"exponent": st.floats(1, 10), "offset": st.just(0.0) | st.floats(0, 0.9)}
    return Exponent(style=style, params=draw(by_channel(ExponentParams, **fields)), **given)


@st.composite
def cdls(draw, given):
    clamp, goes_back = CDL_STYLES[draw(st.sampled_from(list(CDL_STYLES)))]
    triples = [st.tuples(*[of] * 3) for of in (ABOVE, NUMBERS, ABOVE)]
    cdl = draw(st.builds(Cdl, *triples, ABOVE, clamp=st.just(clamp)))
    return AscCdl(cdl=cdl, goes_back=goes_back, **given)


@st.composite
def tables_1d(draw, given):
    raw = draw(st.booleans())
    patterns = st.integers(0, 0x7BFF) | st.integers(0x8000, 0xFBFF)
    shape = draw(st.integers(2, 6)), draw(st.sampled_from([1, 3]))
    return Lut1D(array=draw(arrays(*shape, of=patterns if raw else NUMBERS)), raw_halfs=raw, **given)


@st.composite
def tables_3d(draw, given):
    between = draw(st.sampled_from(INTERPOLATIONS))
    return Lut3D(array=draw(arrays(2, 2, 2, 3)), interpolation=between, **given)


KINDS = (matrices, ranges, logs, exponents, cdls, tables_1d, tables_3d)
INFO = ("AppRelease", "Copyright", "Revision", "ACEStransformID", "ACESuserName", "CalibrationInfo", "Maker")
ENTRIES = st.recursive(
    st.builds(Entry, st.sampled_from(INFO), SPOKEN),
    lambda within: st.builds(
        Entry, st.sampled_from(INFO), st.just(""), st.lists(within, max_size=2).map(tuple)
    ),
    max_leaves=4,
)


@st.composite
def node_rows(draw):
    depths = draw(st.lists(st.sampled_from(list(DEPTH_SCALES)), min_size=2, max_size=5))
    nodes = []
    for into, out in pairwise(depths):
        given = {"in_depth": into, "out_depth": out, "id": draw(TEXT), "name": draw(TEXT)}
        given["descriptions"] = tuple(draw(st.lists(SPOKEN, max_size=2)))
        nodes.append(draw(draw(st.sampled_from(KINDS))(given)))
    return tuple(nodes)


LISTS = st.builds(
    ProcessList,
    nodes=node_rows(),
    id=TEXT.filter(bool),
    namespace=st.sampled_from(NAMESPACES),
    version=st.sampled_from(VERSIONS),
    name=TEXT,
    inverse_of=TEXT,
    descriptions=st.lists(SPOKEN, max_size=2).map(tuple),
    input_descriptor=SPOKEN,
    output_descriptor=SPOKEN,
    info=st.lists(ENTRIES, max_size=3).map(tuple),
)
