"""From a node of the chain to its declaration, or to a stand-in where nothing here declares it.

A reel may name a node of a plug-in that this machine has not. It must still open, and lose
nothing when it is saved; what its pictures would lack is said before any is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.trace import constant


def resolve(ref: NodeRef, catalogue: Catalogue) -> Node:
    """Return the declaration of `ref`, or a stand-in that passes its first picture on unchanged."""
    return catalogue.get(ref.kind) or Node(
        name=ref.kind,
        sentence="Missing here: its first picture passes through.",
        signal=Signal.VIDEO,
        reach=Reach.POINT,
        parameters=(),
        body=_passed_on,
        inputs=tuple(f"input {number}" for number in range(1, len(ref.inputs) + 1)),
    )


def missing(chain: ChainRef, catalogue: Catalogue) -> list[NodeRef]:
    """Return the nodes of `chain` that nothing here declares."""
    return [ref for ref in chain.nodes if ref.kind not in catalogue]


def missing_text(refs: Sequence[NodeRef], catalogue: Catalogue) -> str:
    """Return what a person is told of missing nodes: which, and why, as one clause."""
    names = f"{'The nodes' if len(refs) > 1 else 'The node'} {', '.join(ref.name for ref in refs)}"
    reasons = dict.fromkeys(catalogue.reason(ref.kind) for ref in refs)
    return f"{names} {'are' if len(refs) > 1 else 'is'} not available, for {', and '.join(reasons)}"


def _passed_on(*arguments: Any) -> Any:
    # Where a matte is missing, nothing is laid over.
    pictures = arguments[:-1]
    return pictures[0] if pictures else constant(0.0)
