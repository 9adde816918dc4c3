"""Sticks reach the controls: a push is one step to undo, a button does what its key does."""

import msgspec
import numpy as np
import pytest

from lamphouse.graph.reel.presets import preset_names
from lamphouse.viewer.models.balance import by_sign
from lamphouse.viewer.models.commands.command import Inputs, Press
from lamphouse.viewer.models.commands.table import COMMANDS, asked, run
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.recovery import LeftOver
from lamphouse.viewer.models.standing import Contest, Standing
from lamphouse.viewer.sticks.learn import Learning
from lamphouse.viewer.sticks.mapping import FOLDER, stick_map
from lamphouse.viewer.sticks.mapping import Press as Press_
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.turn.decide import STICKS as EVERY
from lamphouse.viewer.turn.hands import LET_GO, STILL, Hands

REST = Pose((0.0, 0.0, 0.0, 0.0, -1.0, -1.0), (False,) * 15)


class Feed:
    """A device that stands where the test puts it."""

    def __init__(self):
        self.pose = None

    def read(self):
        return self.pose

    def seen(self):
        return Seen(("a pad",), tuple(range(15))) if self.pose else None


@pytest.fixture
def hands(desk):
    device = Feed()
    desk.go_to(10, 0)
    return Hands([("gamepad", device)]), device, desk, Panels()


def held(hands, pose, count, start):
    taken, device, desk, screen = hands
    device.pose = pose
    for n in range(count):
        for command in taken.take(desk, screen, start + n * EVERY).commands:
            run(command, desk, screen, start + n * EVERY)
    return start + count * EVERY


def test_a_stick_moves_its_balance_while_it_is_held_as_one_step(hands):
    taken, _, desk, _ = hands
    assert not taken.are_there
    before = desk.reel
    now = held(hands, REST, 2, 10**9)
    assert taken.are_there
    assert desk.reel is before
    now = held(hands, Pose((0, 0, 0, -1, -1, -1), REST.buttons), 25, now)  # the right stick pushed away
    parameter = desk.controls.parameters["primary.gain_balance"]
    cb, cr = by_sign(parameter).point_of(desk.own("primary.gain_balance"))
    assert cr == pytest.approx(0.1, rel=0.05)  # half a second of the preset's 0.2 a second
    assert cb == pytest.approx(0, abs=1e-5)
    now = held(hands, REST, 2, now + LET_GO)
    held(hands, Pose((0, 0, 1, 0, -1, -1), REST.buttons), 5, now)
    desk.undo()
    assert by_sign(parameter).point_of(desk.own("primary.gain_balance"))[1] == pytest.approx(cr, rel=1e-4)
    desk.undo()
    assert desk.reel == before


def test_a_button_does_what_its_key_does(hands):
    desk = hands[2]
    now = held(hands, REST, 2, 10**9)
    down = list(REST.buttons)
    down[12] = True  # the next cue
    held(hands, Pose(REST.axes, tuple(down)), 3, now)
    assert desk.frame == 24


def test_sticks_that_are_pulled_out_are_forgotten(hands):
    taken, device, desk, screen = hands
    now = held(hands, REST, 2, 10**9)
    device.pose = None
    assert not taken.take(desk, screen, now).is_new
    assert not taken.are_there


def test_every_action_of_the_presets_is_one_of_the_desk():
    actions = [command.name for command in COMMANDS]
    known = set(actions)
    assert len(actions) == len(known)
    for name in preset_names(FOLDER):
        assert {press.action for press in stick_map(name).presses} <= known


def test_a_control_that_the_chain_has_not_stays_away(desk):
    before = desk.reel
    desk.nudge("sky.gain", (0.1,))
    assert desk.reel is before
    desk.nudge("primary.gain", (np.log(2.0),))
    assert desk.own("primary.gain") == pytest.approx(2.0)


@pytest.mark.parametrize("question", ["left over", "quit", "who works", "contested"])
def test_neither_stick_nor_button_nor_key_acts_through_an_open_question(hands, question):
    _, _, desk, screen = hands
    screen.left_over = LeftOver(desk.reel, "") if question == "left over" else None
    screen.asks_to_quit, desk.standing.asks_who_works = question == "quit", question == "who works"
    desk.standing.contest = Contest(None, "") if question == "contested" else None
    before = desk.reel
    now = held(hands, REST, 2, 10**9)
    moved = Pose((0.9, 0.9, 0.9, 0.9, -1.0, -1.0), (True,) * 15)
    now = held(hands, moved, 10, now)
    for command in asked(Inputs((Press("s", True), Press("m"), Press("enter"))), screen):
        run(command, desk, screen, now)
    assert desk.reel is before
    assert desk.message == ""
    screen.left_over, screen.asks_to_quit, desk.standing = None, False, Standing(desk.reel_file)
    now = held(hands, REST, 2, now)
    held(hands, moved, 10, now)
    assert desk.reel is not before


def test_while_the_page_learns_and_until_the_hand_rests_after_sticks_move_nothing(hands):
    _, _, desk, panels = hands
    away = Pose((0, 0, 0, -1, -1, -1), REST.buttons)
    now = held(hands, REST, 2, 10**9)
    before = desk.reel
    panels.sticks.turn()
    panels.sticks.learning = Learning("press", "play")
    now = held(hands, away, 5, now)
    panels.sticks.learning = None
    for shaking in range(40):  # still moving: it does not rest, however long that takes
        now = held(hands, Pose((0, 0, 0, -1 + shaking % 2, -1, -1), REST.buttons), 1, now)
    assert desk.reel is before
    now = held(hands, away, 1, now)
    for n in range(LET_GO // EVERY - 1):
        trembling = Pose((STILL * (n % 2), *away.axes[1:]), REST.buttons)
        now = held(hands, trembling, 1, now)
    assert desk.reel is before
    held(hands, away, 4, now)
    assert desk.reel is not before


def test_a_button_that_is_held_is_no_rest_after_learning(hands):
    _, _, desk, panels = hands
    now = held(hands, REST, 2, 10**9)
    panels.sticks.learning = Learning("press", "play")
    now = held(hands, REST, 1, now)
    panels.sticks.learning = None
    down = Pose(REST.axes, tuple(n == 12 for n in range(15)))  # the next cue
    for pose in (down, REST) * 20:
        now = held(hands, pose, 1, now)
    assert desk.frame == 10
    now = held(hands, REST, 1, now) + LET_GO
    held(hands, REST, 2, now)
    held(hands, down, 2, now + 2 * EVERY)
    assert desk.frame == 24


def test_what_a_mapping_asks_for_and_the_desk_does_not_know_is_said(hands):
    _, _, desk, panels = hands
    unknown = Press_(button=3, action="fly")
    panels.sticks.change(lambda mapping: msgspec.structs.replace(mapping, moves=(), presses=(unknown,)))
    now = held(hands, REST, 2, 10**9)
    held(hands, Pose(REST.axes, tuple(n == 3 for n in range(15))), 1, now)
    assert desk.message == "The joysticks' mapping asks for fly, which the desk does not know."


def test_the_page_shows_what_is_there_while_it_is_open_and_draws_only_for_what_moves(hands):
    taken, device, desk, panels = hands
    device.pose = REST
    assert not taken.take(desk, panels, 10**9).is_new
    assert (panels.sticks.pose, panels.sticks.seen) == (REST, None)
    panels.sticks.turn()
    assert not taken.take(desk, panels, 10**9 + EVERY).is_new
    assert panels.sticks.seen == device.seen()
    device.pose = REST._replace(axes=(0.01, *REST.axes[1:]))
    assert taken.take(desk, panels, 10**9 + 2 * EVERY).is_new
    device.pose = None
    assert taken.take(desk, panels, 10**9 + 3 * EVERY).is_new
    assert (panels.sticks.pose, panels.sticks.seen) == (None, None)
    assert not taken.take(desk, panels, 10**9 + 4 * EVERY).is_new


def test_the_first_look_at_another_device_is_no_push_of_it(desk):
    pad, joysticks = Feed(), Feed()
    taken, panels = Hands([("gamepad", pad), ("joysticks", joysticks)]), Panels()
    pad.pose = REST
    taken.take(desk, panels, 10**9)
    pad.pose = None
    joysticks.pose = Pose((0.0,) * 8, (True,) * 32)
    assert taken.take(desk, panels, 10**9 + EVERY).commands == ()
    assert panels.sticks.device == "joysticks"
    assert taken.are_there
