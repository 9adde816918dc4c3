"""What a program does to each channel by itself, looked up by code instead of computed by pixel.

A scan of 16 bits has at most 65,536 codes and millions of pixels: what stands before the first mixing of
channels is worked out once for every code, by the same kernel, so that the bits are the same.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from lamphouse.nodes.trace import PICTURE, Expression, picture, walk

MOST: Final = 2  # tables; more would push each other out of the cache

CHEAP: Final = frozenset(
    ["scale", "offset", "clamp", "mix", "add", "subtract", "multiply", "minimum", "maximum", "less", "select"]
)
COSTLY: Final = frozenset(
    [
        "power",
        "power_above_zero",
        "toe_power",
        "toe_root",
        "log",
        "antilog",
        "toe_log",
        "toe_antilog",
        "curve",
        "half_curve",
        "divide",
        "square_root",
    ]
)


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
    return _replaced(program, names), {names[key]: step for key, step in found.items()}


def _by_channel(program: Expression, source: str) -> set[int]:
    """Return the steps each channel of which depends on that channel of the source alone."""
    alone: set[int] = set()
    for step in (step for step in walk(program) if step.per_pixel):
        is_source = step.primitive == PICTURE and step.name == source
        by_channel = step.primitive in CHEAP | COSTLY
        if is_source or (by_channel and all(id(a) in alone for a in step.arguments if a.per_pixel)):
            alone.add(id(step))
    return alone


def _worth(program: Expression, alone: set[int]) -> set[int]:
    """Return those of the steps `alone` that something costly is in."""
    worth: set[int] = set()
    for step in walk(program):
        below = any(id(a) in worth for a in step.arguments)
        if id(step) in alone and (below or step.primitive in COSTLY):
            worth.add(id(step))
    return worth


def _replaced(program: Expression, names: dict[int, str]) -> Expression:
    done: dict[int, Expression] = {}
    for step in walk(program):
        if id(step) in names:
            done[id(step)] = picture(names[id(step)])
        elif any(done[id(a)] is not a for a in step.arguments):
            done[id(step)] = replace(step, arguments=tuple(done[id(a)] for a in step.arguments))
        else:
            done[id(step)] = step
    return done[id(program)]
