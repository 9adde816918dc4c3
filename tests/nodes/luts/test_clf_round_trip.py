"""A CLF list that is written and read again is the list that it was: random lists of every kind of node."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.clf import exponent, log
from lamphouse.nodes.luts.clf.asc_cdl import STYLES as CDL_STYLES
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.depths import DEPTH_SCALES
from lamphouse.nodes.luts.clf.exponent import Exponent, ExponentParams
from lamphouse.nodes.luts.clf.fault import Fault
from lamphouse.nodes.luts.clf.file import clf_bytes, read_clf
from lamphouse.nodes.luts.clf.log import Log, LogParams
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_list import NAMESPACES, VERSIONS, Entry, ProcessList
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import INTERPOLATIONS, Lut1D, Lut3D

FINITE = np.isfinite(np.arange(65536, dtype=np.uint16).view(np.float16))

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


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(LISTS)
def test_a_list_that_is_written_and_read_is_the_same_list(made):
    assert read_clf(clf_bytes(made), "a.clf") == made


@settings(max_examples=12)
@given(st.integers(0, 99), st.sampled_from([1, 3]), st.booleans())
def test_a_table_over_every_half_float_comes_back(seed, columns, raw):
    rng = np.random.default_rng(seed)
    array = rng.uniform(-9, 9, (65536, columns))
    array[~FINITE] = np.nan  # what writers put where no number is asked for
    patterns = rng.integers(0, 0x7BFF, (65536, columns)).astype(np.float64)
    node = Lut1D(array=patterns if raw else array, half_domain=True, raw_halfs=raw)
    assert read_clf(clf_bytes(ProcessList(nodes=(node,), id="a")), "a.clf").nodes == (node,)


def test_a_table_of_32_bits_comes_back_with_all_its_digits_and_no_more():
    table = np.random.default_rng(5).uniform(-0.2, 1.2, (3, 3, 3, 3)).astype(np.float32)
    data = clf_bytes(ProcessList(nodes=(Lut3D(array=table),)))
    (node,) = read_clf(data, "a.clf").nodes
    np.testing.assert_array_equal(node.array.astype(np.float32), table)
    assert max(len(word.strip("-")) for word in data.decode().split("<Array")[1].split()[4:-3]) <= 14


def test_two_lists_that_differ_in_anything_are_not_the_same():
    node = Matrix.of(np.eye(3), np.zeros((3, 1)), "nothing")
    made = ProcessList(nodes=(node,), id="a")
    others = [
        replace(node, array=np.eye(3) * 2),
        replace(node, descriptions=()),
        replace(node, name="b"),
        replace(node, in_depth="16f"),
        Range.held(0.0, 1.0, "nothing"),
    ]
    assert made == ProcessList(nodes=(replace(node, array=np.eye(3)),), id="a")
    assert all(made != replace(made, nodes=(other,)) for other in others)


def test_a_list_without_an_id_gets_one_of_its_content():
    node = Matrix.of(np.eye(3), np.zeros((3, 1)), "nothing")
    made = ProcessList(nodes=(node,))
    first, again, other = (
        read_clf(clf_bytes(each), "a.clf").id for each in (made, made, replace(made, name="b"))
    )
    assert first == again != other
    assert first.startswith("urn:uuid:")


def test_a_namespace_of_others_in_info_is_passed_over():
    text = """<ProcessList id="a" compCLFversion="3.0">
    <Info><Revision>2</Revision><Maker xmlns="urn:other">us</Maker></Info>
    <Log inBitDepth="32f" outBitDepth="32f" style="log2"/></ProcessList>"""
    assert read_clf(text.encode(), "a.clf").info == (Entry("Revision", "2"),)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Matrix(array=np.eye(4)),
        lambda: Matrix(array=np.eye(3), in_depth="14i"),
        Range,
        lambda: Range(min_in_value=0.0),
        lambda: Log(style="log3"),
        lambda: Log(style="log2", params=(LogParams(),)),
        lambda: Log(style="linToLog", params=(LogParams(lin_side_break=1.0),)),
        lambda: ExponentParams(exponent=1.0, channel="A"),
        lambda: Exponent(style="basicFwd", params=(ExponentParams(exponent=2.0, offset=0.1),)),
        lambda: AscCdl(cdl=Cdl()),
        lambda: AscCdl(cdl=Cdl(slope=(-1.0, 1.0, 1.0), clamp="no")),
        lambda: Lut3D(array=np.zeros((2, 2, 2, 3)), interpolation="linear"),
        lambda: ProcessList(nodes=()),
        lambda: ProcessList(nodes=(Log(style="log2"), Log(style="log2", in_depth="8i"))),
        lambda: ProcessList(nodes=(Log(style="log2"),), version="4"),
    ],
)
def test_a_record_without_sense_cannot_be_made(make):
    with pytest.raises(Fault):
        make()
