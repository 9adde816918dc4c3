"""The cues of the strip: a line with a name, and the ramp of its transition in the shape of its easing."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import Final

from lamphouse.graph.cues.easing import EVEN, eased
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.panels.draw import begun, line, path, polygon, text_at
from lamphouse.viewer.panels.strip_ruler import Ruler, foot

FLAG: Final = 22.0  # pixels of the row of names above the pictures
FINE: Final = 5.0  # pixels of one straight piece of a curved ramp
PIECES: Final = 48


def draw_cues(ruler: Ruler, cues: Sequence[Cue], holding: Cue | None, scale: float) -> None:
    """Draw what the strip spans of `cues`, in order of frame, the one that holds above the others."""
    shown = list(ruler.spanned(cues))
    for cue in shown:
        _cue(ruler, cue, colours.QUIET, scale)
    if holding is not None:
        _cue(ruler, holding, colours.ACCENT, scale)
    edges = [*(ruler.x(cue.frame) for cue in shown[1:]), ruler.left + ruler.width]
    for cue, beyond in zip(shown, edges, strict=False):
        called = cue.name or str(bisect_left(cues, cue.frame, key=lambda each: each.frame) + 1)
        room = ruler.x(cue.frame) + 5 * scale, beyond - 3 * scale
        _name(ruler, called, room, colours.TEXT if cue is holding else colours.QUIET, scale)


def _cue(ruler: Ruler, cue: Cue, colour: colours.Colour, scale: float) -> None:
    x = ruler.x(cue.frame)
    if x - ruler.x(foot(cue)) > scale:
        ramp(ruler, cue, colour, scale)
    line((x, ruler.top), (x, ruler.bottom), colour, 2 * scale)


def ramp(ruler: Ruler, cue: Cue, colour: colours.Colour, scale: float) -> None:
    """Draw how far a transition has come at each of its frames, from the foot up to the cue."""
    edge = slope(ruler, cue, ruler.top + FLAG * scale)
    polygon([*edge, (edge[-1][0], ruler.bottom)], colour, 0.35)
    path(edge, colour, 2 * scale, 5 * scale)  # grey on a picture is seen only against something darker


def slope(ruler: Ruler, cue: Cue, top: float) -> list[tuple[float, float]]:
    """Return the corners of a ramp's upper edge, from its foot to its cue at the height `top`."""
    start, stop = ruler.x(foot(cue)), ruler.x(cue.frame)
    pieces = 1 if cue.ease == EVEN else max(1, min(PIECES, int((stop - start) / FINE)))
    shares = ((n / pieces, eased(cue.ease, n, pieces)) for n in range(pieces + 1))
    return [(start + t * (stop - start), ruler.bottom - s * (ruler.bottom - top)) for t, s in shares]


def _name(ruler: Ruler, name: str, room: tuple[float, float], colour: colours.Colour, scale: float) -> None:
    """Write what a cue is called as far as there is room before the next."""
    left, right = room
    if right > left:
        text_at(left, ruler.top + 1, begun(name, right - left), colour)
