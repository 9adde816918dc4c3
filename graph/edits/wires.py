"""Edits of a chain: nodes put in and taken out, wires laid elsewhere. Each takes a chain and returns another.

A chain that was whole stays whole, or the edit is refused with the reason. One that was broken already, as
its file may be, takes every edit: there is no other way to mend it.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

import msgspec

from lamphouse.graph.chain.order import TAKEN, ordered
from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput, near_names


def with_node(chain: ChainRef, catalogue: Catalogue, kind: str, after: str) -> ChainRef:
    """Return `chain` with a new node of `kind`, last in `nodes`: what took the picture of `after` takes its.

    It takes that picture itself at each of its inputs for one, so that at its defaults nothing changes; a
    matte is the first that the chain has. A node that gives a matte is put beside the chain, for a wire to
    take up. Raises BadInput for a node that is not available, and where a matte is wanted and there is none.
    """
    node = catalogue.find(kind)
    inputs = tuple(_matte(chain, catalogue, kind) if i in node.mattes else after for i in node.inputs)
    new = NodeRef(name=_free_name(chain, kind), kind=kind, inputs=inputs)
    before = chain if node.signal is Signal.MATTE else _read_from(chain, after, new.name)
    return _whole(chain, catalogue, msgspec.structs.replace(before, nodes=(*before.nodes, new)))


def without_node(chain: ChainRef, catalogue: Catalogue, name: str) -> ChainRef:
    """Return `chain` without a node: what took its picture takes the first that it took.

    Raises BadInput for a matte that is taken somewhere.
    """
    ref = node_named(chain, name)
    readers = [other.name for other in chain.nodes if name in other.inputs]
    readers += ["the output"] if chain.output == name else []
    onward = _passed_on(ref, catalogue)
    if readers and onward is None:
        raise BadInput(
            f"The node {name} is the matte of {' and '.join(readers)}; wire another one there first."
        )
    left = chain if onward is None else _read_from(chain, name, onward)
    nodes = tuple(other for other in left.nodes if other.name != name)
    return _whole(chain, catalogue, msgspec.structs.replace(left, nodes=nodes))


def with_wire(chain: ChainRef, catalogue: Catalogue, name: str, number: int, source: str) -> ChainRef:
    """Return `chain` with the wire into input `number` of a node coming from `source`, a node or `scan`.

    Raises BadInput for a circle, a matte where a picture is wanted and the reverse, and a name not there.
    """

    def wired(ref: NodeRef) -> NodeRef:
        inputs = (*ref.inputs[:number], source, *ref.inputs[number + 1 :])
        return msgspec.structs.replace(ref, inputs=inputs)

    node_named(chain, name)
    return _whole(chain, catalogue, _mapped(chain, lambda ref: wired(ref) if ref.name == name else ref))


def with_output(chain: ChainRef, catalogue: Catalogue, source: str) -> ChainRef:
    """Return `chain` giving out what `source` gives; a matte can be looked at like this."""
    return _whole(chain, catalogue, msgspec.structs.replace(chain, output=source))


def with_name(chain: ChainRef, catalogue: Catalogue, name: str, new: str) -> ChainRef:
    """Return `chain` with a node called `new`. Raises BadInput for a name that is taken or has a dot."""
    node_named(chain, name)
    renamed = _read_from(chain, name, new)
    return _whole(
        chain,
        catalogue,
        _mapped(renamed, lambda ref: msgspec.structs.replace(ref, name=new) if ref.name == name else ref),
    )


def node_named(chain: ChainRef, name: str) -> NodeRef:
    """Return the node called `name`, or raise BadInput with near names."""
    for ref in chain.nodes:
        if ref.name == name:
            return ref
    raise BadInput(f"The chain has no node {name}{near_names(name, [ref.name for ref in chain.nodes])}.")


def _whole(before: ChainRef, catalogue: Catalogue, chain: ChainRef) -> ChainRef:
    try:
        ordered(chain, catalogue)
    except BadInput:
        if _is_whole(before, catalogue):
            raise
    return chain


def _is_whole(chain: ChainRef, catalogue: Catalogue) -> bool:
    try:
        ordered(chain, catalogue)
    except BadInput:
        return False
    return True


def _mapped(chain: ChainRef, change: Callable[[NodeRef], NodeRef]) -> ChainRef:
    return msgspec.structs.replace(chain, nodes=tuple(change(ref) for ref in chain.nodes))


def _read_from(chain: ChainRef, source: str, other: str) -> ChainRef:
    """Return `chain` with every wire from `source` coming from `other`."""

    def turned(ref: NodeRef) -> NodeRef:
        return msgspec.structs.replace(ref, inputs=tuple(other if i == source else i for i in ref.inputs))

    output = other if chain.output == source else chain.output
    return msgspec.structs.replace(_mapped(chain, turned), output=output)


def _matte(chain: ChainRef, catalogue: Catalogue, kind: str) -> str:
    for ref in chain.nodes:
        if resolve(ref, catalogue).signal is Signal.MATTE:
            return ref.name
    raise BadInput(
        f"A {kind} needs a matte, and the chain has none; add one first, such as an ellipse or a graduated."
    )


def _passed_on(ref: NodeRef, catalogue: Catalogue) -> str | None:
    node = resolve(ref, catalogue)
    if node.signal is Signal.MATTE:
        return None
    pictures = (s for name, s in zip(node.inputs, ref.inputs, strict=False) if name not in node.mattes)
    return next(pictures, None)


def _free_name(chain: ChainRef, kind: str) -> str:
    taken = {*TAKEN, *(ref.name for ref in chain.nodes)}
    return next(name for n in count(1) if (name := kind if n == 1 else f"{kind}_{n}") not in taken)
