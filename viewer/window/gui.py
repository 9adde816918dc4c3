"""The whole window: a page over time, which runs along the foot because everything is ordered by it.

On the page to grade the picture has the left, with nothing over it. What the hand works with all day stands
to the right, in the order in which it is looked at: scopes, balances, cues, and the rest of the chain.
"""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer.models.commands.table import is_asking
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.proposals import point
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.chain import chain
from lamphouse.viewer.panels.compare import compare
from lamphouse.viewer.panels.controls import controls
from lamphouse.viewer.panels.cue_list import cue_list
from lamphouse.viewer.panels.flow import beside
from lamphouse.viewer.panels.focus import follow_keyboard, rest_keyboard
from lamphouse.viewer.panels.grips import balances_height, grips
from lamphouse.viewer.panels.help import help_page
from lamphouse.viewer.panels.menu import menu
from lamphouse.viewer.panels.picture import picture
from lamphouse.viewer.panels.proposals import proposals
from lamphouse.viewer.panels.questions import questions
from lamphouse.viewer.panels.record.page import record
from lamphouse.viewer.panels.scopes import scopes, shares
from lamphouse.viewer.panels.sticks import sticks
from lamphouse.viewer.panels.strip import strip
from lamphouse.viewer.panels.transport import transport

SIDE: Final = 640.0  # three balances of 200 beside each other, and what is between them
STRIP: Final = 96.0
TRANSPORT: Final = 46.0
SCOPES: Final = 0.24  # of the height
CUES: Final = 366.0
CHAIN: Final = 0.38
SURVEY: Final = (
    330.0  # pixels of height that the list of the survey has at least, where balances stand above it
)
_PLAIN: Final = (
    imgui.WindowFlags_.no_decoration
    | imgui.WindowFlags_.no_background  # the window is cleared to it
    | imgui.WindowFlags_.no_move
    | imgui.WindowFlags_.no_bring_to_front_on_focus
)


def gui(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw everything, and take what was done since."""
    size, scale = imgui.get_io().display_size, panels.scale
    look.hold_tips(imgui.is_any_item_active() or imgui.get_io().nav_visible)
    imgui.set_next_window_pos(ImVec2(0, 0))
    imgui.set_next_window_size(size)
    follow_keyboard(panels, is_asking=is_asking(desk, panels) or panels.menu.is_open)
    imgui.begin("desk", None, _PLAIN | imgui.WindowFlags_.no_scroll_with_mouse)
    below = (STRIP + TRANSPORT + 2 * look.GAP) * scale
    high = imgui.get_content_region_avail().y - below
    imgui.begin_child("page", ImVec2(0, high), imgui.ChildFlags_.nav_flattened)
    if panels.page == "record":
        record(desk, panels, seen)
    else:
        _grade(desk, panels, seen)
    imgui.end_child()
    transport(desk, panels, seen)
    strip(desk, panels, seen, STRIP * scale)
    _point(desk, panels, seen)
    questions(desk, panels)
    menu(desk, panels, seen)
    if panels.helps:
        help_page(panels)
    if panels.sticks.is_open:
        sticks(desk, panels)
    imgui.end()
    rest_keyboard(panels)
    if not imgui.is_any_item_active():
        panels.drag = None  # also where what was held is no longer drawn


def _grade(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the page to grade."""
    scale = panels.scale
    imgui.begin_child("seen", ImVec2(-SIDE * scale, 0), imgui.ChildFlags_.nav_flattened)
    _bar(desk, panels, seen)
    room = imgui.get_content_region_avail()
    tall = room.y * CHAIN if panels.chain.is_open else 0.0
    picture(desk, panels, seen, room.x, room.y - tall - (look.GAP * scale if tall else 0.0))
    if tall:
        chain(desk, panels, room.x, tall)
    imgui.end_child()
    imgui.same_line()
    imgui.begin_child("side", ImVec2(0, 0), imgui.ChildFlags_.nav_flattened)
    room = imgui.get_content_region_avail()
    high = balances_height(room.x)
    scopes(panels, seen, room.x, room.y * SCOPES)
    if not panels.proposals.is_open or imgui.get_content_region_avail().y - high > SURVEY * scale:
        grips(desk, panels, seen, room.x, high)
    if panels.proposals.is_open:
        proposals(desk, panels, seen, room.x, imgui.get_content_region_avail().y)
    else:
        _cues_and_controls(desk, panels, seen)
    imgui.end_child()


def _cues_and_controls(desk: Desk, panels: Panels, seen: Seen) -> None:
    scale = panels.scale
    cue_list(desk, panels, seen, CUES * scale, imgui.get_content_region_avail().y)
    imgui.same_line()
    imgui.begin_child("controls", ImVec2(0, 0), imgui.ChildFlags_.nav_flattened)
    controls(desk, panels, seen)
    shares(desk, panels, seen)
    imgui.end_child()


def _point(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Have the picture follow the pointer over proposals, while no hand holds anything."""
    held = panels.proposals
    under, held.under = held.under, None
    if not imgui.is_any_item_active():
        point(held, desk, under, seen.now)


def _bar(desk: Desk, panels: Panels, seen: Seen) -> None:
    command_button("menu", "menu", desk, panels, seen)
    beside("record")
    command_button("record_page", "record", desk, panels, seen)
    compare(desk, panels, seen)
    label = "click on a neutral" if panels.picks else "pick a neutral"
    beside(label)
    if imgui.button(label):
        panels.picks = not panels.picks
    imgui.set_item_tooltip(
        "Then click on something that was grey or white: the balance of the gain makes it so"
    )
