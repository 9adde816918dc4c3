"""How large text is: by the monitor, by the person, by the room in the window; and what is kept of it."""

from types import SimpleNamespace

import pytest
from imgui_bundle import imgui

from lamphouse.viewer import command
from lamphouse.viewer.models.preferences import FILE, TEXT_SIZES, preferred
from lamphouse.viewer.models.troubles import SHOWN, Troubles
from lamphouse.viewer.panels import look
from lamphouse.viewer.window import open_desk
from lamphouse.viewer.window.sizing import LEAST, limit_size, monitor_scale, scale_of


def test_text_size_and_open_nodes_are_kept_from_run_to_run(tmp_path):
    mine, trouble = preferred(tmp_path / "settings")
    assert (trouble, mine.now.text_size, mine.now.opened) == ("", 1.0, ())
    assert mine.change(opened=("curves", "primary")) == ""
    assert mine.resize(1) == ""
    again, trouble = preferred(tmp_path / "settings")
    assert (trouble, again.now.text_size, again.now.opened) == ("", 1.125, ("curves", "primary"))
    for _ in range(2 * len(TEXT_SIZES)):
        again.resize(-1)
    assert again.now.text_size == TEXT_SIZES[0]


@pytest.mark.parametrize("size", ['"large"', "0", "90"])
def test_a_size_that_cannot_be_is_told_and_the_desk_goes_on(tmp_path, size):
    (tmp_path / FILE).write_text(f'{{"record": "desk/1", "text_size": {size}}}', encoding="utf-8")
    mine, trouble = preferred(tmp_path)
    assert trouble.endswith("it is left as it is.")
    assert mine.now.text_size == 1.0


@pytest.mark.parametrize(
    ("asked", "text", "window", "scale"),
    [
        (1.0, 1.0, (1920, 1080), 1.0),
        (1.0, 1.5, (1920, 1080), 1.5),
        (1.0, 2.0, (1920, 1080), 1080 / 640),  # no further than there is room for all panels
        (1.0, 1.5, LEAST, 1.0),
        (2.0, 1.0, (3840, 2160), 2.0),
        (2.0, 1.0, (1600, 1000), 1.5625),
        (1.0, 0.75, LEAST, 0.75),
        (1.0, 1.0, (640, 400), 0.75),
    ],
)
def test_everything_is_as_large_as_monitor_and_person_ask_and_the_window_has_room(asked, text, window, scale):
    assert scale_of(asked, text, window) == pytest.approx(scale)


def _glfw(content, points, pixels, room=(0, 0, 3840, 2160)):
    limits = []
    return SimpleNamespace(
        get_window_size=lambda window: points,
        get_framebuffer_size=lambda window: pixels,
        get_window_content_scale=lambda window: (content, content),
        get_primary_monitor=lambda: None,
        get_monitor_workarea=lambda monitor: room,
        set_window_size_limits=lambda window, *of: limits.append(of),
        DONT_CARE=-1,
        limits=limits,
    )


def test_a_monitor_s_scale_counts_where_the_system_does_not_scale_by_itself():
    # GLFW 3.4: on Windows and X11 a window is measured in pixels, on macOS in points.
    assert monitor_scale(_glfw(1.5, (1600, 960), (1600, 960)), None) == 1.5
    assert monitor_scale(_glfw(2.0, (1600, 960), (3200, 1920)), None) == 1.0


def test_a_window_becomes_no_smaller_than_its_panels_nor_larger_than_the_monitor():
    wide, small = _glfw(1, LEAST, LEAST), _glfw(1, LEAST, LEAST, (0, 0, 1366, 728))
    limit_size(wide, None, 2.0)
    limit_size(small, None, 1.5)
    assert wide.limits == [(2048, 1280, -1, -1)]
    assert small.limits == [(1366, 728, -1, -1)]


def test_a_look_put_on_anew_has_the_sizes_of_its_scale_and_not_of_those_before():
    imgui.create_context()
    try:
        sizes = []
        for scale in (1.0, 2.0, 1.25, 1.0):
            look.put_on(scale)
            style = imgui.get_style()
            sizes.append(
                (style.frame_padding.x, style.scrollbar_size, style.indent_spacing, style.font_scale_main)
            )
        assert sizes[0] == sizes[3]
        assert sizes[1] == tuple(2 * size for size in sizes[0])
    finally:
        imgui.destroy_context()


def test_what_went_well_passes_by_itself_and_what_went_wrong_stays():
    troubles = Troubles()
    troubles.say("Saved.")
    assert not troubles.pass_by(5)
    assert not troubles.pass_by(5 + SHOWN - 1)
    assert troubles.pass_by(5 + SHOWN)
    assert troubles.lines == ()
    troubles.say("Saved.")
    troubles.put("hand", "That is no number.")
    assert not troubles.pass_by(10 * SHOWN)
    assert not troubles.pass_by(20 * SHOWN)
    assert troubles.lines == ("That is no number.",)


def test_what_went_well_goes_from_the_desk_without_a_hand(desk, hand_at):
    hand = hand_at(desk)
    desk.troubles.say("Saved.")
    hand.frame()
    hand.tick = SHOWN
    hand.frame()
    assert desk.troubles.lines == ()


def test_a_scale_that_is_given_holds_for_the_window_too(monkeypatch):
    given = []
    monkeypatch.setattr(open_desk, "open_desk", lambda *of, **named: given.append(named["scale"]))
    command.desk(scale=1.5)
    command.desk()
    assert given == [1.5, 0.0]  # 0 is as the monitor asks
