"""What several folders of tests need: any settings of a node, and an expression read as it stands."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.reel import ChainRef, NodeRef
from lamphouse.nodes.catalogue import NODES
from lamphouse.nodes.declare import Node, Parameter, Signal
from lamphouse.nodes.maths import PRIMITIVES
from lamphouse.nodes.trace import CALL, CONSTANT, INPUT, PICTURE, PLACE, Expression, walk
from lamphouse.nodes.values import KELVIN_HIGH, KELVIN_LOW, WHITE_SUM, WHITE_X, WHITE_Y, Kind

# What tests compile is kept for the next run, apart from what the person at this machine has.
os.environ.setdefault("LAMPHOUSE_CACHE", str(Path(tempfile.gettempdir(), "lamphouse-tests")))
os.environ.setdefault("LAMPHOUSE_SETTINGS", str(Path(tempfile.gettempdir(), "lamphouse-tests-settings")))

PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
MATTES = [node for node in NODES if node.signal is Signal.MATTE]

# The same examples on every machine, however slow, where the same tests run together (Hypothesis also draws
# constants from the modules that are loaded): a failure can be repeated.
settings.register_profile("lamphouse", deadline=None, derandomize=True, max_examples=40, database=None)
settings.load_profile("lamphouse")


@pytest.fixture(scope="session")
def any_settings():
    """A function from a node to a strategy of its settings; `width` 1 is the whole of every range."""
    return _any_settings


@pytest.fixture(scope="session")
def any_chain():
    """A function from a width to a strategy of chains of any nodes and settings for them."""
    return _any_chain


@pytest.fixture(scope="session")
def evaluate():
    """A function that reads an expression step by step, with nothing rewritten."""
    return _evaluate


@st.composite
def _any_chain(draw: Any, width: float) -> tuple[ChainRef, dict[str, Any]]:
    """Draw a chain of one to six nodes and their mattes, wired anyhow without a circle, and settings."""
    nodes: list[NodeRef] = []
    chosen: dict[str, Any] = {}
    sources = [SCAN]

    def add(kind: Node, inputs: tuple[str, ...]) -> str:
        name = f"n{len(nodes)}"
        nodes.append(NodeRef(name=name, kind=kind.name, inputs=inputs))
        chosen.update({f"{name}.{key}": value for key, value in draw(_any_settings(kind, width)).items()})
        return name

    for _ in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(PICTURES))
        # The last made is the likeliest source, so that most chains are long.
        inputs = tuple(
            add(draw(st.sampled_from(MATTES)), ())
            if name in kind.mattes
            else draw(st.sampled_from(sources + sources[-1:] * 4))
            for name in kind.inputs
        )
        sources.append(add(kind, inputs))
    return ChainRef(
        nodes=tuple(nodes), output=draw(st.sampled_from([sources[-1]] * 9 + [nodes[0].name]))
    ), chosen


def _any_settings(node: Node, width: float = 1.0) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({p.name: _any_value(p, width) for p in node.parameters})


def _any_value(parameter: Parameter, width: float) -> st.SearchStrategy[Any]:
    low, high, default = parameter.low, parameter.high, parameter.default
    if parameter.kind is Kind.CHOICE:
        return st.sampled_from(parameter.choices)
    if parameter.kind is Kind.FILE:
        return st.just("")
    if parameter.kind is Kind.NUMBER:
        return _near(default, low, high, width)
    if parameter.kind is Kind.TRIPLE:
        return st.tuples(*(_near(d, low, high, width) for d in default))
    if parameter.kind is Kind.WHITE:
        colours = st.tuples(_near(default[0], *WHITE_X, width), _near(default[1], *WHITE_Y, width))
        return st.floats(KELVIN_LOW, KELVIN_HIGH) | colours.filter(lambda xy: sum(xy) <= WHITE_SUM)
    places = st.lists(st.integers(0, 9999), min_size=2, max_size=6, unique=True)
    return places.flatmap(
        lambda xs: st.tuples(
            *(st.tuples(st.just(x / 9999), _near(x / 9999, low, high, width)) for x in sorted(xs))
        )
    )


def _near(default: float, low: float, high: float, width: float) -> st.SearchStrategy[float]:
    if width == 1:
        return st.floats(low, high)
    return st.floats(default + (low - default) * width, default + (high - default) * width)


def _evaluate(expression: Expression, numbers: Any, pictures: Any, kind: Any = np.float64) -> Any:
    values: dict[int, Any] = {}
    with np.errstate(all="ignore"):
        for step in walk(expression):
            if step.primitive == CONSTANT:
                value = np.asarray(step.value, kind)
            elif step.primitive == INPUT:
                value = np.asarray(numbers[step.name], kind)
            elif step.primitive in (PICTURE, PLACE):
                value = np.asarray(pictures[step.name], kind)
            else:
                compute = step.function if step.primitive == CALL else PRIMITIVES[step.primitive].compute
                value = compute(*(values[id(a)] for a in step.arguments))
            values[id(step)] = value
    return values[id(expression)]
