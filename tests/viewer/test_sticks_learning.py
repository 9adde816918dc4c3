"""What is learned from a hand: which stick, which way, and what that takes from others."""

import math

import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.sticks.learn import Learning, after_pose, learned, learning
from lamphouse.viewer.sticks.mapping import Move, Press, StickMap, stick_map
from lamphouse.viewer.sticks.step import Pose, Seen
from lamphouse.viewer.sticks.words import AXES, BUTTONS, axis_words, button_words, move_words
from lamphouse.viewer.turn.decide import STICKS as EVERY
from lamphouse.viewer.turn.hands import LET_GO, Hands

AXES_AT_REST = (0.0, 0.0, 0.0, 0.0, -1.0, -1.0)


def pose(axes=None, down=()):
    stands = dict(enumerate(AXES_AT_REST)) | (axes or {})
    return Pose(tuple(stands.values()), tuple(n in down for n in range(15)))


def after(asked, *poses):
    for seen in poses:
        if asked.is_done:
            break
        asked = after_pose(asked, seen)
    return asked


EMPTY = StickMap(device="gamepad")


def row(asked, *poses, mapping=EMPTY):
    done = after(asked, *poses)
    assert done.is_done
    return learned(mapping, done)


PLANE = Learning("plane", "a.balance", amount=0.2)
LINE = Learning("line", "a.gain", amount=0.1)


def test_a_plane_is_learned_from_two_pushes_whichever_way_the_axes_count():
    (move,) = row(PLANE, pose(), pose({2: 0.4}), pose({2: 0.9}), pose({2: 0.9, 3: -0.8})).moves
    assert move == Move(control="a.balance", axes=(2, 3), amounts=(0.2, -0.2))
    (move,) = row(PLANE, pose(), pose({2: -0.9}), pose(), pose({3: 0.8})).moves
    assert move.amounts == (-0.2, 0.2)


def test_a_button_is_no_part_of_a_plane_and_an_axis_is_no_button():
    assert after(PLANE, pose(), pose(down=[3])).found == ()
    press = Learning("press", "play")
    assert after(press, pose(), pose({0: 1.0})).found == ()
    assert row(press, pose(), pose({0: 1.0}), pose({0: 1.0}, [7])).presses == (
        Press(button=7, action="play"),
    )


def test_a_line_is_learned_from_a_stick_a_trigger_that_rests_at_its_end_or_two_buttons():
    (stick,) = row(LINE, pose(), pose({1: -0.7})).moves
    assert (stick.axes, stick.amounts, stick.rest, stick.by) == ((1,), (-0.1,), 0.0, "rate")
    (trigger,) = row(LINE, pose(), pose({5: 0.3})).moves
    assert (trigger.axes, trigger.amounts, trigger.rest) == ((5,), (0.1,), -1.0)
    half = after(LINE, pose(), pose(down=[11]), pose(down=[11]))
    assert not half.is_done
    assert "now press the button that lowers it" in half.asks
    (cross,) = row(half, pose(down=[11, 13])).moves
    assert (cross.buttons, cross.amounts) == ((13, 11), (0.1,))


def test_a_lever_of_a_joystick_moves_by_its_travel_and_its_stick_by_rate():
    joysticks = StickMap(device="joysticks")
    rest = Pose((0.0, 0.0, 0.9) + (math.nan,) * 5 + (0.0, 0.0, 1.0), (False,) * 64)
    lever = Pose((*rest.axes[:10], -0.2), rest.buttons)
    (move,) = row(LINE, rest, lever, mapping=joysticks).moves
    assert (move.axes, move.amounts, move.by, move.rest) == ((10,), (-0.1,), "travel", 0.0)
    across = Pose((0.0,) * 8 + (1.0, 0.0, 1.0), rest.buttons)
    assert row(LINE, rest, across, mapping=joysticks).moves[0].by == "rate"


def test_a_button_that_was_down_from_the_start_counts_once_it_is_let_go():
    press = Learning("press", "play")
    assert after(press, pose(down=[4]), pose(down=[4])).found == ()
    assert after(press, pose(down=[4]), pose(), pose(down=[4])).is_done


def test_learning_a_row_again_keeps_its_place_its_amounts_and_its_layer():
    layered = Move(control="a.gain", axes=(0,), amounts=(-0.7,), held=5)
    other = Move(control="a.lift", axes=(3,), amounts=(0.4,))
    mapping = StickMap(device="gamepad", moves=(layered, other))
    again = row(Learning("line", "a.gain", 0, 0.1), pose(), pose({1: 0.9}), mapping=mapping)
    assert again.moves == (Move(control="a.gain", axes=(1,), amounts=(0.7,), held=5), other)
    held = row(Learning("held", "a.lift", 1), pose(), pose(down=[4]), mapping=again)
    assert held.moves[1].held == 4
    assert row(Learning("fine"), pose(), pose(down=[6]), mapping=held).fine == 6


@pytest.mark.parametrize(
    "asked", [Learning("press", "play"), Learning("held", "a.gain", 0), LINE], ids=["press", "held", "line"]
)
def test_a_button_with_two_tasks_is_refused(asked):
    moves = (Move(control="a.gain", axes=(0,), amounts=(1.0,)),)
    mapping = StickMap(device="gamepad", fine=4, moves=moves, presses=(Press(button=3, action="undo"),))
    done = after(asked, pose(), pose(down=[4]), pose(down=[3, 4]))
    with pytest.raises(BadInput, match=r"Button [34] has to .* choose one"):
        learned(mapping, done)


def test_the_parameter_says_whether_a_plane_or_a_line_is_learned_and_how_much(desk):
    parameters = desk.controls.parameters
    assert learning("primary.gain_balance", parameters["primary.gain_balance"]).want == "plane"
    stops = learning("exposure.stops", parameters["exposure.stops"])
    assert (stops.want, stops.amount) == ("line", pytest.approx(0.8))
    assert learning("gone.gain", None).want == "line"


def test_every_part_of_a_gamepad_has_words_of_its_own_and_joysticks_have_sides():
    assert len({*AXES, *BUTTONS}) == 6 + 15
    assert axis_words("gamepad", 4) == "left trigger"
    assert axis_words("joysticks", 10) == "right, axis 10"
    assert button_words("joysticks", 3) == "left, button 3"
    for name in ("gamepad", "two-sticks"):
        mapping = stick_map(name)
        assert all(move_words(mapping.device, move) for move in mapping.moves)


class Feed:
    """A device that stands where the test puts it."""

    def __init__(self):
        self.pose = pose()

    def read(self):
        return self.pose

    def seen(self):
        return Seen(("a pad",), tuple(range(15))) if self.pose else None


class Bench:
    """A desk with a made-up gamepad, in a time of its own."""

    def __init__(self, desk):
        self.desk, self.screen, self.device, self.now = desk, Panels(), Feed(), 10**9
        self.hands = Hands([("gamepad", self.device)])
        self.desk.go_to(10, 0)
        self.stand(pose())

    def stand(self, where, looks=3):
        self.device.pose = where
        for _ in range(looks):
            self.hands.take(self.desk, self.screen, self.now)
            self.now += EVERY


@pytest.fixture
def bench(desk):
    return Bench(desk)


def test_while_the_page_learns_and_until_the_hand_rests_sticks_move_nothing(bench):
    desk, page = bench.desk, bench.screen.sticks
    before = desk.reel
    page.learning = learning("saturation.amount", desk.controls.parameters["saturation.amount"])
    bench.stand(pose({0: 0.4}, [12]))  # a balance and the next cue, were it not for the learning
    bench.stand(pose({1: -0.2}))
    assert page.learning is not None
    bench.stand(pose({1: -0.9}))
    assert page.learning is None
    assert page.mapping.moves[-1].control == "saturation.amount"
    for n in range(30):  # on its way back
        bench.stand(pose({1: -0.9 + n * 0.03}), 1)
    bench.stand(pose())
    assert desk.reel is before
    assert desk.frame == 10
    bench.stand(pose(), LET_GO // EVERY)
    bench.stand(pose({1: -1.0}), 25)
    assert desk.own("saturation.amount") == pytest.approx(1 + 0.05 * 4 / 2, rel=0.1)


def test_what_loses_its_stick_is_said_and_can_be_had_back(bench):
    page = bench.screen.sticks
    before = page.mapping
    page.learning = Learning("press", "save")
    bench.stand(pose())
    bench.stand(pose(down=[1]))
    assert page.message == "Right button no longer does store_cue."
    assert page.mapping.presses[-1] == Press(button=1, action="save")
    assert page.row == ("press", len(page.mapping.presses) - 1)
    page.shelf.undo("gamepad")
    assert page.mapping == before


def test_a_refused_button_is_a_sentence_and_the_mapping_stays(bench):
    page = bench.screen.sticks
    before = page.mapping
    page.learning = Learning("press", "save")
    bench.stand(pose())
    bench.stand(pose(down=[4]))
    assert page.message == "Button 4 has to do save and something else; choose one."
    assert (page.mapping, page.learning, page.shelf.unkept) == (before, None, [])


def test_sticks_pulled_out_while_learning_leave_the_mapping_as_it_was(bench):
    page = bench.screen.sticks
    page.is_open, page.learning = True, Learning("press", "save")
    bench.device.pose = None
    assert bench.hands.take(bench.desk, bench.screen, bench.now).is_new
    assert (page.learning, page.pose) == (None, None)
    assert page.message.startswith("The joysticks are gone")


def test_an_open_page_is_drawn_again_whenever_a_stick_moves(bench):
    for is_open in (False, True):
        bench.screen.sticks.is_open = is_open
        bench.stand(pose())
        bench.device.pose = pose({0: 0.1})  # within the dead zone
        assert bench.hands.take(bench.desk, bench.screen, bench.now).is_new is is_open


def test_a_change_of_the_mapping_works_at_once(bench):
    page = bench.screen.sticks
    page.change(lambda mapping: stick_map("gamepad"))
    bench.stand(pose({2: 1.0}), 10)
    at_one = bench.desk.own("primary.gain_balance")
    bench.desk.undo()
    bench.stand(pose())
    page.shelf.change("gamepad", type(page.mapping)(device="gamepad"))
    bench.stand(pose({2: 1.0}), 10)
    assert bench.desk.own("primary.gain_balance") != at_one
    assert bench.desk.own("primary.gain_balance") == (1.0, 1.0, 1.0)
