"""Is a node what it says it is? Asked once, when it is registered, of our own nodes and of anybody's.

A fault found here is a sentence for the node's author; found in the middle of a pass it is a lost night.
"""

from __future__ import annotations

import inspect
import keyword
import math
from collections.abc import Callable, Iterator
from typing import Any

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.errors import BadInput, clause
from lamphouse.nodes.host.trial import trial
from lamphouse.nodes.parameter import KINDS, Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Travel

Check = Callable[[Node], list[str]]  # says what is wrong with a node, each as a clause


def faults(node: Node) -> list[str]:
    """Return what is wrong with the declaration, the signatures and the maths of `node`, each as a clause.

    Each is asked only where those before it are sound. What the node's own code raises is a clause as well.
    """
    return list(_of_itself(node)) or list(_of_parameters(node)) or list(_of_calls(node)) or trial(node)


def _of_itself(node: Node) -> Iterator[str]:
    if not _is_name(node.name):
        yield f"{node.name!r} is not a name that can be used; take letters, digits and _"
    if not _is_sentence(node.sentence):
        yield "its sentence must say what it does and end with a full stop"
    if not isinstance(node.signal, Signal):
        yield f"its signal {node.signal!r} is none of {', '.join(Signal)}"
    if not isinstance(node.reach, Reach):
        yield f"its reach {node.reach!r} is none of {', '.join(Reach)}"
    yield from _of_inputs(node)
    if not isinstance(node.parameters, tuple) or not all(isinstance(p, Parameter) for p in node.parameters):
        yield "its parameters must be a tuple of Parameter"


def _of_inputs(node: Node) -> Iterator[str]:
    if not isinstance(node.inputs, tuple) or not all(map(_is_name, node.inputs)):
        yield "its inputs must be a tuple of names of letters, digits and _"
    elif len(set(node.inputs)) < len(node.inputs):
        yield "two of its inputs have one name"
    elif not isinstance(node.mattes, tuple) or not set(node.mattes) <= set(node.inputs):
        yield "its mattes must be a tuple of some of its inputs"
    elif not node.inputs and node.signal is not Signal.MATTE:
        yield "a node without inputs must give a matte, for at its defaults it must change nothing"
    elif not node.inputs and node.is_array:
        yield "an array function needs an input, for its result takes the shape of the first"


def _of_parameters(node: Node) -> Iterator[str]:
    names = [parameter.name for parameter in node.parameters]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"two of its parameters are called {name}"
    for parameter in node.parameters:
        yield from (f"parameter {parameter.name}: {fault}" for fault in _of_parameter(parameter))


def _of_parameter(p: Parameter) -> Iterator[str]:
    if not _is_name(p.name) or p.name == "on":
        # `on` is the switch of the node itself, and a dot divides node and parameter.
        yield "a name has letters, digits and _, and is not `on`"
    if not _is_sentence(p.sentence):
        yield "its sentence must say what it does and end with a full stop"
    if not isinstance(p.source, str) or not p.source.strip():
        yield "its source must say where its range comes from"
    if not isinstance(p.kind, Kind) or not isinstance(p.travel, Travel):
        yield f"its kind must be one of {', '.join(KINDS)}, and its travel one of {', '.join(Travel)}"
        return
    if not isinstance(p.parts, tuple) or len(p.parts) != 3 or not all(map(_is_name, p.parts)):
        yield "its parts must be a tuple of three names"
    yield from _of_range(p)
    yield from _of_travel(p)
    if p.acts_on is not None and (not isinstance(p.acts_on, TonalRange) or not p.kind.axes):
        yield "its acts_on must be a TonalRange, and of a number or a balance alone"


def _of_range(p: Parameter) -> Iterator[str]:
    numbers = (p.low, p.high, p.step)
    if not all(isinstance(n, int | float) and math.isfinite(n) for n in numbers) or p.low >= p.high:
        yield f"its range must rise, and {p.low} to {p.high} does not"
        return
    if not 0 < p.step < p.high - p.low:
        yield f"its step {p.step:g} must be more than 0 and less than its range"
    try:
        checked = p.check(p.default, "its default")
    except BadInput as error:
        yield clause(error)
        return
    if checked != p.default:
        yield f"its default {p.default!r} must be written as {checked!r}"
    if p.kind.is_file and p.default != "":
        yield "the default of a file must be the empty text, for no file"


def _of_travel(p: Parameter) -> Iterator[str]:
    if p.travel is Travel.LOG and p.low <= 0:
        yield f"to travel by `log` its range must lie above 0, and begins at {p.low:g}"
    if p.travel not in p.kind.travels:
        yield f"one of kind {p.kind.name} travels by {' or '.join(p.kind.travels)}, and not by {p.travel}"


def _of_calls(node: Node) -> Iterator[str]:
    has_place = node.reach is Reach.PLACE and not node.is_array
    given = [*node.inputs, *(["place"] if has_place else []), "p"]
    yield from _of_call(node.body, "body", given)
    if node.derive is not None:
        yield from _of_call(node.derive, "derive", ["values"])
    if node.derive is not None and node.is_array:
        yield "an array function computes what it needs itself, and has no derive"


def _of_call(function: Callable[..., Any], name: str, given: list[str]) -> Iterator[str]:
    try:
        signature = inspect.signature(function)
    except (TypeError, ValueError):
        yield f"its {name} must be a function that says what it takes"
        return
    try:
        signature.bind(*given)
    except TypeError:
        code = getattr(function, "__code__", None)
        where = f" ({code.co_filename} line {code.co_firstlineno})" if code else ""
        yield f"its {name} is given ({', '.join(given)}) and takes {signature}{where}"


def _is_name(name: Any) -> bool:
    return isinstance(name, str) and name.isidentifier() and not keyword.iskeyword(name)


def _is_sentence(text: Any) -> bool:
    return isinstance(text, str) and len(text) > 1 and text.endswith(".")
