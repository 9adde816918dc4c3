"""A CLF list that is written and read again is the list that it was: random lists of every kind of node."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.luts.clf.asc_cdl import AscCdl
from lamphouse.nodes.luts.clf.exponent import Exponent, ExponentParams
from lamphouse.nodes.luts.clf.fault import Fault
from lamphouse.nodes.luts.clf.file import clf_bytes, read_clf
from lamphouse.nodes.luts.clf.log import Log, LogParams
from lamphouse.nodes.luts.clf.matrix import Matrix
from lamphouse.nodes.luts.clf.process_list import Entry, ProcessList
from lamphouse.nodes.luts.clf.range import Range
from lamphouse.nodes.luts.clf.tables import Lut1D, Lut3D

FINITE = np.isfinite(np.arange(65536, dtype=np.uint16).view(np.float16))


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_list_that_is_written_and_read_is_the_same_list(any_list, data):
    made = data.draw(any_list)
    assert read_clf(clf_bytes(made), "a.clf") == made


@settings(max_examples=12)
@given(st.integers(0, 99), st.sampled_from([1, 3]), st.booleans())
@pytest.mark.slow
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
        Range.clamping(0.0, 1.0, "nothing"),
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
