"""The delivery as it is chosen: its raster with the film's place in it, and what it is in plain words."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.graph.media.codes.framing import NEUTRAL
from lamphouse.graph.transfer.plan import Plan
from lamphouse.viewer import colours
from lamphouse.viewer.models.delivery_words import described
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import in_frame, lie_of, placing, safe_areas, shape_of
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.draw import box, frame, text_at
from lamphouse.viewer.panels.record.words import row

NAMES: Final = 84.0  # pixels of the names of rows
SHARE: Final = 0.42  # of the height at most
NARROW: Final = 0.004  # of the frame: what is narrower is the filter's edge and no black


def raster(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw both."""
    chosen = panels.recording.choice.now(desk, seen.now)
    if chosen.plan is None:
        return
    at = imgui.get_cursor_screen_pos()
    shape = shape_of(desk.reel, chosen.delivery)
    high = min(height * SHARE, width / shape)
    wide = high * shape
    _drawn(desk, panels, chosen.plan, (at.x, at.y), (wide, high))
    imgui.dummy(ImVec2(width, high))
    for name, text in (("raster", raster_words(desk, chosen.plan)), *described(chosen.plan)):
        row(name, text, NAMES * panels.scale)


def raster_words(desk: Desk, pass_: Plan) -> str:
    """Return the raster of a pass, and what of it is black."""
    outer = placing(desk.reel, pass_.delivery).outer
    aspect = "" if outer.pixel_aspect == 1 else f" of pixels {float(outer.pixel_aspect):.3f} wide"
    left, top, right, bottom = film_box(desk, pass_)
    sides = {"pillars": left > NARROW or right < 1 - NARROW, "letterbox": top > NARROW or bottom < 1 - NARROW}
    black = " and ".join(name for name, is_there in sides.items() if is_there)
    return f"{outer.width} x {outer.height}{aspect}, {black or 'filled by the film'}"


def film_box(desk: Desk, pass_: Plan) -> tuple[float, float, float, float]:
    """Return where the film's picture is seen in the frame, unframed: left, top, right, bottom in shares."""
    lie = lie_of(desk.reel, pass_.delivery, NEUTRAL)
    found, window = in_frame(lie, lie.edges), lie.window
    return (
        max(found[0], window[0]),
        max(found[1], window[1]),
        min(found[2], window[2]),
        min(found[3], window[3]),
    )


def _drawn(
    desk: Desk, panels: Panels, pass_: Plan, at: tuple[float, float], size: tuple[float, float]
) -> None:
    def place(x: float, y: float) -> tuple[float, float]:
        return at[0] + x * size[0], at[1] + y * size[1]

    box(at, place(1, 1), colours.SURROUND)
    left, top, right, bottom = film_box(desk, pass_)
    box(place(left, top), place(right, bottom), colours.FIELD_OVER)
    tall = imgui.get_text_line_height()
    for n, (name, (x, y, far_x, far_y)) in enumerate(safe_areas(desk.reel, pass_.delivery)):
        frame(place(x, y), place(far_x, far_y), colours.QUIET)
        corner = place(left, y if n else far_y)  # of two lines that are near each other, one at each end
        text_at(corner[0] + 6 * panels.scale, corner[1] + (2 if n else -tall - 2), name)
    middle = place((left + right) / 2, (top + bottom) / 2)
    wide, tall = imgui.calc_text_size("film")
    text_at(middle[0] - wide / 2, middle[1] - tall / 2, "film", colours.TEXT)
    frame(at, place(1, 1), colours.QUIET)
