"""On the strip: the stretch between in and out, and which frames of the last master are stale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from lamphouse.viewer import colours
from lamphouse.viewer.panels.draw import box, line
from lamphouse.viewer.panels.strip_cues import FLAG
from lamphouse.viewer.panels.strip_ruler import Ruler

HOOK: Final = 8.0  # pixels of the hooks of in and out
STALE: Final = 3.0  # pixels of the line of what is stale
OUTSIDE: Final = 0.55  # of the surround over what is not between in and out


def draw_ends(ruler: Ruler, frames: range | None, scale: float) -> None:
    """Draw in and out as hooks that open toward each other, and darken what is not between them."""
    if frames is None:
        return
    top, end = ruler.top + FLAG * scale, ruler.left + ruler.width
    first, stop = (min(max(ruler.x(at), ruler.left), end) for at in (frames.start, frames.stop))
    box((ruler.left, top), (first, ruler.bottom), colours.SURROUND, OUTSIDE)
    box((stop, top), (end, ruler.bottom), colours.SURROUND, OUTSIDE)
    for x, way in ((ruler.x(frames.start), 1), (ruler.x(frames.stop), -1)):
        line((x, top), (x, ruler.bottom), colours.BRIGHT, 2 * scale)
        for y in (top + scale, ruler.bottom - scale):
            line((x, y), (x + way * HOOK * scale, y), colours.BRIGHT, 2 * scale)


def draw_stale(ruler: Ruler, stretches: Sequence[range], scale: float) -> None:
    """Draw a thin line under the names along all that is stale; what is shorter than a pixel has one."""
    top = ruler.top + (FLAG - STALE) * scale
    for frames in stretches:
        left, right = ruler.x(frames.start), ruler.x(frames.stop)
        box((left, top), (max(right, left + scale), top + STALE * scale), colours.ACCENT)
