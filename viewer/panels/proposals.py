"""The survey's list: proposals in rows by place, filtered, previewed, taken or refused; and its margin.

It stands where cues and controls do, for whoever goes through a hundred proposals needs their reasons beside
them. The row under the pointer, or the chosen one, is what the picture shows.
"""

from __future__ import annotations

import math
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.graph.survey.words import what_text
from lamphouse.viewer import colours
from lamphouse.viewer.models import proposals as model
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.keys import Press
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.proposals import (
    LEAST,
    MOST,
    Proposals,
    listed,
    rows_now,
    sure_text,
    why_left,
)
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.models.survey_rows import SURENESS, Rows, key_of
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.draw import begun, frame
from lamphouse.viewer.panels.flow import beside, radio_width, wrapped
from lamphouse.viewer.panels.focus import FLAT
from lamphouse.viewer.panels.proposal_shapes import draw_proposal

KIND: Final = 160.0
MARGIN: Final = 170.0
SHAPE: Final = 20.0
PLACE: Final = "00:00:00:00 "
WHAT: Final = "last picture, 000 frames "
EDGE: Final = 3.0  # pixels within the ring of the keyboard
SPARE: Final = 4.0  # pixels by which a row is higher than its letters
WHY: Final = 3  # lines
EVERY: Final = "every kind"
_TABLE: Final = (
    imgui.TableFlags_.scroll_y | imgui.TableFlags_.no_pad_outer_x | imgui.TableFlags_.sizing_fixed_fit
)


def proposals(desk: Desk, panels: Panels, seen: Seen, width: float, height: float) -> None:
    """Draw the list with what can be done above it and the reason below it, and take what is done."""
    held = panels.proposals
    held.has_keyboard &= not panels.focus.is_given
    imgui.push_style_var(imgui.StyleVar_.window_padding, ImVec2(EDGE * panels.scale, EDGE * panels.scale))
    imgui.begin_child("survey", ImVec2(width, height), FLAT | imgui.ChildFlags_.always_use_window_padding)
    imgui.pop_style_var()
    for key in _pressed(held):
        model.press(held, desk, key, seen.now)
    imgui.push_style_var(imgui.StyleVar_.frame_padding, ImVec2(5 * panels.scale, 2 * panels.scale))
    imgui.push_style_var(imgui.StyleVar_.item_spacing, ImVec2(4 * panels.scale, 3 * panels.scale))
    _tools(desk, panels, seen)
    _filters(desk, panels)
    _margin(desk, panels, seen)
    imgui.pop_style_var(2)
    below = WHY * imgui.get_text_line_height_with_spacing()
    _list(desk, panels, seen, imgui.get_content_region_avail().y - below)
    _why(desk, held)
    imgui.end_child()
    if held.has_keyboard:
        low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
        frame((low.x, low.y), (high.x, high.y), colours.ACCENT)
        held.has_keyboard = not imgui.is_mouse_clicked(0) or imgui.is_mouse_hovering_rect(low, high)


def _pressed(held: Proposals) -> list[Press]:
    presses, held.presses = held.presses, []
    return presses


def _tools(desk: Desk, panels: Panels, seen: Seen) -> None:
    held, many = panels.proposals, len(listed(panels.proposals, desk.reel))
    is_there, are_refused = model.chosen(held, desk.reel) is not None, held.sureness == "refused"
    take = "call back" if are_refused else "take"
    command_button("survey", "back to the cues", desk, panels, seen)
    rows = (
        ("take_proposal", take, is_there),
        ("refuse_proposal", "refuse", is_there and not are_refused),
        ("take_listed", f"{take} all {many}", many > 0),
        ("refuse_listed", f"refuse all {many}", many > 0 and not are_refused),
        ("undo", "undo", desk.history.can_undo),
        ("redo", "redo", desk.history.can_redo),
    )
    for name, label, can in rows:
        beside(label)
        command_button(name, label, desk, panels, seen, can=can)


def _filters(desk: Desk, panels: Panels) -> None:
    held = panels.proposals
    found = rows_now(held, desk.reel).counts
    imgui.set_next_item_width(KIND * panels.scale)
    shown = EVERY if held.kind is None else f"{held.kind}: {found[held.kind]}"
    if imgui.begin_combo("##kind", shown):
        if imgui.selectable(f"{EVERY}: {sum(found.values())}", held.kind is None)[0]:
            held.kind = None
        for kind in KINDS:
            if imgui.selectable(f"{kind}: {found[kind]}", held.kind == kind)[0]:
                held.kind = kind
        imgui.end_combo()
    imgui.set_item_tooltip(f"Which kind is listed ({panels.keys.label('proposal_kinds')})")
    for word in SURENESS:
        label = f"refused: {len(desk.reel.refused)}" if word == "refused" else word
        beside(width=radio_width(label))
        if imgui.radio_button(f"{label}##sureness", held.sureness == word):
            held.sureness = word


def _margin(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the margin, in equal steps of its logarithm: to the right there are more cuts."""
    held = panels.proposals
    imgui.align_text_to_frame_padding()
    imgui.text("fewer cuts")
    imgui.same_line()
    imgui.set_next_item_width(MARGIN * panels.scale)
    share = -math.log2(held.margin)
    changed, share = imgui.slider_float("##margin", share, -math.log2(MOST), -math.log2(LEAST), "")
    if changed:
        model.turn_margin(held, 2**-share, is_turned=True)
    held.is_turned &= bool(imgui.is_item_active())
    imgui.set_item_tooltip("How much a change of the picture must stand out to be called a change of shot")
    imgui.same_line()
    imgui.text("more cuts")
    imgui.same_line(0, 12 * panels.scale)
    room = imgui.get_content_region_avail().x
    imgui.text_colored(ImVec4(*colours.QUIET), begun(_state(desk, held, seen), room))


def _state(desk: Desk, held: Proposals, seen: Seen) -> str:
    margin = f"margin {held.margin:.2f}"
    if held.found is None:
        return margin  # how far it is stands where the rows will be
    count, following = sum(rows_now(held, desk.reel).counts.values()), held.found.next_kind
    return f"{margin}; {count} so far, now {following}" if following else f"{margin}; {count} proposals"


def _list(desk: Desk, panels: Panels, seen: Seen, height: float) -> None:
    held, rows = panels.proposals, listed(panels.proposals, desk.reel)
    imgui.push_style_var(imgui.StyleVar_.cell_padding, ImVec2(3 * panels.scale, 0))
    imgui.push_style_var(imgui.StyleVar_.item_spacing, ImVec2(4 * panels.scale, 0))
    pointed = None
    if not rows:
        wrapped(_nothing(held, rows_now(held, desk.reel), seen), colours.QUIET)
    elif imgui.begin_table("proposals", 5, _TABLE, ImVec2(0, _whole_rows(height, panels.scale))):
        _columns(panels.scale)
        pointed = _rows(desk, panels, seen)
        imgui.end_table()
    imgui.pop_style_var(2)
    held.under = pointed or held.under


def _row_height(scale: float) -> float:
    return imgui.get_font_size() + SPARE * scale


def _whole_rows(height: float, scale: float) -> float:
    """Return a height in which no row is cut, the lowest within `height`."""
    high = _row_height(scale)
    return max(1, height // high) * high


def _nothing(held: Proposals, rows: Rows, seen: Seen) -> str:
    if held.sureness == "refused":
        return "Nothing has been refused."
    if held.found is not None or held.live.evidence is not None:
        return _nothing_of(held, sum(rows.counts.values()))
    so_far = f" ({seen.surveyed})" if seen.surveyed else ""
    return f"What is proposed stands here once the scan is measured{so_far}; go on working meanwhile."


def _nothing_of(held: Proposals, others: int) -> str:
    what = "" if held.sureness == "all" else f" {held.sureness}"
    if held.kind is None or not others:
        return f"Nothing{what} is proposed."
    return f"Nothing{what} of {held.kind} is proposed, and of other kinds {others}."


def _columns(scale: float) -> None:
    fixed, stretch = imgui.TableColumnFlags_.width_fixed, imgui.TableColumnFlags_.width_stretch
    imgui.table_setup_column("shape", fixed, SHAPE * scale)
    imgui.table_setup_column("place", fixed, imgui.calc_text_size(PLACE).x)
    imgui.table_setup_column("what", fixed, imgui.calc_text_size(WHAT).x)
    imgui.table_setup_column("sure", fixed, imgui.calc_text_size("unsure, 0.00 ").x)
    imgui.table_setup_column("why", stretch, 1.0)


def _rows(desk: Desk, panels: Panels, seen: Seen) -> Proposal | None:
    """Draw the rows that are seen; return the one under the pointer."""
    held, rows, pointed = panels.proposals, listed(panels.proposals, desk.reel), None
    high = _row_height(panels.scale)
    _scroll(held, rows_now(held, desk.reel), high)
    clipper = imgui.ListClipper()
    clipper.begin(len(rows), high)
    while clipper.step():
        for one in rows[clipper.display_start : clipper.display_end]:
            imgui.table_next_row(0, high)
            imgui.push_id(str(key_of(one)))
            if _row(desk, panels, seen, one):
                pointed = one
            imgui.pop_id()
    return pointed


def _scroll(held: Proposals, rows: Rows, high: float) -> None:
    """Bring the row that was just chosen into sight."""
    if not held.brings:
        return
    held.brings = False
    at = rows.at(held.chosen) or 0
    top, room = at * high, imgui.get_window_height()
    low, now = max(0.0, top + 2 * high - room), imgui.get_scroll_y()
    imgui.set_scroll_y(min(max(now, low), max(0.0, top - high)))


def _row(desk: Desk, panels: Panels, seen: Seen, one: Proposal) -> bool:
    held = panels.proposals
    is_chosen = held.chosen == key_of(one)
    imgui.table_next_column()
    at, flags = imgui.get_cursor_screen_pos(), imgui.SelectableFlags_.span_all_columns
    if imgui.selectable(f"##{one.what} {one.frame}", is_chosen, flags, ImVec2(0, imgui.get_font_size()))[0]:
        model.choose(held, desk, one, seen.now)
        held.has_keyboard = True
    is_pointed = bool(imgui.is_item_hovered())
    if is_chosen:
        low, high = imgui.get_item_rect_min(), imgui.get_item_rect_max()
        frame((low.x, low.y), (high.x, high.y), colours.ACCENT)
    middle = at.x + SHAPE * panels.scale / 2, at.y + imgui.get_font_size() / 2
    colour = colours.ACCENT if is_chosen else colours.BRIGHT
    draw_proposal(one.kind, middle, colour, panels.scale, is_sure=one.is_sure)
    text = colours.BRIGHT if is_chosen else colours.TEXT
    sure = "" if held.sureness == "refused" else sure_text(one)
    for words, shade in (
        (desk.readings(one.frame).timecode, text),
        (what_text(one), text),
        (sure, text),
        (one.why, colours.QUIET),
    ):
        imgui.table_next_column()
        imgui.text_colored(ImVec4(*shade), begun(words, imgui.get_content_region_avail().x))
    return is_pointed


def _why(desk: Desk, held: Proposals) -> None:
    """Write the reason of what is previewed, whole."""
    one = model.previewed(held, desk.reel)
    if one is not None:
        wrapped(why_left(held, desk.reel, one) or one.why, colours.TEXT)
