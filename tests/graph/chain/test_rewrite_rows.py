"""Every row of the rewrite table by value: its two sides are equal, and it is used."""

from itertools import product

import numpy as np
import pytest

from lamphouse.graph.chain.rewrite import PLACEHOLDER, ROWS, bind
from lamphouse.nodes.maths import curve, matrix, mix, offset, power, red, scale
from lamphouse.nodes.signals import (
    BT709_JOIN_ENCODED,
    BT709_JOIN_LIGHT,
    BT709_SLOPE,
    SRGB_JOIN_ENCODED,
    SRGB_JOIN_LIGHT,
    SRGB_SLOPE,
)
from lamphouse.nodes.trace import CONSTANT, PICTURE, constant, frame_input, picture, walk

RNG = np.random.default_rng(31)
STRAIGHT = np.tile(np.linspace(0, 1, 17), (3, 1))


def _column(low, high):
    return [RNG.uniform(low, high, (3, 1)), RNG.uniform(low, high, (1, 1))]


# What may stand at each place of each primitive: neutral constants, and random ones.
CANDIDATES = {
    ("scale", 1): [np.ones((3, 1)), np.ones((1, 1)), *_column(-2, 2)],
    ("offset", 1): [np.zeros((3, 1)), np.zeros((1, 1)), *_column(-1, 1)],
    ("matrix", 1): [np.eye(3), RNG.uniform(-1, 2, (3, 3))],
    ("power", 1): [np.ones((3, 1)), np.ones((1, 1)), *_column(0.3, 3)],
    ("power_above_zero", 1): [np.ones((3, 1)), np.ones((1, 1)), *_column(0.3, 3)],
    ("curve", 1): [STRAIGHT, np.sort(RNG.uniform(0, 1, (3, 17)), axis=1)],
    ("curve", 2): [np.ones((3, 2)), RNG.uniform(0, 2, (3, 2))],
    ("mix", 2): [np.zeros((1, 1)), np.ones((1, 1)), RNG.uniform(0, 1, (1, 1))],
    ("multiply", 1): [np.zeros((1, 1)), np.ones((1, 1)), np.zeros((3, 1)), *_column(-2, 2)],
    ("toe_log", 1): [np.array([[1e-6]]), np.array([[1e-3]])],
    ("toe_antilog", 1): [np.array([[1e-6]]), np.array([[1e-3]])],
    ("clamp", 1): [*_column(-1, 0)],
    ("clamp", 2): [*_column(0.5, 1)],
    # IEC 61966-2-1 and ITU-R BT.709-6.
    ("toe_power", 1): [np.array([[2.4]]), np.array([[1 / 0.45]])],
    ("toe_power", 2): [np.array([[0.055]]), np.array([[0.099]])],
    ("toe_power", 3): [np.array([[1 / SRGB_SLOPE]]), np.array([[1 / BT709_SLOPE]])],
    ("toe_power", 4): [np.array([[SRGB_JOIN_ENCODED]]), np.array([[BT709_JOIN_ENCODED]])],
    ("toe_root", 1): [np.array([[2.4]]), np.array([[1 / 0.45]])],
    ("toe_root", 2): [np.array([[0.055]]), np.array([[0.099]])],
    ("toe_root", 3): [np.array([[SRGB_SLOPE]]), np.array([[BT709_SLOPE]])],
    ("toe_root", 4): [np.array([[SRGB_JOIN_LIGHT]]), np.array([[BT709_JOIN_LIGHT]])],
}
PICTURES = {name: RNG.uniform(-1, 2, (3, 200)) for name in "xyk"}


def _candidates(pattern):
    """Return for every constant of `pattern` what may stand there."""
    found = {}
    for step in walk(pattern):
        for place, argument in enumerate(step.arguments):
            if argument.primitive == PLACEHOLDER and not argument.per_pixel:
                found.setdefault(argument.name, CANDIDATES.get((step.primitive, place)))
    assert None not in found.values(), "say in CANDIDATES what may stand at each place of the new row"
    return found


def _instances(row):
    """Yield what the placeholders may stand for, wherever the row's condition holds."""
    places = _candidates(row.pattern)
    pictures = {
        s.name: picture(s.name) for s in walk(row.pattern) if s.primitive == PLACEHOLDER and s.per_pixel
    }
    for values in product(*places.values()):
        found = pictures | dict(zip(places, map(constant, values), strict=True))
        if row.holds(found):
            yield found


def _filled(pattern, found):
    if pattern.primitive == PLACEHOLDER:
        return found[pattern.name]
    parts = tuple(_filled(argument, found) for argument in pattern.arguments)
    return pattern.over(parts)


def _shape(expression):
    """Return the primitives of an expression, without its numbers."""
    name = expression.name or expression.primitive
    return (name, *map(_shape, expression.arguments))


def _steps(expression):
    return sum(step.primitive not in (CONSTANT, PICTURE) for step in walk(expression))


every_row = pytest.mark.parametrize("row", ROWS, ids=lambda row: row.algebra)


@every_row
def test_both_sides_of_a_row_are_equal_wherever_its_condition_holds(row, evaluate):
    instances = list(_instances(row))
    assert instances
    for found in instances:
        before = evaluate(_filled(row.pattern, found), {}, PICTURES)
        after = evaluate(row.rewritten(found), {}, PICTURES)
        np.testing.assert_allclose(np.broadcast_to(after, before.shape), before, rtol=1e-9, atol=1e-9)


@every_row
def test_a_row_is_used_and_makes_nothing_longer(row):
    for found in _instances(row):
        before = _filled(row.pattern, found)
        after = bind(before, {})
        assert _shape(after) != _shape(before)
        assert _steps(after) <= _steps(before)


@every_row
def test_a_row_with_a_condition_is_left_alone_where_it_does_not_hold(row, evaluate):
    places = _candidates(row.pattern)
    held = list(_instances(row))
    every = list(product(*places.values()))
    if len(held) == len(every):
        return
    pictures = {
        s.name: picture(s.name) for s in walk(row.pattern) if s.primitive == PLACEHOLDER and s.per_pixel
    }
    for values in every:
        found = pictures | dict(zip(places, map(constant, values), strict=True))
        expression = _filled(row.pattern, found)
        result = evaluate(bind(expression, {}), {}, PICTURES)
        if not row.holds(found):
            expected = evaluate(expression, {}, PICTURES)
            result = np.broadcast_to(result, expected.shape)
            np.testing.assert_allclose(result, expected, rtol=1e-9, atol=1e-9)


@every_row
def test_a_row_leaves_as_many_channels_as_it_found_of_one_number_a_pixel(row, evaluate):
    for found in _instances(row):
        for place in (name for name in "xyk" if name in found):
            narrow = found | {place: red(picture(place))}
            expression = _filled(row.pattern, narrow)
            before = evaluate(expression, {}, PICTURES)
            after = np.asarray(evaluate(bind(expression, {}), {}, PICTURES))
            assert after.shape[0] == before.shape[0]
            np.testing.assert_allclose(np.broadcast_to(after, before.shape), before, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("power_of", [-1.0, 0.0])
def test_powers_that_hold_black_at_the_largest_number_are_not_joined(power_of, evaluate):
    both = power(power(picture("x"), power_of), -0.5)
    black = {"x": np.array([[0.0, 0.25], [-0.0, -0.25], [1.0, -1.0]])}
    np.testing.assert_allclose(evaluate(bind(both, {}), {}, black), evaluate(both, {}, black), rtol=1e-12)


def test_no_row_but_those_that_move_a_step_inward_leaves_as_many_steps_as_it_found():
    moving = {"(x + a) b = x b + a b", "B (x + a) = B x + B a"}
    for row in ROWS:
        longest = max(
            _steps(bind(_filled(row.pattern, f), {})) - _steps(_filled(row.pattern, f))
            for f in _instances(row)
        )
        assert (longest == 0) == (row.algebra in moving), row.algebra


def test_any_run_of_scales_offsets_and_matrices_becomes_one_matrix_and_one_offset(evaluate):
    for length in range(2, 9):
        for _ in range(10):
            run = picture("x")
            for name in RNG.choice(["scale", "offset", "matrix"], length):
                call = {"scale": scale, "offset": offset, "matrix": matrix}[name]
                run = call(run, CANDIDATES[name, 1][-1] + RNG.uniform(0, 0.1))
            bound = bind(run, {})
            names = [step.primitive for step in walk(bound) if step.arguments]
            assert names in (["scale"], ["offset"], ["matrix"], ["scale", "offset"], ["matrix", "offset"])
            expected = evaluate(run, {}, PICTURES)
            np.testing.assert_allclose(evaluate(bound, {}, PICTURES), expected, rtol=1e-9, atol=1e-9)


def test_arithmetic_on_numbers_alone_is_done_beforehand(evaluate):
    gain, gamma = frame_input("gain"), frame_input("gamma")
    expression = power(scale(picture("x"), gain * 2 + 1), 1 / (gamma * gamma))
    numbers = {"gain": np.array([[0.5], [1.0], [2.0]]), "gamma": np.array([[1.25]])}
    bound = bind(expression, numbers)
    assert _shape(bound) == ("power", ("scale", ("x",), ("constant",)), ("constant",))
    expected = evaluate(expression, numbers, PICTURES)
    np.testing.assert_allclose(evaluate(bound, {}, PICTURES), expected, rtol=1e-12)


def test_arithmetic_on_numbers_alone_never_warns():
    zero = frame_input("zero")
    bound = bind(scale(picture("x"), 1 / zero + zero / zero), {"zero": np.zeros((1, 1))})
    assert np.isnan(bound.arguments[1].value).all()


def test_a_picture_may_be_mixed_with_a_flat_colour(evaluate):
    colour = np.array([[0.2], [0.4], [0.6]])
    for share in (0.0, 0.25, 1.0):
        expression = mix(constant(colour), picture("x"), frame_input("share"))
        bound = bind(expression, {"share": np.array([[share]])})
        expected = colour * (1 - share) + PICTURES["x"] * share
        np.testing.assert_allclose(
            np.broadcast_to(evaluate(bound, {}, PICTURES), (3, 200)), expected, atol=1e-12
        )


def test_equal_steps_become_one():
    def half():
        return power(scale(picture("x"), frame_input("a")), 2.4)

    bound = bind(
        mix(offset(half(), 0.5), curve(half(), STRAIGHT**2, np.ones((3, 2))), 0.5), {"a": np.array([[2.0]])}
    )
    names = [step.primitive for step in walk(bound)]
    assert names.count("power") == names.count("scale") == names.count(PICTURE) == 1


def test_a_number_that_is_missing_is_named():
    with pytest.raises(KeyError, match="gain"):
        bind(scale(picture("x"), frame_input("gain")), {})
