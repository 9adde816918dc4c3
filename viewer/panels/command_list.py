"""Every command by its subject, with its key: what has no button elsewhere has its place here."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, imgui

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.commands.table import CUES, SUBJECTS, run
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.preferences import parse_reaction
from lamphouse.viewer.models.seen import Seen

FIELD: Final = 110.0


def command_list(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the button, and the list once it is open."""
    if imgui.button("commands"):
        imgui.open_popup("commands")
    imgui.set_item_tooltip("All that can be done here, by subject, with its keys")
    corner = imgui.get_item_rect_min()
    imgui.set_next_window_pos(ImVec2(corner.x, corner.y - 4), imgui.Cond_.always, ImVec2(0, 1))
    if not imgui.begin_popup("commands"):
        return
    for subject, commands in SUBJECTS:
        if imgui.begin_menu(subject):
            for command in commands:
                words, key = f"{command.sentence}##{command.name}", panels.keys.label(command.name)
                if imgui.menu_item(words, key, False)[0]:
                    run(command, desk, panels, seen.now)
            if subject == CUES:
                _reaction(desk, panels)
            imgui.end_menu()
    imgui.end_popup()


def _reaction(desk: Desk, panels: Panels) -> None:
    """Draw how much earlier a cue on the run is put than its key comes; it is read when Return is pressed."""
    imgui.separator()
    imgui.align_text_to_frame_padding()
    imgui.text("your reaction")
    imgui.same_line()
    imgui.set_next_item_width(FIELD * panels.scale)
    shown = panels.reaction or panels.preferred.reaction.text
    flags = imgui.InputTextFlags_.enter_returns_true | imgui.InputTextFlags_.auto_select_all
    entered, typed = imgui.input_text("##reaction", shown, flags)
    panels.reaction = typed if imgui.is_item_active() else ""
    imgui.set_item_tooltip("Taken off when a cue is put while the film runs: 200 ms, or 5 frames, say")
    if entered:
        desk.message = _taken(panels, typed)


def _taken(panels: Panels, typed: str) -> str:
    try:
        reaction = parse_reaction(typed)
    except BadInput as error:
        return str(error)
    return panels.preferred.change(reaction=reaction.text)
