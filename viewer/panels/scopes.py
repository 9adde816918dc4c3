"""The scopes: R'G'B' parade in video per cent and 10-bit code, histogram, the plane of Cb and Cr, shares."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from imgui_bundle import ImVec2, ImVec4, imgui
from numpy.typing import NDArray

from lamphouse.graph.media.codes.r103 import AREA
from lamphouse.graph.scopes.levels import HIGHEST, LOWEST, code_marks, percent_marks
from lamphouse.graph.scopes.vectorscope import bar_targets, point_on_plane, skin_line
from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.draw import bars, box, image, line, text_at
from lamphouse.viewer.panels.flow import beside, wrapped

HISTOGRAM: Final = 0.24  # of the width
LATE: Final = 0.6  # of the surround over scopes that are late


def scopes(panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the scopes side by side, greyed while what they count is not what is shown."""
    at = imgui.get_cursor_screen_pos()
    gap = look.GAP * panels.scale
    wide = width * HISTOGRAM
    parade(panels, seen, width - wide - height - 2 * gap, height)
    imgui.same_line(0, gap)
    histogram(panels, seen, wide, height)
    imgui.same_line(0, gap)
    plane(panels, seen, height)
    if seen.is_late and seen.a_second is None:  # while the film runs they follow as closely as an eye can
        box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND, LATE)


def histogram(panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw how often each level occurs, red, green and blue in rows of their own."""
    at = imgui.get_cursor_screen_pos()
    imgui.dummy(ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND)
    foot = 22 * panels.scale
    left, wide = at.x + 8 * panels.scale, width - 16 * panels.scale
    zero, one = (left + wide * (signal - LOWEST) / (HIGHEST - LOWEST) for signal in (0.0, 1.0))
    for x, text in ((zero, "0"), ((zero + one) / 2, "50"), (one, "100 %")):
        line((x, at.y), (x, at.y + height - foot), colours.QUIET if text != "50" else colours.FIELD)
        text_at(min(x - 4, at.x + width - 48 * panels.scale), at.y + height - foot + 1, text)
    if seen.scopes.histogram is not None:
        rows = (height - foot) / 3
        for channel, colour in enumerate(colours.CHANNELS):
            counts = seen.scopes.histogram[channel]
            _row(counts, (left, at.y + (channel + 1) * rows), (wide, rows - 3 * panels.scale), colour)


def _row(counts: NDArray[Any], foot: tuple[float, float], size: tuple[float, float], colour: Colour) -> None:
    """Draw one row: as many bars as there are pixels, tall as the square root, as counts of levels are."""
    count = max(1, min(len(counts), int(size[0])))
    heights = np.sqrt(np.add.reduceat(counts, np.arange(count) * len(counts) // count))
    top = max(float(heights[1:-1].max(initial=0)), 1.0)
    bars(np.minimum(heights / top, 1.0), foot, size, colour)


def parade(panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the levels of red, green and blue side by side."""
    at = imgui.get_cursor_screen_pos()
    imgui.dummy(ImVec2(width, height))
    box((at.x, at.y), (at.x + width, at.y + height), colours.SURROUND)
    left, right = at.x + 40 * panels.scale, at.x + width - 44 * panels.scale
    image(seen.textures.parade, (left, at.y), (right, at.y + height))
    for mark in percent_marks():
        y = at.y + (1 - mark.height) * height
        strong = mark.text.split()[0] in ("0", "100")
        line((left, y), (right, y), colours.QUIET if strong else colours.FIELD)
        if (strong or mark.text.split()[0] == "50") and 8 * panels.scale < y - at.y:
            text_at(at.x + 4, y - 9 * panels.scale, mark.text)
    for mark in code_marks():
        y = at.y + (1 - mark.height) * height
        if 10 * panels.scale < y - at.y < height - 10 * panels.scale:
            text_at(right + 5, y - 9 * panels.scale, mark.text)


def plane(panels: Panels, seen: Seen, size: float) -> None:
    """Draw where the picture's colours lie, with the bars and the line for skin."""
    at = imgui.get_cursor_screen_pos()
    imgui.dummy(ImVec2(size, size))
    box((at.x, at.y), (at.x + size, at.y + size), colours.SURROUND)
    image(seen.textures.plane, (at.x, at.y), (at.x + size, at.y + size))

    def on(cb: float, cr: float) -> tuple[float, float]:
        across, up = point_on_plane(cb, cr)
        return at.x + across * size, at.y + (1 - up) * size

    line(on(-0.6, 0), on(0.6, 0), colours.FIELD)
    line(on(0, -0.6), on(0, 0.6), colours.FIELD)
    line(on(0, 0), on(*skin_line()), colours.QUIET)
    half = 6 * panels.scale
    for target in bar_targets("bt709"):
        x, y = on(target.cb, target.cr)
        if target.share < 1:
            imgui.get_window_draw_list().add_rect(
                ImVec2(x - half, y - half), ImVec2(x + half, y + half), look.code(colours.QUIET)
            )
            text_at(x + half + 2, y - half, target.name[:1].upper())


def shares(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Write how much of the picture stands at its ends, before and after, and what the judge finds."""
    for name, after, before in (
        ("at white or above", seen.scopes.clipped[1], seen.scopes.clipped_before[1]),
        ("at black or below", seen.scopes.clipped[0], seen.scopes.clipped_before[0]),
    ):
        imgui.text_colored(ImVec4(*(colours.QUIET if seen.is_late else colours.TEXT)), f"{after:.2f} %")
        imgui.same_line()
        wrapped(f"{name}; as scanned {before:.2f} %", colours.QUIET)
    _, panels.limits = imgui.checkbox("mark outside EBU R 103", panels.limits)
    label = "judge the grade" if panels.judges else "judge what is delivered"
    beside(label)
    command_button("judge", label, desk, panels, seen)
    if panels.judges:
        wrapped(_judged(panels, seen), colours.QUIET)
        imgui.set_item_tooltip("The share of the frame that lies beyond once the filter of R 103 has passed")


def _judged(panels: Panels, seen: Seen) -> str:
    """Return what the judge says of the delivered picture."""
    view, found = panels.picture, seen.judgement
    if view.delivery is None:
        return "no delivery is chosen, of which to judge the frame"
    if found is None:
        return f"{view.delivered} is judged once the film and the hand rest"
    verdict = "passes" if found.share <= AREA else "fails"
    return f"{view.delivered} {verdict} EBU R 103: {100 * found.share:.2f} % beyond"
