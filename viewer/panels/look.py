"""How the desk looks: made for a dark room, with large figures."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.colours import Colour, grey

FONT: Final = "Roboto/Roboto-Regular.ttf"
SIZE: Final = 17.0
LARGE: Final = 26.0
GAP: Final = 8.0
TIP_DELAY: Final = 0.4  # seconds
NEVER: Final = 1e9

STYLE: Final = {
    "window_bg": colours.PANEL,
    "child_bg": colours.CLEAR,
    "popup_bg": colours.PANEL,
    "frame_bg": colours.FIELD,
    "frame_bg_hovered": colours.FIELD_OVER,
    "frame_bg_active": colours.FIELD_OVER,
    "button": colours.FIELD,
    "button_hovered": colours.FIELD_OVER,
    "button_active": colours.SURROUND,
    "header": colours.FIELD,
    "header_hovered": colours.FIELD_OVER,
    "header_active": colours.SURROUND,
    "border": colours.EDGE,
    "separator": colours.LINE,
    "text": colours.TEXT,
    "text_disabled": colours.QUIET,
    "slider_grab": colours.QUIET,
    "slider_grab_active": colours.ACCENT,
    "check_mark": colours.ACCENT,
    "scrollbar_bg": colours.PANEL,
    "scrollbar_grab": colours.EDGE,
    "scrollbar_grab_hovered": colours.QUIET,
    "scrollbar_grab_active": colours.QUIET,
    "text_selected_bg": (*colours.ACCENT[:3], colours.SELECTED),
    "nav_cursor": colours.ACCENT,
    "modal_window_dim_bg": grey(0, 0.5),
    "title_bg": colours.PANEL,
    "title_bg_active": colours.FIELD,
    "table_header_bg": colours.FIELD,
    "tab": colours.PANEL,
    "tab_hovered": colours.FIELD_OVER,
    "tab_selected": colours.FIELD,
}


def put_on(scale: float) -> None:
    """Give ImGui the look, every length times `scale`."""
    style = _plain()
    for name, colour in STYLE.items():
        style.set_color_(getattr(imgui.Col_, name), ImVec4(*colour))
    style.window_rounding = style.frame_rounding = style.grab_rounding = 2.0
    style.window_border_size = 0.0
    style.frame_border_size = 1.0
    style.frame_padding = ImVec2(7, 4)
    style.item_spacing = ImVec2(GAP, 6)
    style.window_padding = ImVec2(10, 8)
    style.grab_min_size = 12.0
    style.scale_all_sizes(scale)
    style.font_scale_main = scale


def hold_tips(is_held: bool) -> None:
    """Let no tooltip come up while a hand or the keyboard is at something: it would lie over that."""
    imgui.get_style().hover_delay_short = NEVER if is_held else TIP_DELAY


def _plain() -> imgui.Style:
    """Return the style in use with all its sizes as they are at first: scaling goes on from what is there."""
    style, first = imgui.get_style(), imgui.Style()
    for name in dir(first):
        value = getattr(first, name)
        if isinstance(value, float | ImVec2) and not name.startswith("font"):
            setattr(style, name, value)
    return style


def code(colour: Colour, alpha: float | None = None) -> int:
    """Return a colour as ImGui's drawing takes it."""
    r, g, b, a = colour
    return int(imgui.get_color_u32(ImVec4(r, g, b, a if alpha is None else alpha)))
