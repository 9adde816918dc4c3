"""A reel that is being started: its scan, what is chosen, and what each stock makes of its picture."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.edits.sound import ADVANCES
from lamphouse.graph.reel.film_shapes import SHAPES
from lamphouse.graph.reel.presets import DEFAULT_CHAIN, chain_preset, preset_names, stock_preset
from lamphouse.graph.time.footage import GAUGES
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import can_drop
from lamphouse.nodes.colour_encoding import TRANSFERS
from lamphouse.nodes.primaries import PRIMARIES
from lamphouse.viewer import colours
from lamphouse.viewer.models.new_reel import NO_STOCK, NewReel, spoken
from lamphouse.viewer.panels import look
from lamphouse.viewer.panels.draw import fitted, frame, image, text_at
from lamphouse.viewer.panels.focus import FLAT
from lamphouse.viewer.panels.start.rows import Rows

if TYPE_CHECKING:
    from lamphouse.viewer.models.starting import Starting

LEFT: Final = 372.0
NAME: Final = 96.0
PICTURE: Final = 132.0
COLUMNS: Final = 5
NAMED: Final = 2.2  # lines of text: some stocks have long names
NOTES: Final = 4.6  # lines
RATES: Final = ("12", "14", "16", "50/3", "18", "20", "22", "24", "24000/1001", "25", "30000/1001")
UNFIT: Final = "is for another encoding"
AS_IT_IS: Final = "The scan as it is, under a chain that changes nothing yet."
COUNTINGS: Final = ("drop", "non-drop")
RANGES: Final = ("video", "full")
MATRICES: Final = ("bt601", "bt709", "bt2020")


class Small(NamedTuple):
    """A small picture: its texture, and its width and height in pixels."""

    texture: int
    width: int
    height: int


def new_reel(starting: Starting, new: NewReel, scale: float, small: Mapping[str, Small]) -> None:
    """Draw what is known and chosen of the new reel, and take what was done to it."""
    room = imgui.get_content_region_avail()
    foot = 3 * imgui.get_frame_height_with_spacing()
    tall = room.y - foot - look.GAP * scale
    imgui.begin_child("choices", ImVec2(LEFT * scale, tall), FLAT)
    _facts(new, scale)
    imgui.dummy(ImVec2(0, 4 * scale))
    _choices(starting, new, scale)
    imgui.end_child()
    imgui.same_line(0, 2 * look.GAP * scale)
    imgui.begin_child("pictures", ImVec2(0, tall), FLAT)
    notes = NOTES * imgui.get_text_line_height_with_spacing()
    _stocks(new, scale, small, imgui.get_content_region_avail().y - notes - look.GAP * scale)
    _notes(new, notes)
    imgui.end_child()
    _foot(starting, new, scale)


def _facts(new: NewReel, scale: float) -> None:
    if new.facts is None:
        if new.is_looking:
            _progress("Looking through the scan", new)
        elif imgui.button("look again"):
            new.look()
        return
    for name, words in new.facts.lines(new.start.rate):
        imgui.text_colored(ImVec4(*colours.QUIET), name)
        imgui.same_line(NAME * scale)
        imgui.text(words)


def _progress(what: str, new: NewReel) -> None:
    done, total = new.progress
    share = done / total if total else 0.0
    words = f"{what}: {done} of {total} frames" if total else f"{what} ..."
    imgui.align_text_to_frame_padding()
    imgui.text(words)
    imgui.same_line()
    if imgui.button("stop"):
        new.stop()
    imgui.progress_bar(share, ImVec2(-1, imgui.get_frame_height() / 2), "")


def _choices(starting: Starting, new: NewReel, scale: float) -> None:
    start, facts = new.start, new.facts
    if facts is None:
        return
    found = new.started.reel if new.started else None
    taken = f"{found.scan.encoding}, as tagged or usual" if found else "as tagged"
    on = f"{found.scan.colour.primaries}, as tagged or usual" if found else "as tagged"
    rows = Rows(new, NAME * scale)
    if new.wants_keyboard:
        imgui.set_keyboard_focus_here()
        imgui.set_nav_cursor_visible(True)
        new.wants_keyboard = False
    rows.choice("gauge", GAUGES)
    rows.choice("rate", RATES, f"the scan's own, {facts.rate}" if facts.rate else "not stated: choose")
    rows.choice("encoding", tuple(TRANSFERS), taken)
    rows.choice("primaries", tuple(PRIMARIES), on)
    rows.choice("shape", tuple(SHAPES), "all of the scan")
    usual = stock_preset(start.stock).chain if start.stock else DEFAULT_CHAIN
    rows.choice("chain", tuple(preset_names("chains")), f"{usual}, as usual", tip=_chain_tip)
    rows.field("start", facts.timecode or "00:00:00:00")
    if found is not None and can_drop(parse_rate(found.rate)):
        rows.choice("counting", COUNTINGS, "as the scan's own, or drop")
    if not facts.is_stills:
        rows.choice("matrix", MATRICES, "as tagged")
    rows.choice("range", RANGES, "as tagged")
    _sound(starting, new, rows)


def _chain_tip(name: str) -> str:
    return chain_preset(name).sentence


def _sound(starting: Starting, new: NewReel, rows: Rows) -> None:
    start, facts = new.start, new.facts
    has_own = facts is not None and facts.has_sound
    rows.name("sound")
    own = "in the same file" if has_own else "none"
    room = imgui.get_content_region_avail().x - rows.wide
    if imgui.button(f"{fitted(start.sound.name if start.sound else own, room)}##sound"):
        starting.pick_sound()
    imgui.set_item_tooltip("Choose a file with sound, or drop it here")
    if start.sound is not None:
        imgui.same_line()
        if imgui.button("remove##sound"):
            new.choose(sound=None)
    if start.sound is not None or has_own:
        tracks = " or ".join(ADVANCES.get(start.gauge, {}))
        rows.field("sound_offset", "-26f, 12.5ms" + (f", {tracks}" if tracks else ""), "offset")
        rows.choice("sound_rate", RATES, "at the rate of the film", label="recorded")


def _stocks(new: NewReel, scale: float, small: Mapping[str, Small], height: float) -> None:
    """Draw the scan's frame under each stock; the one that is clicked is chosen."""
    if imgui.begin_child("stocks", ImVec2(0, height), FLAT):
        _frame_shown(new)
        stocks = (NO_STOCK, *preset_names("stocks"))
        room = imgui.get_content_region_avail().x
        columns = max(1, min(COLUMNS, int((room + look.GAP) // ((PICTURE + look.GAP) * scale))))
        wide = (room - (columns - 1) * look.GAP * scale) / columns
        for n, stock in enumerate(stocks):
            if n % columns:
                imgui.same_line(0, look.GAP * scale)
            _stock(new, stock, small.get(stock), wide, scale)
    imgui.end_child()


def _frame_shown(new: NewReel) -> None:
    if new.facts is None:
        return
    imgui.align_text_to_frame_padding()
    imgui.text(f"What each stock makes of frame {new.frame}")
    imgui.same_line(imgui.get_font_size() * 17)
    imgui.set_next_item_width(-1)
    changed, shown = imgui.slider_int("##frame", new.frame, 0, new.facts.frames - 1, "")
    if changed:
        new.show_frame(shown)


def _stock(new: NewReel, stock: str, picture: Small | None, wide: float, scale: float) -> None:
    is_chosen = (new.start.stock or NO_STOCK) == stock
    name = stock or "no stock"
    tall = wide * (picture.height / picture.width if picture else 0.75)
    imgui.begin_group()
    corner = imgui.get_cursor_screen_pos()
    if imgui.invisible_button(f"stock {name}", ImVec2(wide, tall), imgui.ButtonFlags_.enable_nav):
        new.choose(stock=stock)
    imgui.set_item_tooltip(_tip(new, stock))
    is_over = imgui.is_item_hovered() or imgui.is_item_focused()
    a, b = (corner.x, corner.y), (corner.x + wide, corner.y + tall)
    if picture is not None:
        image(picture.texture, a, b)
    else:
        frame(a, b, colours.LINE)
        if stock in new.tryouts:
            inset = 6 * scale
            text_at(a[0] + inset, a[1] + inset, UNFIT, width=wide - 2 * inset)
    for n in range(3 if is_chosen else 1 if is_over else 0):
        off = n * scale / 2
        edge = colours.ACCENT if is_chosen else colours.TEXT
        frame((a[0] - off, a[1] - off), (b[0] + off, b[1] + off), edge)
    colour = colours.BRIGHT if is_chosen else colours.QUIET
    below = imgui.get_cursor_pos()
    imgui.push_text_wrap_pos(below.x + wide)
    imgui.text_colored(ImVec4(*colour), name.replace("-", " "))
    imgui.pop_text_wrap_pos()
    imgui.set_cursor_pos(ImVec2(below.x, below.y + NAMED * imgui.get_text_line_height()))
    imgui.dummy(ImVec2(wide, 0))
    imgui.end_group()


def _tip(new: NewReel, stock: str) -> str:
    tried = new.tryouts.get(stock)
    if tried is not None and tried.reason:
        return spoken(tried.reason)
    return stock_preset(stock).sentence if stock else AS_IT_IS


def _notes(new: NewReel, height: float) -> None:
    """Write what is to be known of this scan and of what was taken for granted."""
    if imgui.begin_child("notes", ImVec2(0, height), FLAT):
        imgui.push_text_wrap_pos(0)
        for note in new.notes:
            imgui.text_colored(ImVec4(*colours.TEXT), spoken(note))
        imgui.pop_text_wrap_pos()
    imgui.end_child()


def _foot(starting: Starting, new: NewReel, scale: float) -> None:
    imgui.align_text_to_frame_padding()
    imgui.text_colored(ImVec4(*colours.QUIET), "reel")
    imgui.same_line(NAME * scale)
    imgui.set_next_item_width(-250 * scale)
    changed, file = imgui.input_text("##file", new.file)
    if changed:
        new.save_as(file)
    imgui.same_line()
    if imgui.button("choose ..."):
        starting.pick_place()
    imgui.same_line()
    _start(new)
    _line(new, scale)
    said = new.message or starting.message
    if new.is_making:
        _progress("Making the reel", new)
    elif said:
        imgui.text_wrapped(spoken(said))


def _start(new: NewReel) -> None:
    imgui.begin_disabled(new.started is None or new.is_making)
    imgui.push_style_color(imgui.Col_.button, ImVec4(*colours.ACCENT[:3], 0.45))
    if imgui.button("start the reel"):
        new.make()
    imgui.pop_style_color()
    imgui.end_disabled()


def _line(new: NewReel, scale: float) -> None:
    """Write the command that does the same, to be copied."""
    imgui.align_text_to_frame_padding()
    imgui.text_colored(ImVec4(*colours.QUIET), "command")
    imgui.same_line(NAME * scale)
    wide = imgui.calc_text_size("copy").x + 4 * look.GAP * scale
    imgui.text_colored(ImVec4(*colours.QUIET), fitted(new.command, imgui.get_content_region_avail().x - wide))
    imgui.set_item_tooltip(new.command)
    imgui.same_line()
    if imgui.button("copy"):
        imgui.set_clipboard_text(new.command)
    imgui.set_item_tooltip("Copy the command that makes the same reel")
