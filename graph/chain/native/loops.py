"""The loops of a kernel: over rows, and along a row by whole vectors."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from llvmlite import ir

from lamphouse.graph.chain.native.vectors import LANES, LONG


def long(value: int) -> ir.Constant:
    """Return a place or a count as a constant."""
    return ir.Constant(LONG, value)


@contextmanager
def each(build: ir.IRBuilder, start: Any, stop: Any, step: int = 1) -> Iterator[Any]:
    """Write a loop around what is written meanwhile, run at least once; yield the place reached."""
    before = build.block
    body, done = build.append_basic_block(), build.append_basic_block()
    build.branch(body)
    build.position_at_end(body)
    reached = build.phi(LONG)
    reached.add_incoming(start, before)
    yield reached
    following = build.add(reached, long(step))
    reached.add_incoming(following, build.block)
    build.cbranch(build.icmp_signed("<", following, stop), body, done)
    build.position_at_end(done)


@contextmanager
def each_vector(build: ir.IRBuilder, start: Any, stop: Any) -> Iterator[Any]:
    """Write a loop over whole vectors of at least LANES places; yield the first place of each.

    The last turn steps back, so that it too is whole; what it writes again is the same.
    """
    last = build.sub(stop, long(LANES))
    with each(build, start, stop, LANES) as reached:
        yield build.select(build.icmp_signed("<", reached, last), reached, last)
