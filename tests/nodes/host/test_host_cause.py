"""What somebody else's code raised, in one clause with the line that its author must look at."""

from pathlib import Path

import numpy as np
import pytest

from lamphouse.nodes.contract import Node, Reach, Signal
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.host.cause import cause
from lamphouse.nodes.host.guard import guarded


def _line(function, offset=1):
    return f"{__file__} line {function.__code__.co_firstlineno + offset}"


def _raised(function, *given):
    with pytest.raises(Exception) as caught:  # whatever it is
        function(*given)
    return caught.value


def _divided(*_):
    return 1 / 0


def _inverted(*_):
    return np.linalg.inv(np.zeros((2, 2)))


@pytest.mark.parametrize(
    ("error", "clause"),
    [
        (ValueError("It went\n  wrong. "), "ValueError: It went wrong"),
        (ValueError("no place for X."), "ValueError: no place for X"),
        (ValueError(), "ValueError"),
        (BadInput("Give another."), "Give another"),
        (SyntaxError("bad word", ("a.py", 3, 1, "x")), "SyntaxError: bad word, a.py line 3"),
    ],
)
def test_an_error_is_its_type_and_its_message_without_the_full_stop(error, clause):
    assert cause(error) == clause


def test_the_line_is_the_last_in_the_source_that_is_named_and_else_the_last_that_is_not_ours():
    error = _raised(_inverted)
    assert cause(error, Path(__file__)) == f"LinAlgError: Singular matrix, {_line(_inverted)}"
    assert "numpy" in cause(error)


def test_a_sentence_for_a_user_is_told_as_what_its_author_raised():
    assert cause(_raised(guarded(_node(body=_divided)).body)).startswith(
        "ZeroDivisionError: division by zero"
    )


def _node(**changes):
    return Node("it", "Invented.", Signal.VIDEO, Reach.POINT, (), **changes)


@pytest.mark.parametrize("part", ["body", "derive"])
def test_what_the_maths_of_a_node_raises_names_the_node_and_the_line(part):
    node = guarded(_node(**{"body": _inverted, "derive": _inverted, part: _divided}))
    says = f"The node it failed (ZeroDivisionError: division by zero, {_line(_divided)}); switch it off"
    assert str(_raised(getattr(node, part))).startswith(says)


def test_bad_input_of_a_node_stays_what_it_is_and_an_array_function_is_left_alone():
    refusal = BadInput("Give another.")

    def refuse(*_):
        raise refusal

    assert _raised(guarded(_node(body=refuse)).body) is refusal
    assert guarded(_node(body=_divided, is_array=True)).body is _divided
    assert guarded(_node(body=_divided)).derive is None
