"""The list of screens: what each is taken for, what is drawn over its picture, and the picture alone."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from imgui_bundle import ImVec4, imgui

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer import colours
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.monitors import MONITORS
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.profiles import profiles_here
from lamphouse.viewer.models.screens import GUIDES, Screen
from lamphouse.viewer.models.seen import Seen

LIST: Final = "screens and guides"
WIDTH: Final = 330.0


def screens(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the button of the list, which says how the monitor is driven, and the list where it is open."""
    room = imgui.get_content_region_avail().x - 2 * imgui.get_style().frame_padding.x
    own = panels.screens.desk.name
    short = own if own in MONITORS else Path(own).stem
    fits = imgui.calc_text_size(seen.stated).x <= room
    if imgui.button(f"{seen.stated if fits else _cut(short, room)}##screens"):
        imgui.open_popup(LIST)
    imgui.set_item_tooltip(
        f"{seen.stated}: what the screens are taken for, and the guides over their pictures"
    )
    if not imgui.begin_popup(LIST):
        return
    held = panels.screens
    _screen(desk, panels, "the desk's picture", held.desk)
    imgui.separator()
    command = BY_NAME["alone"]
    if imgui.button("picture alone, away" if held.is_alone_shown else "picture alone"):
        run(command, desk, panels, seen.now)
    imgui.set_item_tooltip(command.tip(panels.keys))
    _monitors(desk, panels)
    _screen(desk, panels, "the picture alone", held.alone)
    imgui.end_popup()


def _cut(text: str, room: float) -> str:
    """Return a text, its end left out where it is longer than there is room for on a button."""
    while len(text) > 1 and imgui.calc_text_size(text).x > room:
        text = text.removesuffix("…")[:-1] + "…"
    return text


def _screen(desk: Desk, panels: Panels, title: str, screen: Screen) -> None:
    """Draw what a screen is taken for, and its guides."""
    imgui.push_id(title)
    imgui.text_colored(ImVec4(*colours.QUIET), title)
    imgui.set_next_item_width(WIDTH * panels.scale)
    shown = screen.name if screen.name in MONITORS else Path(screen.name).name
    if imgui.begin_combo("##monitor", f"taken for: {shown}"):
        for name, monitor in MONITORS.items():
            if imgui.selectable(f"{name}##{title}", name == screen.name)[0]:
                _drive(desk, panels, screen, name)
            imgui.set_item_tooltip(monitor.source)
        for path in panels.screens.profiles:
            if imgui.selectable(f"{path.name}##{title}{path}", str(path) == screen.name)[0]:
                _drive(desk, panels, screen, str(path))
        imgui.end_combo()
    if imgui.is_item_activated():
        panels.screens.profiles = profiles_here()
    imgui.set_item_tooltip("How the picture's light is made from this monitor's codes")
    _typed(desk, panels, screen)
    for guide, label in GUIDES.items():
        changed, _ = imgui.checkbox(f"{label}##{title}", guide in screen.guides)
        if changed:
            screen.guides ^= {guide}
            desk.message = panels.screens.keep()
        imgui.same_line()
    imgui.new_line()
    imgui.pop_id()


def _typed(desk: Desk, panels: Panels, screen: Screen) -> None:
    """Take the path of an ICC profile; one that is not whole begins at the folder of the reel."""
    imgui.set_next_item_width(WIDTH * panels.scale)
    entered, path = imgui.input_text_with_hint(
        "##profile", "an ICC profile: type its path, Return", "", imgui.InputTextFlags_.enter_returns_true
    )
    if entered and path.strip():
        given = Path(path.strip().strip("\"'")).expanduser()
        _drive(desk, panels, screen, str(desk.reel_file.absolute().parent / given))


def _drive(desk: Desk, panels: Panels, screen: Screen, name: str) -> None:
    try:
        screen.drive(name)
    except BadInput as error:
        desk.message = str(error)
        return
    desk.message = panels.screens.keep()


def _monitors(desk: Desk, panels: Panels) -> None:
    """Draw the list of monitors that the picture alone can be on."""
    held = panels.screens
    imgui.same_line()
    imgui.set_next_item_width(-1)
    if imgui.begin_combo("##on", f"on: {held.on or 'the other monitor'}"):
        for name in dict.fromkeys(("", *held.monitors)):
            if imgui.selectable(f"{name or 'the other monitor'}##on", name == held.on)[0]:
                held.on = name
                desk.message = held.keep()
        imgui.end_combo()
