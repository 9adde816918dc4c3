"""The program of a transition, or of what a track moves: laid out once, given numbers every frame.

What does not move is bound and rewritten as in a known program. What moves stays an input, so that a frame
on the way costs what a known frame costs, and nothing is compiled between its first and last.
"""

from __future__ import annotations

from collections.abc import Collection

from lamphouse.graph.chain.known import Inputs
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import simplify
from lamphouse.nodes.values import Settings


class MovingProgram:
    """A chain on its way from the settings `start` to the settings `end`, choices being those of `start`.

    The nodes `tracked` move besides.
    """

    def __init__(
        self, program: Program, start: Settings, end: Settings, tracked: Collection[str] = ()
    ) -> None:
        moving = {key.split(".", 1)[0] for key, value in start.items() if value != end[key]}.union(tracked)
        self._program, self._moving = program, moving
        known = program.numbers(start, lambda node: node not in moving)
        self.expression = simplify(program.expression(start), known)

    def inputs(self, settings: Settings) -> Inputs:
        """Return the values of the program's inputs under `settings` on the way."""
        return self._program.numbers(settings, self._moving.__contains__)
