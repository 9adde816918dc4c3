"""The whole window: the picture over its scopes, the controls beside them, time below all of it.

Time runs along the foot because everything is ordered by it; the picture has the most room and nothing over
it; controls stand to the right, where the hand on the mouse is for most.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.chain import chain
from lamphouse.viewer.panels.compare import compare
from lamphouse.viewer.panels.controls import controls
from lamphouse.viewer.panels.cues import cues
from lamphouse.viewer.panels.help import help_page
from lamphouse.viewer.panels.picture import picture
from lamphouse.viewer.panels.scopes import scopes, shares
from lamphouse.viewer.panels.sticks import sticks
from lamphouse.viewer.panels.strip import strip
from lamphouse.viewer.panels.transport import transport

SIDE: Final = 396.0
STRIP: Final = 96.0
TRANSPORT: Final = 46.0
SCOPES: Final = 0.27  # of the height
CHAIN: Final = 0.38
Answers = tuple[tuple[str, Callable[[], None]], ...]
_PLAIN: Final = (
    imgui.WindowFlags_.no_decoration
    | imgui.WindowFlags_.no_background  # the window is cleared to it
    | imgui.WindowFlags_.no_move
    | imgui.WindowFlags_.no_bring_to_front_on_focus
)


def gui(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw everything, and take what was done since."""
    size, scale = imgui.get_io().display_size, panels.scale
    imgui.set_next_window_pos(ImVec2(0, 0))
    imgui.set_next_window_size(size)
    imgui.begin("desk", None, _PLAIN | imgui.WindowFlags_.no_scroll_with_mouse)
    below = (STRIP + TRANSPORT + 2 * look.GAP) * scale
    high = imgui.get_content_region_avail().y - below
    imgui.begin_child("seen", ImVec2(-SIDE * scale, high))
    _bar(desk, panels, seen)
    room = imgui.get_content_region_avail()
    tall = room.y * (CHAIN if panels.chain.is_open else SCOPES)
    picture(desk, panels, seen, room.x, room.y - tall - look.GAP * scale)
    if panels.chain.is_open:
        chain(desk, panels, room.x, tall)
    else:
        scopes(panels, seen, room.x, tall)
    imgui.end_child()
    imgui.same_line()
    imgui.begin_child("controls", ImVec2(0, high))
    cues(desk, panels, seen)
    imgui.separator()
    shares(desk, panels, seen)
    imgui.separator()
    controls(desk, panels, seen)
    imgui.end_child()
    transport(desk, panels, seen)
    strip(desk, panels, seen, STRIP * scale)
    _dialogs(desk, panels)
    imgui.end()
    if not imgui.is_any_item_active():
        panels.drag = None  # also where what was held is no longer drawn


def _bar(desk: Desk, panels: Panels, seen: Seen) -> None:
    compare(desk, panels, seen)
    imgui.same_line()
    if imgui.button("click on a neutral" if panels.picks else "pick a neutral"):
        panels.picks = not panels.picks
    imgui.set_item_tooltip(
        "Then click on something that was grey or white: the balance of the gain makes it so"
    )


def _dialogs(desk: Desk, panels: Panels) -> None:
    if panels.left_over is not None and _question(
        "An earlier run ended without saving.",
        f"What it had is beside the reel, in {desk.recovery.path.name}.",
        (("recover", lambda: _recovered(desk, panels)), ("start without it", lambda: _left(desk, panels))),
    ):
        return
    if desk.is_contested:
        _question(
            f"{desk.reel_file.name} was changed by another program.",
            "Both can be kept: nothing is lost whatever you choose.",
            (
                ("save this, keep the other beside it", lambda: _saved_beside(desk)),
                ("take the other; undo goes back", desk.take_other),
                ("go on working", lambda: _uncontested(desk)),
            ),
        )
    elif panels.asks_to_quit:
        _question(
            "The mapping of the joysticks is not kept." if desk.is_saved else "The reel is not saved.",
            "Nor is the mapping of the joysticks kept."
            if panels.sticks.shelf.unkept and not desk.is_saved
            else "",
            (
                ("save and close", lambda: _closed(panels, _saved(desk, panels))),
                ("close without saving", lambda: _thrown_away(desk, panels)),
                ("go on working", lambda: _closed(panels, False)),
            ),
        )
    if panels.helps:
        help_page(panels)
    if panels.sticks.is_open:
        sticks(desk, panels)


def _question(title: str, text: str, answers: Answers) -> bool:
    middle = imgui.get_io().display_size
    imgui.open_popup(title)
    imgui.set_next_window_pos(ImVec2(middle.x / 2, middle.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    is_open = imgui.begin_popup_modal(title, None, imgui.WindowFlags_.always_auto_resize)[0]
    if is_open:
        if text:
            imgui.text(text)
        for label, act in answers:
            if imgui.button(label):
                act()
                imgui.close_current_popup()
            imgui.same_line()
        imgui.end_popup()
    return bool(is_open)


def _recovered(desk: Desk, panels: Panels) -> None:
    if panels.left_over is not None:
        desk.recover(panels.left_over)
    panels.left_over = None


def _left(desk: Desk, panels: Panels) -> None:
    panels.left_over = None
    desk.start_without()


def _saved(desk: Desk, panels: Panels) -> bool:
    """Save the reel and keep the sticks' mapping, as far as there is need; say whether all of it is safe."""
    if not desk.is_saved and not desk.save():
        return False
    desk.message = panels.sticks.keep_all()
    return not desk.message


def _saved_beside(desk: Desk) -> None:
    desk.save(keeps_other=True)


def _uncontested(desk: Desk) -> None:
    desk.is_contested = False


def _closed(panels: Panels, is_over: bool) -> None:
    panels.asks_to_quit, panels.is_over = False, is_over


def _thrown_away(desk: Desk, panels: Panels) -> None:
    desk.recovery.saved(desk.reel)
    _closed(panels, True)
