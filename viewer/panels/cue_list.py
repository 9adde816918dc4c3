"""The cue list: a row for each cue, the one that holds to be changed in its row, any of them to be chosen.

A click goes there; Control adds a cue to those that are chosen and Shift all up to it; F4 gives the list the
keyboard. Only the rows that are seen are drawn, however many there are.
"""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.cues.words import beginning_text, cue_text, set_text, settings_text
from lamphouse.graph.grade.visibility import MARK
from lamphouse.graph.reel.records import Cue
from lamphouse.viewer import colours
from lamphouse.viewer.models import chosen
from lamphouse.viewer.models.chosen import CueRows
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.cues import bound, tools
from lamphouse.viewer.panels.draw import begun, frame
from lamphouse.viewer.panels.ease import easing
from lamphouse.viewer.panels.grasp import follow_hand, grasped

NAME: Final = "name"
LENGTH: Final = "length"
PLACE: Final = "00:00:00:00 "  # as wide as a timecode, and a little
SPARE: Final = 4.0  # pixels by which a row is higher than its letters
_TABLE: Final = (
    imgui.TableFlags_.scroll_y | imgui.TableFlags_.no_pad_outer_x | imgui.TableFlags_.sizing_fixed_fit
)


def cue_list(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the list with what can be done above it, and take what is done."""
    rows = panels.cues
    rows.follow(desk.reel)
    rows.has_keyboard &= not panels.focus.is_given
    imgui.begin_child("cue list", ImVec2(width, height), imgui.ChildFlags_.nav_flattened)
    _pressed(desk, rows, seen)
    tools(desk, panels, seen)
    imgui.push_style_var(imgui.StyleVar_.cell_padding, ImVec2(3 * panels.scale, 0))
    imgui.push_style_var(imgui.StyleVar_.frame_padding, ImVec2(3 * panels.scale, 0))
    imgui.push_style_var(imgui.StyleVar_.item_spacing, ImVec2(4 * panels.scale, 0))
    if imgui.begin_table("cues", 5, _TABLE, imgui.get_content_region_avail()):
        _columns(desk)
        _rows(desk, panels, seen)
        imgui.end_table()
    imgui.pop_style_var(3)
    imgui.end_child()
    if rows.has_keyboard:
        low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
        frame((low.x, low.y), (high.x, high.y), colours.ACCENT)
        rows.has_keyboard = not imgui.is_mouse_clicked(0) or imgui.is_item_hovered()


def _pressed(desk: Desk, rows: CueRows, seen: Seen) -> None:
    presses, rows.presses = rows.presses, []
    for key in presses:
        chosen.press(rows, desk, key, seen.now)


def _columns(desk: Desk) -> None:
    fixed, stretch = imgui.TableColumnFlags_.width_fixed, imgui.TableColumnFlags_.width_stretch
    digits = len(str(max(10, len(desk.reel.cues))))
    wide = imgui.get_font_size()
    imgui.table_setup_column("number", fixed, imgui.calc_text_size("0" * digits).x + wide / 4)
    imgui.table_setup_column("place", fixed, imgui.calc_text_size(PLACE).x)
    imgui.table_setup_column("name", stretch, 1.1)
    imgui.table_setup_column("begins", fixed, imgui.calc_text_size("000 drawn").x)
    imgui.table_setup_column("set", stretch, 1.0)


def _rows(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the rows that are seen, with the one that holds among them unless the person has scrolled."""
    cues, rows = desk.cues.cues, panels.cues
    high = imgui.get_font_size() + SPARE * panels.scale
    if not cues:
        imgui.table_next_column()
        imgui.table_set_column_index(2)
        imgui.text_colored(ImVec4(*colours.QUIET), "No cue yet; the first change makes one.")
        return
    holding = desk.cues.holding(desk.frame)
    _scroll(rows, desk, holding, high)
    held = bound(desk, panels)
    clipper = imgui.ListClipper()
    clipper.begin(len(cues), high)
    while clipper.step():
        for index in range(clipper.display_start, clipper.display_end):
            imgui.table_next_row(0, high)
            imgui.push_id(cues[index].frame)
            _row(desk, panels, seen, index + 1, is_held=cues[index] is held)
            imgui.pop_id()


def _scroll(rows: CueRows, desk: Desk, holding: int | None, high: float) -> None:
    """Scroll to the row of the keyboard, else of the cue that holds; not while the person has scrolled."""
    cues = desk.cues.cues
    if imgui.is_window_hovered() and imgui.get_io().mouse_wheel:
        rows.is_scrolled = True
    at = None if holding is None else cues[holding].frame
    wanted = rows.cursor if rows.has_keyboard and rows.cursor is not None else at
    if wanted is None or wanted == rows.holding:
        return
    rows.holding = wanted
    if rows.is_scrolled and not rows.has_keyboard:
        return
    index = desk.cues.holding(wanted) or 0
    top, room = index * high, imgui.get_window_height()
    low, now = max(0.0, top + 2 * high - room), imgui.get_scroll_y()
    imgui.set_scroll_y(min(max(now, low), max(0.0, top - high)))


def _row(desk: Desk, panels: Panels, seen: Seen, number: int, *, is_held: bool) -> None:
    cue, rows = desk.cues.cues[number - 1], panels.cues
    is_chosen = rows.are_several and cue.frame in rows.frames
    imgui.table_next_column()
    if is_chosen:
        colour = imgui.get_color_u32(ImVec4(*colours.ACCENT[:3], colours.SELECTED))
        imgui.table_set_bg_color(imgui.TableBgTarget_.row_bg0, colour)
    flags = imgui.SelectableFlags_.span_all_columns | imgui.SelectableFlags_.allow_overlap
    marked = colours.BRIGHT if is_chosen else colours.ACCENT
    imgui.push_style_color(imgui.Col_.text, ImVec4(*(marked if is_held else colours.TEXT)))
    if imgui.selectable(f"{number}##row", is_held and not is_chosen, flags)[0]:
        _clicked(desk, rows, seen, cue)
    imgui.pop_style_color()
    if rows.has_keyboard and rows.cursor == cue.frame:
        low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
        frame((low.x, low.y), (high.x, high.y), colours.BRIGHT)
    imgui.push_style_color(imgui.Col_.text, ImVec4(*(colours.BRIGHT if is_held else colours.TEXT)))
    if imgui.is_item_hovered(imgui.HoveredFlags_.delay_normal):
        imgui.set_tooltip(_told(desk, number, cue))
    imgui.table_next_column()
    imgui.text(desk.readings(cue.frame).timecode)
    imgui.table_next_column()
    if is_held:
        _named(desk, panels, cue)
    else:
        imgui.text(begun(cue.name, imgui.get_content_region_avail().x))
    imgui.table_next_column()
    _beginning(desk, panels, cue) if is_held else imgui.text(_short(cue))
    imgui.table_next_column()
    _sets(seen, cue, colours.TEXT if is_chosen else colours.QUIET, is_held=is_held)
    imgui.pop_style_color()


def _clicked(desk: Desk, rows: CueRows, seen: Seen, cue: Cue) -> None:
    io = imgui.get_io()
    if chosen.click(rows, desk, cue.frame, adds=io.key_ctrl, spans=io.key_shift):
        desk.go_to(cue.frame, seen.now)
        rows.is_scrolled = False


def _named(desk: Desk, panels: Panels, cue: Cue) -> None:
    imgui.set_next_item_width(-1)
    changed, name = imgui.input_text_with_hint("##name", "name", cue.name)
    if changed:
        desk.rename(cue.frame, name, grasped(desk, panels, NAME))
    follow_hand(desk, panels, NAME)


def _beginning(desk: Desk, panels: Panels, cue: Cue) -> None:
    """Draw how the cue begins: the length, dragged or typed, and behind a button the easing."""
    word = _ease(cue)
    wide = imgui.calc_text_size(word).x + 2 * imgui.get_style().frame_padding.x
    room = imgui.get_content_region_avail().x
    imgui.set_next_item_width(room - wide - imgui.get_style().item_spacing.x if cue.length else room)
    changed, over = imgui.drag_int("##over", cue.length, 0.2, 0, cue.frame, "%d" if cue.length else "cut")
    if changed:
        desk.set_length(cue.frame, over, grasped(desk, panels, LENGTH))
    follow_hand(desk, panels, LENGTH)
    imgui.set_item_tooltip("How many frames its transition takes; 0 is a cut; drag, or double-click to type")
    if not cue.length:
        return
    imgui.same_line()
    if imgui.small_button(word):
        imgui.open_popup("how it goes")
    imgui.set_item_tooltip("How the transition goes")
    if imgui.begin_popup("how it goes"):
        imgui.text("goes")
        easing(desk, panels, cue)
        imgui.end_popup()


def _sets(seen: Seen, cue: Cue, colour: colours.Colour, *, is_held: bool) -> None:
    """Write what a cue sets, and of the one that holds before that, whether its transition may be seen."""
    visible = seen.visible if is_held and cue.length else None
    if visible is not None and visible.is_over:
        imgui.text("may be seen")
    else:
        room = imgui.get_content_region_avail().x
        imgui.text_colored(ImVec4(*colour), begun(set_text(cue) or "neutral", room))
    if visible is not None and imgui.is_item_hovered():
        imgui.set_tooltip(
            f"The transition changes a frame by {visible.step:.2f}, a second by {visible.second:.1f} "
            f"CIEDE2000, at the most of 256 pixels; {MARK:g} a frame is our own mark."
        )


def _short(cue: Cue) -> str:
    return f"{cue.length} {_ease(cue)}" if cue.length else "cut"


def _ease(cue: Cue) -> str:
    return cue.ease if isinstance(cue.ease, str) else "drawn"


def _told(desk: Desk, number: int, cue: Cue) -> str:
    """Return all that a row has no room for."""
    place = desk.readings(cue.frame)
    count = len(cue.settings)
    sets = f"{count} setting{'' if count == 1 else 's'}: {settings_text(cue)}" if count else "all neutral"
    return (
        f"{cue_text(number, cue)}\n{place.timecode}, {place.footage}, frame {place.frame}\n"
        f"{beginning_text(cue)}\n{sets}"
    )
