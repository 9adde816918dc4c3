"""The cues of the strip: a line with a name, and the ramp of its transition in the shape of its easing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.cues.easing import EVEN, eased
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.panels.draw import line, path, polygon, text_at
from lamphouse.viewer.panels.strip_place import Place, foot

FLAG: Final = 22.0  # pixels of the row of names above the pictures
FINE: Final = 5.0  # pixels of one straight piece of a curved ramp
PIECES: Final = 48


def draw_cues(place: Place, cues: Sequence[Cue], held: Cue | None, scale: float) -> None:
    """Draw what the strip spans of `cues`, in order of frame, the one that holds above the others."""
    shown = list(place.spanned(cues))
    for cue in shown:
        _cue(place, cue, colours.QUIET, scale)
    if held is not None:
        _cue(place, held, colours.ACCENT, scale)
    edges = [*(place.x(cue.frame) for cue in shown[1:]), place.left + place.width]
    for cue, beyond in zip(shown, edges, strict=False):
        _name(place, cue, beyond, colours.TEXT if cue is held else colours.QUIET, scale)


def _cue(place: Place, cue: Cue, colour: colours.Colour, scale: float) -> None:
    x = place.x(cue.frame)
    if x - place.x(foot(cue)) > scale:
        ramp(place, cue, colour, scale)
    line((x, place.top), (x, place.bottom), colour, 2 * scale)


def ramp(place: Place, cue: Cue, colour: colours.Colour, scale: float) -> None:
    """Draw how far a transition has come at each of its frames, from the foot up to the cue."""
    edge = slope(place, cue, place.top + FLAG * scale)
    polygon([*edge, (edge[-1][0], place.bottom)], colour, 0.35)
    path(edge, colours.SURROUND, 5 * scale)  # grey on a picture is seen only against something darker
    path(edge, colour, 2 * scale)


def slope(place: Place, cue: Cue, top: float) -> list[tuple[float, float]]:
    """Return the corners of a ramp's upper edge, from its foot to its cue at the height `top`."""
    start, stop = place.x(foot(cue)), place.x(cue.frame)
    pieces = 1 if cue.ease == EVEN else max(1, min(PIECES, int((stop - start) / FINE)))
    shares = ((n / pieces, eased(cue.ease, n, pieces)) for n in range(pieces + 1))
    return [(start + t * (stop - start), place.bottom - s * (place.bottom - top)) for t, s in shares]


def _name(place: Place, cue: Cue, beyond: float, colour: colours.Colour, scale: float) -> None:
    """Write a cue's name as far as there is room before the next."""
    left, right = place.x(cue.frame) + 5 * scale, beyond - 3 * scale
    if right > left:
        imgui.push_clip_rect(ImVec2(left, place.top), ImVec2(right, place.top + FLAG * scale), True)
        text_at(left, place.top + 1, cue.name, colour)
        imgui.pop_clip_rect()
