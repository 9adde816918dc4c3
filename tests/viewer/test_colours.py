"""What is written can be read, and what can be taken hold of is seen: contrast by WCAG 2.2."""

import pytest
from imgui_bundle import imgui

from lamphouse.viewer import colours
from lamphouse.viewer.panels import look

TEXT, CONTROL = 4.5, 3.0  # WCAG 2.2 (W3C, 2023), success criteria 1.4.3 and 1.4.11, level AA
NAMES = {value: name for name, value in vars(colours).items() if name.isupper() and isinstance(value, tuple)}


def luminance(colour):
    """Relative luminance by WCAG 2.2's definition, of sRGB codes from 0 to 1."""
    linear = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3])
    return sum(weight * light for weight, light in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_ratios_that_are_known():
    # WCAG 2.2: black on white is 21, a colour on itself 1. #777777 on white is 4.48, common practice.
    assert contrast(colours.grey(0), colours.grey(255)) == pytest.approx(21)
    assert contrast(colours.ACCENT, colours.ACCENT) == 1
    assert contrast(colours.grey(0x77), colours.grey(255)) == pytest.approx(4.48, abs=0.005)


def pairs(table):
    return [
        pytest.param(colour, ground, id=f"{NAMES.get(colour, colour)}-{NAMES.get(ground, ground)}")
        for colour, grounds in table.items()
        for ground in grounds
    ]


@pytest.mark.parametrize(("colour", "ground"), pairs(colours.READ))
def test_text_is_read_on_every_ground_that_it_has(colour, ground):
    assert contrast(colour, ground) >= TEXT


@pytest.mark.parametrize(("colour", "ground"), pairs(colours.CONTROLS))
def test_a_control_and_the_ring_of_the_keyboard_are_seen_on_every_ground(colour, ground):
    assert contrast(colour, ground) >= CONTROL


def test_the_look_has_no_ground_and_no_text_that_the_table_of_contrast_lacks():
    imgui.create_context()
    try:
        look.put_on(1.0)
        style = imgui.get_style()
        worn = {name: tuple(style.color_(getattr(imgui.Col_, name))) for name in look.STYLE}
        assert worn == {name: pytest.approx(colour, abs=1e-6) for name, colour in look.STYLE.items()}
        assert style.frame_border_size >= 1
    finally:
        imgui.destroy_context()
    grounds = {look.STYLE[name] for name in look.STYLE if name.split("_")[0] in ("frame", "button", "header")}
    grounds |= {look.STYLE[name] for name in look.STYLE if name.endswith("bg") and "selected" not in name}
    known = set(colours.READ[colours.TEXT]) | {colours.CLEAR, look.STYLE["modal_window_dim_bg"]}
    assert grounds <= known
    assert {look.STYLE["text"], look.STYLE["text_disabled"]} <= set(colours.READ)
    seen = {look.STYLE[n] for n in ("border", "check_mark", "nav_cursor", "slider_grab", "scrollbar_grab")}
    assert seen <= set(colours.CONTROLS)
