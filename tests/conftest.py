"""What several folders of tests need: any settings of a node, an expression as it stands, a busy machine."""

from __future__ import annotations

import getpass
import os
import signal
import subprocess
import sys
import tempfile
import tomllib
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import NODES
from lamphouse.nodes.colorimetry import KELVIN_HIGH, KELVIN_LOW, WHITE_SUM, WHITE_X, WHITE_Y
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.every_kind import of_every_kind
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.primitive import PRIMITIVES
from lamphouse.nodes.trace import CALL, CONSTANT, INPUT, PICTURE, PLACE, Expression, picture, walk

# What tests compile is kept for the next run, apart from what the person at this machine has.
KEPT = Path(tempfile.gettempdir(), f"lamphouse-tests-{getpass.getuser()}")
os.environ.setdefault("LAMPHOUSE_CACHE", str(KEPT / "cache"))
os.environ.setdefault("LAMPHOUSE_SETTINGS", str(KEPT / "settings"))

# A shell has what it starts in the background pass over Ctrl-C, which some of these tests press.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

PICTURES = [node for node in NODES if node.signal is not Signal.MATTE]
MATTES = [node for node in NODES if node.signal is Signal.MATTE]

# The same examples on every machine, however slow, where the same tests run together (Hypothesis also draws
# constants from the modules that are loaded): a failure can be repeated.
settings.register_profile("lamphouse", deadline=None, derandomize=True, max_examples=40, database=None)
settings.load_profile("lamphouse")


@pytest.fixture(scope="session")
def colour_bars():
    """Eight bars of `bars.toml`: name, rgb, and their codes by matrix and by per cent."""
    return tomllib.loads(Path(__file__).with_name("bars.toml").read_text(encoding="utf-8"))["bar"]


@pytest.fixture(scope="session")
def busy_beside():
    """A block during which so many processes never rest."""

    @contextmanager
    def beside(count):
        command = [sys.executable, "-I", "-S", "-c", "while True: pass"]
        busy = [subprocess.Popen(command) for _ in range(count)]
        try:
            yield
        finally:
            for process in busy:
                process.kill()
                process.wait()

    return beside


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


@pytest.fixture(scope="session")
def primitive_arguments():
    """What every primitive but `join` is given after the picture, by name: invented, none neutral."""
    rng = np.random.default_rng(82)
    halves = np.arange(65536, dtype=np.uint16).view(np.float16).astype(float)
    halves = np.nan_to_num(halves, posinf=0, neginf=0)
    curve = np.sort(rng.uniform(-0.2, 1.2, (3, 1500)), axis=1)
    cube = rng.uniform(-0.2, 1.2, (5, 5, 5, 3))
    triple = np.array([[0.7], [1.1], [1.9]])
    return {
        "scale": (triple,),
        "offset": (triple,),
        "matrix": (rng.uniform(-1, 2, (3, 3)),),
        "power": (triple,),
        "power_above_zero": (triple,),
        "toe_power": (2.4, 0.055, 1 / 12.92, 0.04045),
        "toe_root": (2.4, 0.055, 12.92, 0.0031308),
        "log": (),
        "antilog": (),
        "toe_log": (1e-6,),
        "toe_antilog": (1e-6,),
        "curve": (curve, rng.uniform(0, 2, (3, 2))),
        "half_curve": (np.sqrt(np.abs(halves)) * triple - (halves < 0),),
        "lattice": (cube,),
        "lattice_trilinear": (cube,),
        "clamp": (-0.1, triple),
        "mix": (picture(SCAN) * 0.5, 0.3),
        "add": (triple,),
        "subtract": (triple,),
        "multiply": (triple,),
        "divide": (triple,),
        "minimum": (0.5,),
        "maximum": (triple,),
        "square_root": (),
        "less": (triple,),
        "select": (picture(SCAN) * 2.0, 0.25),
        "dot": (triple,),
        "red": (),
        "green": (),
        "blue": (),
    }


@pytest.fixture(scope="session")
def soften():
    """A node of arrays that looks at its neighbours: each pixel half way to the mean with two of them."""

    def body(picture, p):
        mean = (picture + np.roll(picture, 1, axis=0) + np.roll(picture, 1, axis=1)) / 3
        return picture + p.amount * (mean - picture)

    return Node(
        name="soften",
        sentence="Invented for these tests.",
        signal=Signal.LIGHT,
        reach=Reach.AREA,
        body=body,
        is_array=True,
        parameters=(Parameter("amount", "How much.", 0.0),),
    )


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
    return ANY[parameter.kind](parameter, width)


def _any_triple(p: Parameter, width: float) -> st.SearchStrategy[Any]:
    defaults: Any = p.default
    return st.tuples(*(_near(default, p.low, p.high, width) for default in defaults))


def _any_white(p: Parameter, width: float) -> st.SearchStrategy[Any]:
    x, y = p.default
    colours = st.tuples(_near(x, *WHITE_X, width), _near(y, *WHITE_Y, width))
    return st.floats(KELVIN_LOW, KELVIN_HIGH) | colours.filter(lambda xy: sum(xy) <= WHITE_SUM)


def _any_points(p: Parameter, width: float) -> st.SearchStrategy[Any]:
    places = st.lists(st.integers(0, 9999), min_size=2, max_size=6, unique=True)
    return places.flatmap(
        lambda xs: st.tuples(
            *(st.tuples(st.just(x / 9999), _near(x / 9999, p.low, p.high, width)) for x in sorted(xs))
        )
    )


ANY = of_every_kind(
    {
        Kind.NUMBER: lambda p, width: _near(p.default, p.low, p.high, width),
        Kind.TRIPLE: _any_triple,
        Kind.WHITE: _any_white,
        Kind.POINTS: _any_points,
        Kind.CHOICE: lambda p, width: st.sampled_from(p.choices),
        Kind.FILE: lambda p, width: st.just(""),
    },
    "The table of values that tests draw",
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
