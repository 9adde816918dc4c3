"""The loupe: what the pointer is over, magnified pixel by pixel, and how sharp it is there in this shot."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Point
from lamphouse.viewer.models.loupe import side_of
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import box, frame, image, text_at

GAP: Final = 10.0


def loupe(desk: Desk, panels: Panels, seen: Seen, at: Point) -> None:
    """Draw the loupe over a picture that begins at `at`, in a corner of it."""
    held, view, scale = panels.loupe, panels.picture, panels.scale
    if not held.times:
        return
    if view.in_scan is not None and not is_over_loupe(panels, view.pointer):
        held.place = view.in_scan
    left, top, side = _rectangle(panels)
    x, y = at[0] + left, at[1] + top
    box((x - 1, y - 1), (x + side + 1, y + side + 1), colours.SURROUND)
    image(seen.textures.loupe, (x, y), (x + side, y + side))
    frame((x - 1, y - 1), (x + side + 1, y + side + 1), colours.LINE)
    middle, arm = (x + side / 2, y + side / 2), 6 * scale
    draw = imgui.get_window_draw_list()
    for wide, high in ((arm, 0.0), (0.0, arm)):
        first = ImVec2(middle[0] - wide, middle[1] - high)
        draw.add_line(first, ImVec2(middle[0] + wide, middle[1] + high), look.code(colours.ACCENT))
    text = f"{held.times}x   {_said(desk, panels, seen)}"
    wide, tall = imgui.calc_text_size(text, wrap_width=side)
    box((x - 1, y + side + 1), (x + side + 1, y + side + tall + 8 * scale), colours.SURROUND, 0.85)
    text_at(x + 4 * scale, y + side + 4 * scale, text, colours.TEXT, side - 8 * scale)


def is_over_loupe(panels: Panels, pointer: Point | None) -> bool:
    """Say whether a point of the picture's part is on the loupe or on what is said under it."""
    if not panels.loupe.times or pointer is None:
        return False
    left, top, side = _rectangle(panels)
    below = side + 3 * imgui.get_text_line_height()
    return left <= pointer[0] < left + side and top <= pointer[1] < top + below


def click_loupe(desk: Desk, panels: Panels, pointer: Point, now: int) -> None:
    """Go to the sharpest frame by a click on what is said of it; a click on the loupe changes its side."""
    _, top, side = _rectangle(panels)
    if pointer[1] < top + side:
        panels.loupe.is_left = not panels.loupe.is_left
    else:
        panels.loupe.go(desk, now)


def _rectangle(panels: Panels) -> tuple[float, float, float]:
    """Return left, top and side of the loupe in the picture's part, on whole pixels."""
    view, gap = panels.picture, float(round(GAP * panels.scale))
    side = float(side_of(view.size, panels.scale))
    return (gap if panels.loupe.is_left else view.size[0] - side - gap), gap, side


def _said(desk: Desk, panels: Panels, seen: Seen) -> str:
    """Return how sharp it is here, in words; and note which frame is the sharpest."""
    held, found = panels.loupe, seen.sharpness
    held.sharpest = None
    if found is None:
        return "sharpness is measured where the film stands"
    share, best = found.share(desk.frame, held.place), found.sharpest(held.place)
    if best is None:
        done = found.done < len(found.samples)
        return "the shot is being looked at" if done else "there is but grain here to judge by"
    held.sharpest = best[0]
    place = desk.readings(best[0]).timecode
    looked = f", {found.done} of {len(found.samples)} looked at" if found.done < len(found.samples) else ""
    if share is None:
        return f"but grain here; the sharpest of this shot is {place}{looked}"
    return f"{share * 100:.0f} % of the sharpest here in this shot, {place}; click here to go there{looked}"
