"""How the desk looks: made for a dark room, grey without a tint, one accent, large figures.

Surround and panels are equal in R, G and B, so that nothing at the edge of sight shifts what the eye takes
for white. The accent is a dull blue: skin, skies at dusk and clipped whites are never that colour, and it
stays apart from grey for every kind of colour vision. Red, green and blue appear only where they name a
channel.
"""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

Colour = tuple[float, float, float, float]


def _grey(code: int, alpha: float = 1.0) -> Colour:
    return (code / 255, code / 255, code / 255, alpha)


SURROUND_CODE: Final = 0x1B
SURROUND: Final = _grey(SURROUND_CODE)
PANEL: Final = _grey(0x24)
CLEAR: Final = _grey(0, 0.0)  # what lies below is seen, and nothing is drawn
FIELD: Final = _grey(0x31)
FIELD_OVER: Final = _grey(0x3D)
LINE: Final = _grey(0x4A)
QUIET: Final = _grey(0x8C)
TEXT: Final = _grey(0xD2)
BRIGHT: Final = _grey(0xF0)
ACCENT: Final = (0.42, 0.60, 0.80, 1.0)
CHANNELS: Final = ((0.86, 0.36, 0.34, 1.0), (0.40, 0.74, 0.42, 1.0), (0.38, 0.54, 0.94, 1.0))

FONT: Final = "Roboto/Roboto-Regular.ttf"
SIZE: Final = 17.0
LARGE: Final = 26.0
GAP: Final = 8.0

_STYLE: Final = {
    "window_bg": PANEL,
    "child_bg": CLEAR,
    "popup_bg": PANEL,
    "frame_bg": FIELD,
    "frame_bg_hovered": FIELD_OVER,
    "frame_bg_active": FIELD_OVER,
    "button": FIELD,
    "button_hovered": FIELD_OVER,
    "button_active": LINE,
    "header": FIELD,
    "header_hovered": FIELD_OVER,
    "header_active": LINE,
    "border": LINE,
    "separator": LINE,
    "text": TEXT,
    "text_disabled": QUIET,
    "slider_grab": QUIET,
    "slider_grab_active": ACCENT,
    "check_mark": ACCENT,
    "scrollbar_bg": PANEL,
    "scrollbar_grab": LINE,
    "scrollbar_grab_hovered": QUIET,
    "scrollbar_grab_active": QUIET,
    "text_selected_bg": (*ACCENT[:3], 0.5),
    "nav_cursor": ACCENT,
    "modal_window_dim_bg": _grey(0, 0.5),
    "title_bg": PANEL,
    "title_bg_active": FIELD,
    "table_header_bg": FIELD,
    "tab": PANEL,
    "tab_hovered": FIELD_OVER,
    "tab_selected": FIELD,
}


def put_on(scale: float) -> None:
    """Give ImGui the look, every length times `scale`."""
    style = imgui.get_style()
    for name, colour in _STYLE.items():
        style.set_color_(getattr(imgui.Col_, name), ImVec4(*colour))
    style.window_rounding = style.frame_rounding = style.grab_rounding = 2.0
    style.window_border_size = 0.0
    style.frame_padding = ImVec2(7, 4)
    style.item_spacing = ImVec2(GAP, 6)
    style.window_padding = ImVec2(10, 8)
    style.grab_min_size = 12.0
    style.scale_all_sizes(scale)
    style.font_scale_main = scale


def code(colour: Colour, alpha: float | None = None) -> int:
    """Return a colour as ImGui's drawing takes it."""
    r, g, b, a = colour
    return int(imgui.get_color_u32(ImVec4(r, g, b, a if alpha is None else alpha)))
