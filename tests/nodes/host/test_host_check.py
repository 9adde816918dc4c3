"""What a node must say and do before it is used, and that each fault is told."""

import re
from dataclasses import replace
from functools import partial
from types import SimpleNamespace

import numpy as np
import pytest

from lamphouse.nodes import contract
from lamphouse.nodes.contract import (
    Kind,
    Node,
    Parameter,
    Reach,
    Signal,
    TonalRange,
    Travel,
    mix,
    offset,
    scale,
)
from lamphouse.nodes.host import trial
from lamphouse.nodes.host.check import faults
from lamphouse.nodes.primitive import PRIMITIVES

GAIN = Parameter("gain", "A factor.", 1.0, high=2.0, source="invented")
WAY = Parameter(
    "way", "The way.", "up", kind=Kind.CHOICE, choices=("up", "down"), travel=Travel.STEP, source="invented"
)

FILE = Parameter("file", "A file.", "", kind=Kind.FILE, travel=Travel.STEP, source="invented")


def _gain(picture, p):
    return scale(picture, p.gain)


GOOD = Node("tint", "Invented for this test.", Signal.VIDEO, Reach.POINT, (GAIN,), _gain)


def _with(**changes):
    return replace(GOOD, **changes)


def _parameter(**changes):
    return replace(GOOD, parameters=(replace(GAIN, **changes),))


def _derived(derive, body=lambda picture, p: scale(picture, p.factor)):
    return replace(GOOD, derive=derive, body=body)


def _array(body, **changes):
    return replace(GOOD, body=body, is_array=True, **changes)


def _in_place(picture, p):
    picture *= p.gain
    return picture


def _table(values):
    return {"factor": np.array([[values["gain"]]])}


def _early(values):
    factor = 1.0 if values["gain"] == 1 else values["gain"] * (1 + values["lift"] / 10)
    return {"factor": np.array([[factor]])}


def _by_way(picture, p):
    if p.way == "up":
        return scale(picture, p.gain)
    return scale(picture, p.gian)


FAULTS = {
    "name": (_with(name="ti.nt"), "'ti.nt' is not a name"),
    "keyword": (_with(name="lambda"), "'lambda' is not a name"),
    "sentence": (_with(sentence="Tints"), "end with a full stop"),
    "no words": (_with(sentence="."), "its sentence must say what it does"),
    "signal": (_with(signal="video"), "its signal 'video' is none of"),
    "reach": (_with(reach="point"), "its reach 'point' is none of"),
    "inputs": (_with(inputs="picture"), "its inputs must be a tuple"),
    "same inputs": (_with(inputs=("a", "a")), "two of its inputs have one name"),
    "mattes": (_with(mattes=("matte",)), "its mattes must be a tuple of some of its inputs"),
    "no inputs": (_with(inputs=()), "a node without inputs must give a matte"),
    "array, no inputs": (_array(_gain, inputs=(), signal=Signal.MATTE), "an array function needs an input"),
    "parameters": (_with(parameters=[GAIN]), "its parameters must be a tuple of Parameter"),
    "same parameters": (_with(parameters=(GAIN, GAIN)), "two of its parameters are called gain"),
    "on": (_parameter(name="on"), "parameter on: a name has letters, digits and _, and is not `on`"),
    "dot": (_parameter(name="a.b"), "parameter a.b: a name has"),
    "words": (_parameter(sentence="A factor"), "parameter gain: its sentence"),
    "source": (_parameter(source=" "), "parameter gain: its source"),
    "acts on no tones": (_parameter(acts_on="shadows"), "parameter gain: its acts_on"),
    "tones of a file": (
        replace(GOOD, parameters=(replace(FILE, acts_on=TonalRange.SHADOWS),)),
        "parameter file: its acts_on",
    ),
    "kind": (_parameter(kind="number"), "parameter gain: its kind must be one of number, triple"),
    "range": (_parameter(low=2.0), "its range must rise, and 2.0 to 2.0 does not"),
    "endless": (_parameter(high=float("inf")), "its range must rise, and 0.0 to inf does not"),
    "no step": (_parameter(step=0.0), "its step 0 must be more than 0 and less than its range"),
    "step of all": (_parameter(step=2.0), "its step 2 must be more than 0 and less than its range"),
    "step of more": (
        _parameter(low=0.5, step=1.8),
        "its step 1.8 must be more than 0 and less than its range",
    ),
    "step": (_parameter(step=3.0), "its step 3 must be more than 0 and less than its range"),
    "default": (_parameter(default=3.0), "gain: its default = 3 is outside its range 0 to 2"),
    "parts": (_parameter(parts=("a", "b")), "its parts must be a tuple of three names"),
    "triple": (_parameter(default=[1, 1, 1], kind=Kind.TRIPLE), "its default [1, 1, 1] must be written as"),
    "file": (
        _parameter(default="a.cube", kind=Kind.FILE, travel=Travel.STEP),
        "default of a file must be the empty text",
    ),
    "log": (_parameter(travel=Travel.LOG), "its range must lie above 0, and begins at 0"),
    "choice": (
        _with(parameters=(replace(WAY, travel=Travel.LINEAR),)),
        "one of kind choice travels by step, and not by linear",
    ),
    "no choice": (
        _parameter(travel=Travel.STEP),
        "one of kind number travels by linear or log, and not by step",
    ),
    "points": (
        _parameter(travel=Travel.POINTS),
        "one of kind number travels by linear or log, and not by points",
    ),
    "body": (_with(body=lambda picture: picture), "its body is given (picture, p) and takes (picture) ("),
    "place": (_with(reach=Reach.PLACE), "its body is given (picture, place, p) and takes (picture, p)"),
    "no function": (_with(body=3), "its body must be a function"),
    "derive": (_derived(lambda: {}), "its derive is given (values) and takes ()"),
    "array derive": (_array(_gain, derive=_table), "an array function computes what it needs itself"),
    "numpy": (_with(body=lambda picture, p: np.sin(picture) * p.gain), "it cannot be traced (TypeError: "),
    "branch": (
        _with(body=lambda picture, p: picture if picture else p.gain),
        "cannot branch on a value: use",
    ),
    "no expression": (_with(body=lambda picture, p: 1.0), "its body gives float and no expression"),
    "reads other": (
        _with(body=_by_way, parameters=(GAIN, WAY)),
        "it reads p.gian, which is neither a number among its parameters nor derived with way = down",
    ),
    "reads not": (_with(parameters=(GAIN, replace(GAIN, name="lift"))), "it never reads lift"),
    "choice unread": (_with(parameters=(GAIN, WAY)), "it never reads way"),
    "derives in vain": (_derived(_table, _gain), "it never reads factor"),
    "derives from nothing": (_derived(lambda values: {"factor": np.ones((1, 1))}), "it never reads gain"),
    "derives a number": (_derived(lambda values: {"factor": values["gain"]}), "must make factor an array"),
    "derives one axis": (
        _derived(lambda values: {"factor": np.full(1, values["gain"])}),
        "must make factor an array of float64 of two axes or more",
    ),
    "derives float32": (
        _derived(lambda values: {"factor": np.float32([[values["gain"]]])}),
        "must make factor an array of float64 of two axes or more",
    ),
    "derive fails at an end": (
        _derived(lambda values: {"factor": np.array([[1 / values["gain"]]])}),
        "it fails with gain = 0.0 (ZeroDivisionError: ",
    ),
    "derive fails": (
        _derived(lambda values: {"factor": values["gian"]}),
        "cannot be traced (KeyError: 'gian'",
    ),
    "not neutral": (
        _with(body=lambda picture, p: offset(picture, p.gain)),
        "must change nothing, and is off by 1",
    ),
    "no whole matte": (
        _with(inputs=(), signal=Signal.MATTE, reach=Reach.PLACE, body=lambda place, p: place.down * p.gain),
        "at its defaults it must make a whole matte",
    ),
    "infinite": (_with(body=lambda picture, p: picture / p.gain), "not finite with gain = 0.0"),
    "infinite at 0": (
        _with(body=lambda picture, p: picture / p.gain, parameters=(replace(GAIN, low=-1.0),)),
        "not finite with gain = 0.0",
    ),
    "array raises": (_array(lambda picture, p: picture[9, 99]), "fails at its defaults (IndexError: "),
    "array shape": (_array(lambda picture, p: picture[:1]), "made a picture of shape (1, 16, 3)"),
    "in place": (_array(_in_place), "fails at its defaults (ValueError: output array is read-only"),
}


@pytest.mark.parametrize("case", FAULTS)
def test_each_fault_is_told(case):
    node, says = FAULTS[case]
    told = faults(node)
    assert says in "; ".join(told)
    assert all(re.match(r"[a-z'][^\n]*[^.\n]$", clause) for clause in told), told


def test_a_body_without_a_line_of_its_own_is_told_by_what_it_takes():
    body = partial(lambda lift, picture: picture, 1.0)
    assert faults(_with(body=body)) == ["its body is given (picture, p) and takes (picture)"]


def test_maths_that_cannot_be_traced_is_told_with_the_way_out():
    (told,) = faults(_with(body=lambda picture, p: np.sin(picture) * p.gain))
    assert told.endswith("); write it over the primitives, or set is_array")


def test_a_fault_in_code_names_the_line():
    line = _in_place.__code__.co_firstlineno + 1
    assert f"{__file__} line {line}" in faults(_array(_in_place))[0]


def _inverted(picture, p):
    return np.linalg.inv(picture * 0) * p.gain


def test_the_line_is_the_node_s_own_also_where_a_library_raised():
    line = _inverted.__code__.co_firstlineno + 1
    assert f"{__file__} line {line}" in faults(_array(_inverted))[0]


def _blur(picture, p):
    assert picture.ndim == 3
    return picture + (p.gain - 1) * (np.roll(picture, 1, axis=0) - picture)


def _laid(under, over, matte, place, p):
    return mix(under, over, matte * place.across * p.amount)


AMOUNT = Parameter("amount", "How much.", 0.0, source="invented")
SOUND = {
    "primitives": GOOD,
    "derived from all at once": _derived(lambda values: _table(dict(values))),
    "derived": _derived(_table),
    "early at neutral": replace(_derived(_early), parameters=(GAIN, replace(GAIN, name="lift"))),
    "file": _with(parameters=(GAIN, FILE)),
    "log": _parameter(low=0.5, travel=Travel.LOG),
    "choice": _with(parameters=(GAIN, WAY), body=lambda picture, p: _by_way(picture, _same(p))),
    "array": _array(_gain),
    "neighbours": _array(_blur, reach=Reach.AREA),
    "place and mattes": _with(
        inputs=("under", "over", "matte"),
        mattes=("matte",),
        reach=Reach.PLACE,
        parameters=(AMOUNT,),
        body=_laid,
    ),
    "matte of a matte": _with(signal=Signal.MATTE, inputs=("matte",), mattes=("matte",)),
}


def _same(p):
    return SimpleNamespace(way=p.way, gain=p.gain, gian=p.gain)


@pytest.mark.parametrize("case", SOUND)
def test_a_sound_node_has_no_fault(case):
    assert faults(SOUND[case]) == []


def test_every_combination_of_choices_is_tried_and_each_by_itself_where_they_are_too_many():
    few = _with(parameters=(GAIN, WAY, replace(WAY, name="other")))
    assert len(list(trial.combinations(few))) == 4
    eight = _with(parameters=tuple(replace(WAY, name=f"way{n}") for n in range(8)))
    assert len({tuple(values.items()) for values in trial.combinations(eight)}) == 256
    many = _with(parameters=tuple(replace(WAY, name=f"way{n}") for n in range(20)))
    tried = list(trial.combinations(many))
    assert len(tried) < 100
    assert all(any(values[f"way{n}"] == "down" for values in tried) for n in range(20))


@pytest.mark.parametrize(
    ("parameter", "tried"),
    [
        (replace(GAIN, low=-1.0), (-1.0, 2.0, 0.0)),
        (GAIN, (0.0, 2.0)),
        (replace(GAIN, low=-2.0, high=0.0), (-2.0, 0.0)),
        (replace(GAIN, low=0.5), (0.5, 2.0)),
        (replace(GAIN, low=-1.0, high=0.5), (-1.0, 0.5, 0.0)),
        (replace(GAIN, kind=Kind.TRIPLE), ((0.0, 0.0, 0.0), (2.0, 2.0, 2.0))),
        (WAY, ("up", "down")),
        (replace(GAIN, kind=Kind.FILE, default=""), ("",)),
    ],
)
def test_a_parameter_is_tried_at_its_ends_and_at_0_between_them_or_at_its_choices(parameter, tried):
    assert parameter.kind.ends(parameter) == tried


def test_pictures_go_beyond_0_and_1_and_mattes_do_not_and_neither_can_be_written_to():
    node = _with(inputs=("picture", "matte"), mattes=("matte",))
    (pixels, matte), places = trial.pictures_tried(node)
    assert (pixels.min(), pixels.max(), matte.min(), matte.max()) == (-1, 4, 0, 1)
    assert pixels[0, :3].tolist() == [[-1, -1, -1], [0, 0, 0], [4, 4, 4]]
    assert len(np.unique(pixels)) > pixels.size // 2
    assert len(np.unique(matte)) > matte[..., 0].size // 2
    assert (matte == matte[..., :1]).all()
    # Centres of pixels in heights of a square picture, from its middle.
    assert (places[0, 0].tolist(), places[-1, -1].tolist()) == ([-15 / 32] * 2, [15 / 32] * 2)
    assert places[0, 1].tolist() == [-13 / 32, -15 / 32]
    assert not any(array.flags.writeable for array in (pixels, matte, places))


def test_the_contract_offers_every_primitive_and_all_that_a_node_is_made_of():
    words = {"CONTRACT", "Node", "Parameter", "Signal", "Reach", "TonalRange", "Travel", "Kind"}
    assert set(contract.__all__) == words | set(PRIMITIVES)
    assert all(hasattr(contract, name) for name in contract.__all__)
    assert re.search(rf'"contract": {contract.CONTRACT}\b', contract.__doc__)
