"""Proposals on the strip: hollow shapes in three rows, with lines in dashes as far as they reach."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from imgui_bundle import ImVec2

from lamphouse.graph.survey.proposal import Kind, Proposal
from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.models.survey_rows import Key, key_of
from lamphouse.viewer.panels.draw import line
from lamphouse.viewer.panels.proposal_shapes import HALF, dashed, draw_proposal
from lamphouse.viewer.panels.strip_cues import FLAG
from lamphouse.viewer.panels.strip_ruler import Ruler

ROOM: Final = 1.5 * HALF  # pixels from a shape to the next: they may touch
ALONE: Final = 3 * HALF  # from which on a proposal has its lines as well
ROW: Final = 17.0  # pixels from one row to the next
ROWS: Final[dict[Kind, int]] = {
    "cues": 0,
    "transitions": 0,
    "marks": 0,
    "balance": 1,
    "flicker": 1,
    "faults": 2,
    "steadiness": 2,
}


class Placed(NamedTuple):
    """A proposal where the strip shows it: the middle of its shape, and the pixels from the one before it."""

    proposal: Proposal
    at: tuple[float, float]
    gap: float


def placed(ruler: Ruler, proposals: Iterable[Proposal], scale: float) -> list[Placed]:
    """Return what the strip spans of `proposals`, in order of frame.

    Of those of a row on one pixel it is the first, and of those closer than a shape is wide the first alone
    has a shape: thousands cost no more than pixels.
    """
    (start, stop), found = ruler.view.span, []
    last, shaped = dict.fromkeys(ROWS.values(), -1e9), dict.fromkeys(ROWS.values(), -1e9)
    zero, a_frame = ruler.x(0.5), 1 / ruler.per_pixel
    for one in proposals:
        row, x = ROWS[one.kind], zero + one.frame * a_frame
        if x - last[row] < 1:
            continue
        span = one.span
        if span.stop < start or span.start > stop:
            continue
        last[row], gap = x, x - shaped[row]
        shaped[row] = x if gap >= ROOM * scale else shaped[row]
        if span.stop > one.frame + 1:  # of one that begins left of what is seen the shape is at the left
            x = min(max(x, ruler.left + HALF * scale), ruler.x(span.stop))
        found.append(Placed(one, (x, ruler.top + (FLAG + ROW * (row + 0.6)) * scale), gap))
    return found


def draw_proposals(ruler: Ruler, shown: Iterable[Placed], chosen: Key | None, scale: float) -> None:
    """Draw proposals, the chosen one above the others."""
    above = None
    for one in shown:
        if key_of(one.proposal) == chosen:
            above = one._replace(gap=ALONE * scale)
        elif one.gap >= ROOM * scale:
            _draw(ruler, one, colours.BRIGHT, scale)
        else:
            x, y = one.at
            line((x, y - HALF * scale), (x, y + HALF * scale), colours.BRIGHT)
    if above is not None:
        _draw(ruler, above, colours.ACCENT, scale)


def proposal_under(shown: Iterable[Placed], mouse: ImVec2, scale: float) -> Proposal | None:
    """Return the proposal whose shape is at the pointer, the nearest where there are several."""
    near = min(shown, key=lambda one: _off(one, mouse), default=None)
    return near.proposal if near is not None and _off(near, mouse) < (HALF + 2) * scale else None


def _off(one: Placed, mouse: ImVec2) -> float:
    return float(max(abs(mouse.x - one.at[0]), abs(mouse.y - one.at[1])))


def _draw(ruler: Ruler, placed: Placed, colour: Colour, scale: float) -> None:
    one, at = placed.proposal, placed.at
    top, x, is_sure = ruler.top + FLAG * scale, ruler.x(one.frame), one.is_sure
    ends = ruler.x(one.span.start), ruler.x(one.span.stop)
    if placed.gap < ALONE * scale:  # lines of so many would hide the pictures
        draw_proposal(one.kind, at, colour, scale, is_sure=is_sure)
        return
    if one.kind == "transitions":
        dashed((ends[0], ruler.bottom), (x, top), colour, scale, is_sure=is_sure)
    elif ends[1] - ends[0] > 2 * HALF * scale:
        seen = max(ends[0], ruler.left), min(ends[1], ruler.left + ruler.width)
        dashed((seen[0], at[1]), (seen[1], at[1]), colour, scale, is_sure=is_sure)
    if one.kind in ("cues", "transitions"):
        dashed((x, top), (x, ruler.bottom), colour, scale, is_sure=is_sure)
    draw_proposal(one.kind, at, colour, scale, is_sure=is_sure)
