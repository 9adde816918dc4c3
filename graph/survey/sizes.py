"""How much each shot flickers and how unsteady it is, however little: what is proposed begins higher."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Kind


class Size(NamedTuple):
    """The standard deviations of a shot's flicker in stops, and of its place in picture heights.

    None where that was not looked for, or the shot is too short to say.
    """

    shot: Shot
    flicker: float | None = None
    unsteadiness: float | None = None

    @property
    def amounts(self) -> dict[str, float | None]:
        """Return the length, and both as the proposals have them: in stops, in % of the picture's height."""
        flicker = None if self.flicker is None else round(self.flicker, 4)
        moves = None if self.unsteadiness is None else round(100 * self.unsteadiness, 4)
        return {"frames": self.shot.stop - self.shot.first, "flicker": flicker, "unsteadiness": moves}


def sizes(look: Look, only: Collection[Kind]) -> tuple[Size, ...]:
    """Return the sizes of each shot, as far as these kinds are looked for."""
    flicker = {each.first: each.size for each in look.flickers} if "flicker" in only else {}
    moves = {each.first: each.size for each in look.unsteadiness} if "steadiness" in only else {}
    return tuple(Size(shot, flicker.get(shot.first), moves.get(shot.first)) for shot in look.shots)
