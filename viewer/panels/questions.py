"""The questions that have to be answered before anything else is done."""

from __future__ import annotations

from collections.abc import Callable

from imgui_bundle import ImVec2, imgui

from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels

Answers = tuple[tuple[str, Callable[[], None]], ...]


def questions(desk: Desk, panels: Panels) -> None:
    """Ask what is open."""
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
