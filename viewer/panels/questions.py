"""The questions that have to be answered before anything else is done.

Each has one answer by which nothing is lost, which Escape gives. The first answer has the keyboard when the
question comes: Tab and the arrows go on from there, Return takes what has it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edits.differences import Difference
from lamphouse.viewer import colours
from lamphouse.viewer.models import saving
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels

ROWS: Final = 9  # of differences, seen at once
WIDE: Final = 780.0
WEIGHTS: Final = (1.8, 5.0, 3.2, 3.2)  # of the columns
HEADS: Final = ("place", "what", "here", "in the file")


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer; the one that `is_safe` is Escape's."""

    label: str
    act: Callable[[], object]
    is_safe: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: a title, a sentence, what differs, and the answers in their order."""

    title: str
    text: str
    answers: tuple[Answer, ...]
    rows: tuple[Difference, ...] = ()
    heads: tuple[str, ...] = HEADS
    field: Callable[[], None] | None = None  # what is typed for an answer


def questions(desk: Desk, panels: Panels) -> None:
    """Ask what is open, the first of it first; not while a hand holds something."""
    question = open_question(desk, panels)
    if question is None or (imgui.is_any_item_active() and not panels.asked):
        panels.asked = "" if question is None else panels.asked
        return
    panels.asked = question.title
    if _asked(desk, panels, question):
        panels.asked = ""


def open_question(desk: Desk, panels: Panels) -> Question | None:
    """Return what has to be answered now, or None."""
    if panels.left_over is not None:
        return _left_over(desk, panels)
    if desk.standing.asks_who_works:
        return _who_works(desk)
    if desk.standing.is_asking:
        return _contested(desk)
    return _leaving(desk, panels) if panels.asks_to_quit else None


def _left_over(desk: Desk, panels: Panels) -> Question:
    left = panels.left_over
    assert left is not None

    def recovered() -> None:
        panels.left_over = None
        saving.recover(desk, left)

    def without() -> None:
        panels.left_over = None
        saving.start_without(desk)

    text = f"What it had was kept on {left.made}, in {desk.recovery.path.name}."
    answers = Answer("recover", recovered, is_safe=True), Answer("start without it", without)
    heads = ("place", "what", "not saved", "saved")
    return Question("An earlier run ended without saving.", text, answers, left.rows, heads)


def _who_works(desk: Desk) -> Question:
    name = desk.reel_file.name
    copy = Answer("work on a copy", lambda: saving.save_as(desk, desk.standing.name))
    look = Answer("look only", lambda: saving.look_only(desk), is_safe=True)
    if desk.standing.is_free:
        here = Answer("work on it here", lambda: saving.work_here(desk))
        text = "The other desk is gone, and this one may change the reel."
        return Question(f"{name} is free again.", text, (here, look))
    text = f"It is being worked on by {desk.recovery.holder}. This desk shows what is saved there."
    return Question(f"{name} is open at another desk.", text, (look, copy), field=lambda: _named(desk))


def _contested(desk: Desk) -> Question:
    contest = desk.standing.contest
    assert contest is not None
    takes = Answer("take theirs", lambda: saving.take_theirs(desk))
    keeps = Answer("keep mine", lambda: saving.save(desk, keeps_other=True))
    answers = (
        *((takes,) if desk.is_saved and not contest.reason else ()),
        keeps,
        Answer("save mine as", lambda: saving.save_as(desk, desk.standing.name)),
        *(() if desk.is_saved or contest.reason else (takes,)),
        Answer("go on", lambda: saving.put_off(desk), is_safe=True),
    )
    text = contest.reason or (
        f"It was saved there on {contest.saved}. Where mine is kept the other stays beside it, and undo goes "
        "back from theirs to mine."
    )
    title = f"{desk.reel_file.name} was changed by another program."
    return Question(title, text, answers, contest.rows, field=lambda: _named(desk))


def _leaving(desk: Desk, panels: Panels) -> Question:
    has_sticks = bool(panels.sticks.shelf.unkept)

    def closed(is_over: bool) -> None:
        panels.asks_to_quit, panels.is_over = False, is_over

    def thrown_away() -> None:
        saving.throw_away(desk)
        closed(True)

    return Question(
        "The mapping of the joysticks is not kept." if desk.is_saved else "The reel is not saved.",
        "Nor is the mapping of the joysticks kept." if has_sticks and not desk.is_saved else "",
        (
            Answer("save and close", lambda: closed(_saved(desk, panels))),
            Answer("close without saving", thrown_away),
            Answer("go on working", lambda: closed(False), is_safe=True),
        ),
    )


def _saved(desk: Desk, panels: Panels) -> bool:
    """Save the reel and keep the sticks' mapping, as far as there is need; say whether all of it is safe."""
    if not desk.is_saved and not saving.save(desk):
        return False
    desk.message = panels.sticks.keep_all()
    return not desk.message


# How it is drawn.


def _asked(desk: Desk, panels: Panels, question: Question) -> bool:
    """Draw a question, and say whether it was answered."""
    middle, is_answered = imgui.get_io().display_size, False
    if not imgui.is_popup_open(question.title):
        imgui.open_popup(question.title)
    imgui.set_next_window_pos(ImVec2(middle.x / 2, middle.y / 2), imgui.Cond_.always, ImVec2(0.5, 0.5))
    if imgui.begin_popup_modal(question.title, None, imgui.WindowFlags_.always_auto_resize)[0]:
        imgui.push_text_wrap_pos(imgui.get_cursor_pos_x() + WIDE * panels.scale)
        if question.text:
            imgui.text(question.text)
        imgui.pop_text_wrap_pos()
        if question.rows:
            _rows(desk, panels, question)
        imgui.set_nav_cursor_visible(True)
        is_answered = _answers(question)
        imgui.end_popup()
    return is_answered


def _answers(question: Question) -> bool:
    given: Answer | None = None
    for number, answer in enumerate(question.answers):
        if number:
            imgui.same_line()
        if imgui.button(answer.label):
            given = answer
        if number == 0:
            imgui.set_item_default_focus()
    if question.field is not None:
        imgui.same_line()
        question.field()
    if given is None and imgui.is_key_pressed(imgui.Key.escape, False):
        given = next(answer for answer in question.answers if answer.is_safe)
    if given is not None:
        imgui.close_current_popup()
        given.act()
    return given is not None


def _named(desk: Desk) -> None:
    imgui.set_next_item_width(imgui.get_font_size() * 9)
    _, desk.standing.name = imgui.input_text("##as", desk.standing.name)
    imgui.set_item_tooltip("The name of the other file, beside this one")


def _rows(desk: Desk, panels: Panels, question: Question) -> None:
    """Draw what differs in a table that scrolls, and says how many rows there are."""
    flags = imgui.TableFlags_.scroll_y | imgui.TableFlags_.row_bg | imgui.TableFlags_.sizing_stretch_prop
    high = imgui.get_frame_height() * (min(ROWS, len(question.rows)) + 1)
    if imgui.begin_table("differences", len(question.heads), flags, ImVec2(WIDE * panels.scale, high)):
        imgui.table_setup_scroll_freeze(0, 1)
        for head, weight in zip(question.heads, WEIGHTS, strict=True):
            imgui.table_setup_column(head, imgui.TableColumnFlags_.width_stretch, weight)
        imgui.table_headers_row()
        clipper = imgui.ListClipper()
        clipper.begin(len(question.rows))
        while clipper.step():
            for row in question.rows[clipper.display_start : clipper.display_end]:
                _row(desk, row)
        imgui.end_table()
    count = len(question.rows)
    imgui.text_colored(ImVec4(*colours.QUIET), f"{count} difference{'s' if count > 1 else ''}")


def _row(desk: Desk, row: Difference) -> None:
    place = "" if row.frame is None else desk.readings(row.frame).timecode
    for text in (place, row.what, row.one, row.other):
        imgui.table_next_column()
        imgui.text(text)
        if imgui.is_item_hovered() and imgui.calc_text_size(text).x > imgui.get_content_region_avail().x:
            imgui.set_tooltip(text)
