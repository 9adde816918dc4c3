"""Nodes tried as they will be run: rewritten and not, in NumPy and as machine code. All are invented."""

import numpy as np
import pytest

from lamphouse.graph.chain import trial
from lamphouse.graph.chain.installed import installed
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.trial import all_faults
from lamphouse.nodes.catalogue import NODES
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal, dot, green, join, matrix, mix, red, scale
from lamphouse.nodes.host.check import faults

AMOUNT = Parameter("amount", "A factor.", 1.0, low=-1.0, high=2.0, source="invented")
ROWS = np.array([[0.5, 0.5, 0.0], [0.0, 1.0, 0.0], [0.2, 0.0, 0.8]])
SENTENCE = "Invented for this test."


def _node(body, **changes):
    made = {"parameters": (AMOUNT,), "signal": Signal.VIDEO, "reach": Reach.POINT} | changes
    return Node("it", SENTENCE, body=body, **made)


def _channels_apart(picture, p):
    held = picture * p.amount
    return join(red(held), green(held), dot(held, np.array([[0.0], [0.0], [1.0]])))


SOUND = {
    "a matrix of what is switched off at 0": _node(
        lambda picture, p: picture + matrix(picture * (p.amount - 1), ROWS)
    ),
    "channels of what is switched off at 0": _node(_channels_apart),
    "a matte of one channel": _node(
        lambda picture, matte, p: mix(picture, matrix(matte * p.amount, ROWS), matte * (p.amount - 1)),
        inputs=("picture", "matte"),
        mattes=("matte",),
    ),
}


@pytest.mark.parametrize("case", SOUND)
def test_a_node_that_is_nothing_at_0_runs_everywhere(case):
    assert all_faults(SOUND[case]) == []


@pytest.mark.parametrize("node", NODES, ids=lambda node: node.name)
def test_our_own_nodes_run_everywhere(node):
    assert all_faults(node) == []


LOUD = _node(lambda picture, p: scale(scale(scale(picture, 1e30), p.amount * 1e30), 1e-60))


def test_what_overflows_in_the_precision_at_work_alone_is_told():
    assert faults(LOUD) == []
    assert all_faults(LOUD) == ["in float32, the precision at work, it makes numbers that are not finite"]


class _Other(NumpyRun):
    def run(self, program, pictures, pixel_aspect=1.0, inputs=None):
        if any((array == 0).any() for array in (inputs or {}).values()):
            raise ZeroDivisionError("integer modulo by zero")
        return super().run(program, pictures, pixel_aspect, inputs or {}) + self.more


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (0.01, "rewritten and run by machine code it makes another picture than its body"),
        (0.0, "it cannot be run (ZeroDivisionError: integer modulo by zero, "),
    ],
)
def test_a_back_end_that_differs_or_fails_is_told(monkeypatch, more, says):
    monkeypatch.setattr(trial, "native_run", _Other)
    monkeypatch.setattr(_Other, "more", more, raising=False)
    (told,) = all_faults(_node(lambda picture, p: scale(picture, p.amount)))
    assert told.startswith(says)
    assert more or told.endswith(" with amount = 0.0")


PLUGIN = """
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal, scale

LAMPHOUSE = {"contract": 1, "nodes": {"loud": "Invented for this test."}}


def body(picture, p):
    return scale(scale(scale(picture, 1e30), p.amount * 1e30), 1e-60)


AMOUNT = Parameter("amount", "A factor.", 1.0, source="invented")
NODES = (Node("loud", "Invented for this test.", Signal.VIDEO, Reach.POINT, (AMOUNT,), body),)
"""


def test_a_plug_in_is_tried_so_before_it_is_used(tmp_path, monkeypatch):
    (tmp_path / "loud.py").write_text(PLUGIN)
    monkeypatch.setenv("LAMPHOUSE_PLUGINS", str(tmp_path))
    catalogue = installed()
    assert catalogue.get("loud") is None
    assert "in float32, the precision at work, it makes" in catalogue.reason("loud")
