"""What a program does to each channel by itself, looked up by code instead of computed by pixel.

A scan of 16 bits has at most 65,536 codes and millions of pixels: what stands before the first mixing of
channels is worked out once for every code, by the same kernel, so that the bits are the same.
"""

from __future__ import annotations

from typing import Final

from lamphouse.nodes.trace import PICTURE, Expression, picture, rebuilt, walk

MOST: Final = 2  # tables; more would push each other out of the cache


def with_tables(program: Expression, source: str) -> tuple[Expression, dict[str, Expression]]:
    """Return `program` over pictures that tables by code stand for, and what each of these tables holds.

    Where nothing costly depends on single channels of `source`, or too much does, nothing is changed.
    """
    alone = _by_channel(program, source)
    worth = _worth(program, alone)
    found: dict[int, Expression] = {}
    for step in walk(program):
        if id(step) not in alone:
            found |= {id(a): a for a in step.arguments if id(a) in worth}
    if id(program) in worth:
        found[id(program)] = program
    if not 0 < len(found) <= MOST:
        return program, {}
    names = {key: f"{source}, by code {n}" for n, key in enumerate(found)}

    def looked_up(step: Expression, arguments: tuple[Expression, ...]) -> Expression:
        return picture(names[id(step)]) if id(step) in names else step.over(arguments)

    return rebuilt(program, looked_up), {names[key]: step for key, step in found.items()}


def _by_channel(program: Expression, source: str) -> set[int]:
    """Return the steps each channel of which depends on that channel of the source alone."""
    alone: set[int] = set()
    for step in (step for step in walk(program) if step.per_pixel):
        is_source = step.primitive == PICTURE and step.name == source
        by_channel = step.signature is not None and not step.signature.mixes
        if is_source or (by_channel and all(id(a) in alone for a in step.arguments if a.per_pixel)):
            alone.add(id(step))
    return alone


def _worth(program: Expression, alone: set[int]) -> set[int]:
    """Return those of the steps `alone` that something costly is in."""
    worth: set[int] = set()
    for step in walk(program):
        below = any(id(a) in worth for a in step.arguments)
        is_costly = step.signature is not None and step.signature.is_costly
        if id(step) in alone and (below or is_costly):
            worth.add(id(step))
    return worth
