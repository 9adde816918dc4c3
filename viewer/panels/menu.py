"""The menu of what leaves and what comes in: a page for each, with a browser that says where."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edits.about import with_about
from lamphouse.graph.edits.counters import with_gauge, with_start
from lamphouse.graph.media.master.delivery import delivery_names
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.time.footage import GAUGES
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import can_drop
from lamphouse.nodes.one_line import one_line
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.leaving_files import PICTURES, POINTS, Menu, Page, open_menu, take, turn_to
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.arriving_list import arriving_list
from lamphouse.viewer.panels.browser import browser
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.focus import FLAT

SIZE: Final = (0.8, 0.84)  # of the window
SIDE: Final = 176.0
NAME: Final = 110.0
FIELD: Final = 160.0
TITLE: Final = "what leaves, and what comes in"
LABELS: Final[dict[Page, str]] = {
    "still": "still of this frame",
    "lut": "LUT or CDL",
    "report": "report of a master",
    "list": "cues from a list",
    "save as": "save as ...",
    "facts": "the reel",
}

# What a client calls a reel, by what is typed into each field.
ABOUT: Final[dict[str, Callable[[str, Reel], Reel]]] = {
    "title": lambda typed, reel: with_about(reel, title=typed),
    "identifiers": lambda typed, reel: with_about(reel, identifiers=typed.split(";")),
    "client": lambda typed, reel: with_about(reel, client=typed),
    "note": lambda typed, reel: with_about(reel, note=typed),
}


def menu(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the menu while it is open."""
    now, scale = panels.menu, panels.scale
    if not now.is_open:
        return
    size = imgui.get_io().display_size
    imgui.open_popup(TITLE)
    imgui.set_next_window_pos(ImVec2(size.x / 2, size.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    imgui.set_next_window_size(ImVec2(size.x * SIZE[0], size.y * SIZE[1]))
    flags = imgui.WindowFlags_.no_resize | imgui.WindowFlags_.no_move
    if not imgui.begin_popup_modal(TITLE, None, flags)[0]:
        return
    imgui.begin_child("pages", ImVec2(SIDE * scale, 0), FLAT)
    _pages(desk, panels, seen)
    imgui.end_child()
    imgui.same_line(0, 2 * look.GAP * scale)
    imgui.begin_child("page", ImVec2(0, 0), FLAT)
    DRAWN[now.page](desk, now, scale)
    imgui.end_child()
    if imgui.is_key_pressed(imgui.Key.escape) and now.is_open:
        open_menu(now, desk)
    if not now.is_open:
        imgui.close_current_popup()
    imgui.end_popup()


def _pages(desk: Desk, panels: Panels, seen: Seen) -> None:
    now = panels.menu
    wide = ImVec2(-1, 0)
    for page, label in LABELS.items():
        is_here = now.page == page
        if is_here:
            imgui.push_style_color(imgui.Col_.button, ImVec4(*colours.FIELD_OVER))
        if imgui.button(label, wide):
            turn_to(now, desk, page)
        if is_here:
            imgui.pop_style_color()
    imgui.dummy(ImVec2(0, 2 * look.GAP * panels.scale))
    if imgui.button("open another reel", wide):
        open_menu(now, desk)
        panels.goes_to_start = True
    imgui.set_item_tooltip(BY_NAME["start_page"].tip(panels.keys))
    command_button("save", "save", desk, panels, seen)
    imgui.same_line()
    if imgui.button("close"):
        open_menu(now, desk)
    imgui.set_item_tooltip("Back to work (Escape)")


def _still(desk: Desk, now: Menu, scale: float) -> None:
    _heading(f"The frame at {desk.readings().timecode}")
    for picture in PICTURES:
        if imgui.radio_button(picture, now.picture == picture):
            now.picture = picture
        imgui.same_line()
    imgui.set_next_item_width(-1)
    imgui.begin_disabled(now.picture != "as delivered")
    if imgui.begin_combo("##delivery", now.delivered or "choose a delivery", imgui.ComboFlags_.height_large):
        for name in delivery_names(desk.reel.deliveries):
            if imgui.selectable(name, name == now.delivered)[0]:
                now.delivered = name
        imgui.end_combo()
    imgui.end_disabled()
    _quiet("PNG or TIFF of 16 bits, JPEG of 8, OpenEXR of half floats: by the ending of the name.")
    _files(desk, now, scale)


def _lut(desk: Desk, now: Menu, scale: float) -> None:
    cue = desk.holding
    held = f"{cue.name or 'The cue'} at {desk.readings(cue.frame).timecode}" if cue else "No cue holds here"
    _heading(held)
    imgui.align_text_to_frame_padding()
    imgui.text("points")
    imgui.same_line()
    for points in (None, *POINTS):
        if imgui.radio_button(str(points or "usual"), now.points == points):
            now.points = points
        imgui.same_line()
    _, now.fit = imgui.checkbox("the nearest CDL where none is exact", now.fit)
    _quiet("A table .cube, a process list .clf, or a CDL .cdl, .cc, .ccc: by the ending of the name.")
    _files(desk, now, scale)


def _report(desk: Desk, now: Menu, scale: float) -> None:
    _heading("Choose a master" if now.master is None else f"A folder for the report of {now.master.name}")
    _quiet("A page with every shot as scanned and in the master, its joins, and what is known of it.")
    _files(desk, now, scale)


def _list(desk: Desk, now: Menu, scale: float) -> None:
    if now.arriving is None:
        _heading("Choose a list of shots or CDLs")
        _quiet("An event list .edl, a timeline .otio, or CDLs .ccc, .cdl, .cc; what stands is kept.")
        _files(desk, now, scale)
        return
    _heading(now.arriving.path.name)
    if arriving_list(now.arriving, desk, scale):
        turn_to(now, desk, "list")


def _save_as(desk: Desk, now: Menu, scale: float) -> None:
    _heading(f"{desk.reel_file.name} under another name")
    _quiet("Work goes on in the new file; the old one stays as it was saved.")
    _files(desk, now, scale)


def _facts(desk: Desk, now: Menu, scale: float) -> None:
    _heading(desk.reel_file.name)
    for name, words in now.facts(desk).items():
        imgui.text_colored(ImVec4(*colours.QUIET), name)
        imgui.same_line(NAME * scale)
        imgui.push_text_wrap_pos(0)
        imgui.text(words)
        imgui.pop_text_wrap_pos()
    imgui.dummy(ImVec2(0, look.GAP * scale))
    _gauge(desk, scale)
    _counters(desk, scale)
    _about(desk, scale)
    _quiet(desk.message)


def _gauge(desk: Desk, scale: float) -> None:
    _name("gauge", scale)
    imgui.set_next_item_width(FIELD * scale)
    if imgui.begin_combo("##gauge", desk.reel.gauge, imgui.ComboFlags_.height_large):
        for gauge in GAUGES:
            if imgui.selectable(gauge, gauge == desk.reel.gauge)[0]:
                desk.edit(partial(with_gauge, gauge=gauge))
        imgui.end_combo()


def _counters(desk: Desk, scale: float) -> None:
    _name("timecode", scale)
    imgui.set_next_item_width(FIELD * scale)
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, typed = imgui.input_text("##start", desk.readings(desk.reel.head_mark).timecode, flags)
    if entered:
        desk.edit(lambda reel: with_start(reel, typed))
    imgui.same_line()
    imgui.text("at the head mark")
    if can_drop(parse_rate(desk.reel.rate)):
        imgui.same_line()
        changed, drops = imgui.checkbox("drop-frame", desk.reel.counting == "drop")
        if changed:
            desk.edit(lambda reel: with_start(reel, counting="drop" if drops else "non-drop"))


def _about(desk: Desk, scale: float) -> None:
    """Draw the client's own words, each kept when Return is pressed."""
    imgui.dummy(ImVec2(0, look.GAP * scale))
    _quiet("The client's own words, for the hand-over: Return keeps them; identifiers are parted by ;")
    about = desk.reel.about
    shown = (about.title, "; ".join(about.identifiers), about.client, about.note)
    for (name, taken), text in zip(ABOUT.items(), shown, strict=True):
        _name(name, scale)
        imgui.set_next_item_width(-1)
        flags = imgui.InputTextFlags_.enter_returns_true
        entered, typed = imgui.input_text(f"##about {name}", one_line(text), flags)
        if entered:
            desk.edit(partial(taken, typed))


def _name(name: str, scale: float) -> None:
    imgui.align_text_to_frame_padding()
    imgui.text_colored(ImVec4(*colours.QUIET), name)
    imgui.same_line(NAME * scale)


DRAWN: Final[dict[Page, Callable[[Desk, Menu, float], None]]] = {
    "still": _still,
    "lut": _lut,
    "report": _report,
    "list": _list,
    "save as": _save_as,
    "facts": _facts,
}


def _heading(words: str) -> None:
    imgui.push_font(imgui.get_font(), look.LARGE)
    imgui.text(words)
    imgui.pop_font()


def _quiet(words: str) -> None:
    imgui.push_text_wrap_pos(0)
    imgui.text_colored(ImVec4(*colours.QUIET), words)
    imgui.pop_text_wrap_pos()


def _files(desk: Desk, now: Menu, scale: float) -> None:
    """Draw the browser, and under it how the work goes, or what came of it."""
    said = 2.2 * imgui.get_text_line_height_with_spacing() + imgui.get_frame_height_with_spacing()
    if now.browser is not None:
        taken = browser(now.browser, scale, imgui.get_window_height() - said)
        if taken is not None:
            take(now, desk, taken)
    if now.work.is_under_way:
        done, total = now.work.progress
        if imgui.button("stop"):
            now.work.stop()
        imgui.same_line()
        imgui.text(f"{done} of {total}" if total else "At work ...")
    else:
        imgui.push_text_wrap_pos(0)
        imgui.text(now.said)
        imgui.pop_text_wrap_pos()
