"""Expressions: what operators build, and the order in which they are walked."""

import numpy as np
import pytest

from lamphouse.nodes.trace import constant, frame_input, picture, walk


def test_operators_on_either_side_build_plain_arithmetic(evaluate):
    x, a = picture("x"), frame_input("a")
    pixels = np.array([[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]])
    array = np.array([[2.0], [3.0], [4.0]])
    expression = (array * x + 1 - a) / (2 - x * a) + (-x) * array - (1 / (a + x)) + (a - 1.5) * (3 + x)
    with_numbers = (array * pixels + 1 - 0.7) / (2 - pixels * 0.7) + -pixels * array - 1 / (0.7 + pixels)
    with_numbers = with_numbers + (0.7 - 1.5) * (3 + pixels)
    np.testing.assert_allclose(evaluate(expression, {"a": np.array([[0.7]])}, {"x": pixels}), with_numbers)


def test_only_what_a_picture_feeds_differs_from_pixel_to_pixel():
    x, a = picture("x"), frame_input("a")
    assert (x * a).per_pixel
    assert not (a * 2 + constant(1)).per_pixel


def test_every_step_is_walked_once_and_after_its_arguments():
    x = picture("x")
    twice = x + x
    root = twice * twice + x
    order = list(walk(root))
    assert len(order) == len({id(step) for step in order}) == 4
    assert all(order.index(argument) < order.index(step) for step in order for argument in step.arguments)
    assert order[-1] is root


def test_a_long_run_of_steps_is_walked_without_recursion():
    step = picture("x")
    for _ in range(5000):
        step = step + 1.0
    assert sum(1 for _ in walk(step)) == 10001


def test_a_body_that_branches_on_a_value_is_told_to_select():
    with pytest.raises(TypeError, match=r"select\(\)"):
        bool(picture("x"))
