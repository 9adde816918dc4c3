"""Blend: one branch of the chain laid over another through a matte."""

from typing import Any

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import mix
from lamphouse.nodes.parameter import Parameter


def blend(under: Any, over: Any, matte: Any, p: Any) -> Any:
    """`over` where matte and amount are 1, `under` where either is 0, in proportion between."""
    return mix(under, over, matte * p.amount)


BLEND = Node(
    name="blend",
    sentence="Lays one branch of the chain over another where a matte lets it.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=blend,
    inputs=("under", "over", "matte"),
    mattes=("matte",),
    parameters=(Parameter("amount", "How much of the upper branch shows.", 0.0, low=0.0, high=1.0),),
)
