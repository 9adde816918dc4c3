"""Which way round things go: buttons, sticks, the strip's grade, the meter's frames, the loop."""

import threading
from dataclasses import replace
from fractions import Fraction

import msgspec
import numpy as np
import pytest
from imgui_bundle import imgui

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.records import Cue
from lamphouse.graph.reel.store import load
from lamphouse.graph.reel_files.opened import OpenedReel, open_reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.balance import by_sign
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.picture.film_strip import FilmStrip
from lamphouse.viewer.picture.meter import Meter
from lamphouse.viewer.sticks.mapping import stick_map
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.turn.decide import STICKS
from lamphouse.viewer.turn.hands import Hands


@pytest.mark.parametrize(
    ("label", "frame", "speed"),
    [
        ("start", 0, 0),
        ("< cue", 4, 0),
        ("-1", 9, 0),
        ("<<", 10, -1),
        ("stop", 10, 0),
        ("play", 10, 1),
        (">>", 10, 1),
        ("+1", 11, 0),
        ("cue >", 24, 0),
        ("end", 39, 0),
    ],
)
def test_each_button_of_the_transport_goes_its_way(hand, items, label, frame, speed):
    desk = hand.desk
    desk.go_to(10, hand.now)
    hand.frame(2)
    left, top, right, bottom = items[label]
    hand.move((left + right) / 2, (top + bottom) / 2)
    hand.press()
    hand.io.add_mouse_button_event(0, False)
    hand.loop.turn()
    assert (desk.transport.frame, desk.transport.speed) == (frame, Fraction(speed))


@pytest.mark.parametrize("name", ["gamepad", "two-sticks"])
@pytest.mark.parametrize("hand", [0, 1])
def test_a_stick_to_the_right_goes_to_blue_and_one_pushed_away_to_red_on_every_preset(desk, name, hand):
    # Pushed away GLFW's axes are negative (its documentation, "Gamepad input"); Cb is across and Cr upward.
    mapping = stick_map(name)
    first = (0, 2)[hand] if name == "gamepad" else (0, 8)[hand]
    control = ("primary.gamma_balance", "primary.gain_balance")[hand]
    assert any(move.control == control and move.axes == (first, first + 1) for move in mapping.moves)
    for axis, value, way in ((first, 1.0, (1, 0)), (first, -1.0, (-1, 0)), (first + 1, -1.0, (0, 1))):
        moved = pushed(desk, name, axis, value)
        cb, cr = by_sign(desk.controls.parameters[control]).point_of(moved[control])
        assert (round(10 * cb), round(10 * cr)) == tuple(round(2 * n) for n in way)
        desk.undo()


def pushed(desk, name, axis, value):
    """The balances after a second in which one axis of a device was held."""
    rest = [0.0] * 6 if name == "gamepad" else [0.0] * 16
    rest[4:6] = (-1.0, -1.0) if name == "gamepad" else rest[4:6]

    class Device:
        pose = Pose(tuple(rest), (False,) * 64)

        def read(self):
            return self.pose

        def seen(self):
            return Seen(("invented",), ())

    device, panels = Device(), Panels()
    hands = Hands([("gamepad" if name == "gamepad" else "joysticks", device)])
    hands.take(desk, panels, 0)
    device.pose = Pose(tuple(value if n == axis else at for n, at in enumerate(rest)), (False,) * 64)
    for n in range(1, 1 + 1_000_000_000 // STICKS):
        hands.take(desk, panels, n * STICKS)
    return {key: desk.own(key) for key in ("primary.gamma_balance", "primary.gain_balance")}


def test_each_small_picture_of_the_strip_has_the_grade_of_its_own_frame(reel_file):
    # A grade that another frame would show: the gain doubles from one frame to the next.
    cues = (Cue(frame=0), Cue(frame=20, settings={"primary.gain": 2.0}), Cue(frame=21, settings={}))
    opened = OpenedReel(reel_file, msgspec.structs.replace(load(reel_file), cues=cues), Catalogue())
    came = threading.Semaphore(0)
    strip = FilmStrip(opened, came.release)
    frames = (19, 20, 21)
    for _ in frames:
        strip.drawn(opened.reel, frames)
        assert came.acquire(timeout=60)
    drawn = strip.drawn(opened.reel, frames)[..., :3]
    strip.close()
    with Grade(opened, threads=1) as grade:
        for place, frame in enumerate(frames):
            light = np.clip(grade.correct(frame, strip._read[frame]), 0, 1) ** 2.4  # ITU-R BT.1886
            code = np.where(light < 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
            shown = drawn[:, place * strip.width : (place + 1) * strip.width]
            np.testing.assert_allclose(shown, 255 * np.moveaxis(code, 0, -1), atol=1.01)
    means = [drawn[:, n * strip.width : (n + 1) * strip.width].mean() for n in range(3)]
    assert means[1] > 1.3 * max(means[0], means[2])


def test_the_meter_measures_from_the_foot_of_the_ramp_to_the_frame_of_its_cue(desk):
    picture = np.full((3, 16, 16), 0.5, np.float32)
    # Drawn so that the largest step is the very last, into the frame of the cue.
    late = ((0.0, 0.0), (0.85, 0.05), (1.0, 1.0))
    cue = Cue(frame=30, begins="transition", length=10, ease=late, settings={"primary.gain": 0.5})
    reel = msgspec.structs.replace(desk.reel, cues=(Cue(frame=0), cue))
    ready = threading.Event()
    meter = Meter(desk.opened, ready.set)
    meter.of(reel, cue, picture)
    assert ready.wait(60)
    found = meter.of(reel, cue, picture)
    meter.close()
    assert len(found.steps) == 10
    assert found.step_at == 30


def test_undo_leaves_no_drag_open(desk):
    desk.go_to(10, 0)
    drag = desk.grasp("primary.gain")
    desk.set({"primary.gain": 1.3}, drag)
    desk.set({"primary.gain": 1.4}, drag)
    desk.undo()
    desk.set({"primary.gain": 1.5}, drag)
    desk.undo()
    assert desk.own("primary.gain") == 1.2
    desk.redo()
    desk.set({"primary.gain": 1.6}, drag)
    desk.undo()
    assert desk.own("primary.gain") == 1.5


def test_who_reads_wakes_the_window(reel_file, window_display):
    display, woken = window_display
    from lamphouse.viewer.turn.wishes import Wish

    display.ask(Wish(3))
    assert woken.wait(60)
    news = display.news()
    assert (news.is_any, news.scan.wish.frame) == (True, 3)
    assert not display.news().is_any


@pytest.fixture
def window_display(reel_file):
    """The desk's own display, and an event that is set when it wakes the window."""
    import os

    from lamphouse.nodes.errors import BadInput
    from lamphouse.viewer.glsl.offscreen import Offscreen
    from lamphouse.viewer.models.desk import Desk

    try:
        context = Offscreen((16, 16)).__enter__()
    except BadInput as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))
    from lamphouse.viewer.picture.gl_display import GlDisplay

    woken = threading.Event()
    display = GlDisplay(Desk(open_reel(reel_file, Catalogue())), woken.set)
    yield display, woken
    display.close()
    context.__exit__(None, None, None)


def test_the_shares_at_white_and_at_black_are_written_beside_their_words(hand, monkeypatch):
    said = []
    scopes = replace(hand.seen.scopes, clipped=(1.0, 2.0), clipped_before=(3.0, 4.0))
    hand.loop.seen = replace(hand.seen, scopes=scopes)
    monkeypatch.setattr(imgui, "text_colored", lambda colour, text: said.append(text))
    hand.frame()
    white, black = said.index("2.00 %"), said.index("1.00 %")
    assert said[white + 1] == "at white or above; as scanned 4.00 %"
    assert said[black + 1] == "at black or below; as scanned 3.00 %"
