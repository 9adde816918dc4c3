"""Sticks without sticks: poses in, events out. Numbers of deflection and pace are invented."""

from __future__ import annotations

import math
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.reel.presets import chain_preset, preset_names
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.sticks.mapping import (
    FOLDER,
    Move,
    Press,
    StickMap,
    decode_stick_map,
    encode_stick_map,
    stick_map,
    with_move,
    with_press,
)
from lamphouse.viewer.sticks.poll import Poll
from lamphouse.viewer.sticks.step import Pose, Seen, step, touched

MS = 1_000_000
PLANE = Move(control="primary.gamma_balance", axes=(0, 1), amounts=(0.5, -0.5))
LEVER = Move(control="primary.lift", axes=(2,), amounts=(0.1,), by="travel")
MAPPING = StickMap(
    device="joysticks",
    dead_zone=0.2,
    fine=0,
    moves=(PLANE, LEVER),
    presses=(Press(button=1, action="store_cue"),),
)
REST = Pose((0.0, 0.0, 0.0), (False, False, False))


def pose(across=0.0, down=0.0, lever=0.0, buttons=(False, False, False)) -> Pose:
    return Pose((across, down, lever), buttons)


def nudged(current: Pose, mapping: StickMap = MAPPING, previous: Pose = REST, dt: int = 100 * MS):
    return {event[1]: event[2] for event in step(previous, current, mapping, dt) if event[0] == "nudge"}


def test_full_deflection_adds_its_amount_in_a_second_and_a_minus_turns_an_axis_round():
    assert nudged(pose(1, 0)) == {"primary.gamma_balance": pytest.approx((0.05, 0))}
    assert nudged(pose(0, -1)) == {"primary.gamma_balance": pytest.approx((0, 0.05))}
    assert nudged(pose(1, 0), dt=10 * MS) == {"primary.gamma_balance": pytest.approx((0.005, 0))}
    twice = StickMap(device="joysticks", dead_zone=0.2, sensitivity=2, moves=(PLANE,))
    assert nudged(pose(1, 0), twice) == {"primary.gamma_balance": pytest.approx((0.1, 0))}


def test_at_rest_and_within_the_dead_zone_nothing_happens():
    for current in (REST, pose(0.14, 0.14), pose(-0.2, 0), pose(0, 0.2)):
        assert step(current, current, MAPPING, 100 * MS) == ()


def test_pace_rises_from_nothing_at_the_edge_of_the_dead_zone_to_full_without_a_jump():
    for angle in (0.0, 0.5, 2.0, 4.0):
        sizes = [n / 1000 for n in range(1001)]
        paces = []
        for size in sizes:
            found = nudged(pose(size * math.cos(angle), size * math.sin(angle)))
            across, up = found.get("primary.gamma_balance", (0.0, 0.0))
            paces.append(math.hypot(across, up))
            if across or up:  # the direction of the push, whatever its size
                assert math.atan2(-up, across) % math.tau == pytest.approx(angle)
        assert paces[200] == 0
        assert paces[201] > 0
        assert paces[-1] == pytest.approx(0.05)
        assert max(b - a for a, b in pairwise(paces)) < 0.05 / 790


def test_a_corner_pushes_no_harder_than_a_side():
    across, up = nudged(pose(1, 1))["primary.gamma_balance"]
    assert math.hypot(across, up) == pytest.approx(0.05)


def test_the_fine_button_makes_everything_a_tenth():
    fine = (True, False, False)
    coarse, small = nudged(pose(1, 0, 0.5)), nudged(pose(1, 0, 0.5, fine))
    assert coarse.keys() == small.keys() == {"primary.gamma_balance", "primary.lift"}
    for control, vector in coarse.items():
        assert small[control] == pytest.approx([v / 10 for v in vector])


def test_a_lever_that_stays_moves_its_control_by_its_way_and_comes_back_exactly():
    ways = [0.0, 0.01, 0.3, -0.9, 1.0, 0.0]
    for dt in (1 * MS, 500 * MS):  # however long it took
        moved = [
            nudged(pose(lever=b), previous=pose(lever=a), dt=dt)["primary.lift"][0] for a, b in pairwise(ways)
        ]
        assert moved == pytest.approx([0.1 * (b - a) for a, b in pairwise(ways)])
        assert sum(moved) == pytest.approx(0, abs=1e-12)
    assert nudged(pose(lever=0.7), previous=pose(lever=0.7)) == {}


def test_after_a_pause_of_the_window_a_held_stick_does_not_leap():
    assert nudged(pose(1, 0), dt=5_000 * MS) == nudged(pose(1, 0), dt=100 * MS)


def test_a_button_acts_once_when_it_goes_down():
    down = pose(buttons=(False, True, False))
    assert step(REST, down, MAPPING, MS) == (("action", "store_cue"),)
    assert step(down, down, MAPPING, MS) == ()
    assert step(down, REST, MAPPING, MS) == ()


def test_while_a_button_is_held_the_same_stick_moves_another_control_and_the_lever_its_own():
    layer = Move(control="primary.lift_balance", axes=(0, 1), amounts=(0.5, -0.5), held=2)
    mapping = with_move(MAPPING, layer)
    held = (False, False, True)
    assert nudged(pose(1, 0, 0.5), mapping).keys() == {"primary.gamma_balance", "primary.lift"}
    assert nudged(pose(1, 0, 0.5, held), mapping).keys() == {"primary.lift_balance", "primary.lift"}


def test_triggers_that_rest_at_one_end_and_pairs_of_buttons_move_a_control_both_ways():
    less = Move(control="primary.gamma", axes=(0,), amounts=(-1.0,), rest=-1.0)
    more = Move(control="primary.gamma", axes=(1,), amounts=(1.0,), rest=-1.0)
    cross = Move(control="primary.gain", buttons=(0, 1), amounts=(1.0,))
    mapping = StickMap(device="gamepad", dead_zone=0.1, moves=(less, more, cross))
    rest = Pose((-1.0, -1.0), (False, False))
    assert nudged(rest, mapping) == {}
    assert nudged(Pose((1.0, -1.0), (False, False)), mapping) == {"primary.gamma": pytest.approx((-0.1,))}
    assert nudged(Pose((-1.0, 0.1), (False, False)), mapping) == {"primary.gamma": pytest.approx((0.05,))}
    both = nudged(Pose((0.1, 1.0), (False, False)), mapping)  # half down and all of the way up
    assert both == {"primary.gamma": pytest.approx((0.05,))}
    assert nudged(Pose((-1.0, -1.0), (True, False)), mapping) == {"primary.gain": pytest.approx((-0.1,))}
    assert nudged(Pose((-1.0, -1.0), (True, True)), mapping) == {}


def test_a_stick_that_is_not_there_or_comes_late_moves_nothing():
    missing = Pose((0.0, 0.0, math.nan), ())
    assert step(missing, missing, MAPPING, 100 * MS) == ()
    assert nudged(pose(lever=0.8), previous=missing) == {}  # plugged in again with its lever elsewhere
    trigger = StickMap(device="gamepad", moves=(Move(control="a.b", axes=(7,), amounts=(1.0,), rest=-1.0),))
    assert nudged(REST, trigger) == {}


def test_a_person_who_maps_a_control_is_understood_by_what_they_move():
    assert touched(REST, pose(0.3, 0.9)) == ("axis", 1)
    assert touched(REST, pose(0.3, 0.2)) is None
    assert touched(REST, pose(0.9, buttons=(False, False, True))) == ("button", 2)
    assert touched(Pose((math.nan, 0.0), ()), Pose((0.9, 0.0), ())) is None


def test_a_new_move_or_press_takes_the_place_of_the_old_one_on_the_same_stick_alone():
    curves = Move(control="saturation.saturation", axes=(1,), amounts=(1.0,))
    assert with_move(MAPPING, curves).moves == (LEVER, curves)
    assert with_press(MAPPING, Press(button=1, action="play")).presses == (Press(button=1, action="play"),)


@pytest.mark.parametrize("name", preset_names(FOLDER))
def test_a_preset_moves_controls_that_the_everyday_chain_has_and_balances_on_a_plane(name):
    controls = Controls(chain_preset("everyday").chain, installed())
    mapping = stick_map(name)
    for move in mapping.moves:
        assert len(move.amounts) == controls.parameters[move.control].kind.axes
    # Left hand: middle tones and lift; right hand: highlights and gain. Common practice, no source.
    hands = {move.control: move.sources for move in mapping.moves if move.held is None}
    assert hands["primary.gamma_balance"] == {("axis", 0), ("axis", 1)}
    assert hands["primary.gain_balance"].isdisjoint(hands["primary.gamma_balance"])
    assert {"primary.lift", "primary.gain"} <= hands.keys()


def test_pushing_right_or_up_is_toward_blue_or_red_and_raises_on_every_preset():
    # GLFW and the kernel give a stick that is pushed away as -1 (from memory).
    for name, second in (("two-sticks", 8), ("gamepad", 2)):
        axes = [0.0] * 16
        for first, control in ((0, "primary.gamma_balance"), (second, "primary.gain_balance")):
            pushed = [*axes]
            pushed[first : first + 2] = [0.6, -0.6]
            across, up = nudged(Pose(tuple(pushed), ()), stick_map(name), Pose(tuple(axes), ()))[control]
            assert across == pytest.approx(up)
            assert up > 0


def test_a_mapping_survives_its_file_with_what_a_later_version_wrote():
    for name in preset_names(FOLDER):
        mapping = stick_map(name)
        assert decode_stick_map(encode_stick_map(mapping), name) == mapping
    later = b'{"device": "gamepad", "rumble": true, "moves": [], "record": "sticks/2"}'
    assert b'"rumble": true' in encode_stick_map(decode_stick_map(later, "mine.json"))


def test_a_mapping_in_the_words_of_version_1_moves_the_same_controls():
    stored = Path(__file__).parent / "sticks-1.json"
    mapping = decode_stick_map(stored.read_bytes(), stored.name)
    assert mapping.record == "sticks/2"
    assert [move.control for move in mapping.moves] == [
        "white_balance_2.target",
        "secondary.hue_shift",
        "knee_3.highlights_amount",
        "mix.share",
        "primary.gain",
    ]
    assert (mapping.other, mapping.moves[1].other) == ({"rumble": True}, {"curve": "x"})


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "mine.json is cut off"),
        ('{"device": "wheel"}', "mine.json: at device: invalid enum value 'wheel'"),
        ('{"device": "gamepad", "dead_zone": 1}', "mine.json: a dead zone of 1 leaves nothing"),
        ('{"device": "gamepad", "sensitivity": 0}', "mine.json: a sensitivity of 0 moves nothing"),
        (
            '{"device": "gamepad", "moves": [{"control": "a.b", "axes": [0, 1, 2], "amounts": [1]}]}',
            r"at moves\[0\]: a.b needs one axis, two axes, or two buttons",
        ),
        (
            '{"device": "gamepad", "moves": [{"control": "a.b", "axes": [0, 1], "amounts": [1]}]}',
            r"at moves\[0\]: a.b needs an amount for each axis",
        ),
        (
            '{"device": "gamepad", "fine": 3, "presses": [{"button": 3, "action": "play"}]}',
            "mine.json: button 3 has to do play and something else",
        ),
        (
            '{"device": "gamepad", "moves": [{"control": "a.b", "axes": [0, 1], "amounts": [1, 1]}, '
            '{"control": "a.b", "axes": [2], "amounts": [1]}]}',
            "a.b is moved both on a plane and along a line",
        ),
    ],
)
def test_a_mapping_that_cannot_work_is_refused_with_its_place(text, sentence):
    with pytest.raises(BadInput, match=sentence):
        decode_stick_map(text.encode(), "mine.json")


class Glfw:
    """Stands for the library: three joysticks at most, the last of which is a gamepad."""

    def __init__(self) -> None:
        self.present = {1: ([0.5, -0.5, 0.25, 9.0], [0, 1]), 4: ([0.1] * 12, [1])}

    def joystick_present(self, number: int) -> int:
        return int(number in self.present)

    def get_joystick_axes(self, number: int):
        values = self.present[number][0]
        return dict(enumerate(values)), len(values)

    def get_joystick_buttons(self, number: int):
        values = self.present[number][1]
        return dict(enumerate(values)), len(values)

    def get_joystick_name(self, number: int) -> bytes | None:
        return None if number == 1 else "Stick \u00e9".encode()

    def get_gamepad_name(self, number: int) -> bytes:
        return b"Pad"

    def joystick_is_gamepad(self, number: int) -> bool:
        return number in self.present and number == 4

    def get_gamepad_state(self, number: int):
        return type("State", (), {"axes": [0.0] * 4 + [-1.0] * 2, "buttons": [0] * 14 + [1]})()


@pytest.fixture
def glfw(monkeypatch):
    library = Glfw()
    monkeypatch.setitem(sys.modules, "glfw", library)
    return library


def test_two_joysticks_are_one_pose_in_which_the_second_begins_at_axis_8_and_button_32(glfw):
    found = Poll("joysticks").read()
    assert found is not None
    assert (len(found.axes), len(found.buttons)) == (16, 64)
    assert found.axes[:4] == (0.5, -0.5, 0.25, 9.0)
    assert math.isnan(found.axes[4])
    assert found.axes[8:] == (0.1,) * 8
    assert [n for n, down in enumerate(found.buttons) if down] == [1, 32]
    assert Poll("joysticks").seen() == Seen(("a joystick without a name", "Stick é"), (0, 1, 32))
    glfw.present.clear()
    assert Poll("joysticks").read() is Poll("joysticks").seen() is None


def test_a_gamepad_is_found_wherever_it_is_plugged_in(glfw):
    assert Poll("gamepad").read() == Pose((0, 0, 0, 0, -1, -1), (False,) * 14 + (True,))
    assert Poll("gamepad").seen() == Seen(("Pad",), tuple(range(15)))
    glfw.present.pop(4)
    assert Poll("gamepad").read() is Poll("gamepad").seen() is None
