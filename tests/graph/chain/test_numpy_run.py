"""The NumPy back end: whatever the threads and the size, the same bytes."""

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import TILE, NumpyRun
from lamphouse.graph.chain.rewrite import bind
from lamphouse.nodes.maths import curve, matrix, mix, offset, power, scale
from lamphouse.nodes.trace import call, constant, picture

RNG = np.random.default_rng(51)


def _program():
    """Every kind of step: broadcasting, a table, and a value that is used twice."""
    x = power(offset(scale(picture("scan"), RNG.uniform(0.5, 2, (3, 1))), 0.1), 1 / 2.4)
    drawn = curve(x, np.sort(RNG.uniform(0, 1, (3, 65)), axis=1), np.ones((3, 2)))
    return bind(mix(matrix(drawn, RNG.uniform(-1, 1, (3, 3))), power(x, 3.0), 0.3), {})


@pytest.mark.parametrize(
    "shape", [(3, 1, 1), (3, 1, TILE), (3, 1, TILE + 1), (3, 211, 317), (3, 3, TILE - 1)]
)
def test_the_bytes_do_not_depend_on_the_number_of_threads(shape):
    program, codes = _program(), RNG.uniform(-0.2, 1.2, shape).astype(np.float32)
    results = []
    for threads in (1, 2, 3):
        with NumpyRun(threads) as run:
            results.append(run.run(program, {"scan": codes}))
    assert all(r.shape == shape and r.dtype == np.float32 for r in results)
    assert results[0].tobytes() == results[1].tobytes() == results[2].tobytes()


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_tiles_join_to_what_the_whole_picture_gives(kind, evaluate):
    program, codes = _program(), RNG.uniform(-0.2, 1.2, (3, 2, TILE + 77)).astype(kind)
    with NumpyRun(2) as run:
        result = run.run(program, {"scan": codes})
    expected = evaluate(program, {}, {"scan": codes.reshape(3, -1)}, kind).reshape(codes.shape)
    np.testing.assert_allclose(result, expected, rtol=20 * np.finfo(kind).eps, atol=20 * np.finfo(kind).eps)


def test_the_picture_that_came_in_is_left_as_it_was():
    codes = RNG.uniform(0, 1, (3, 40, 50)).astype(np.float32)
    before = codes.copy()
    with NumpyRun(2) as run:
        run.run(_program(), {"scan": codes})
        passed = run.run(picture("scan"), {"scan": codes})
    np.testing.assert_array_equal(codes, before)
    np.testing.assert_array_equal(passed, before)
    assert not np.shares_memory(passed, codes)


def test_a_program_may_read_several_pictures_and_may_be_one_flat_colour():
    first, second = (RNG.uniform(0, 1, (3, 5, 7)) for _ in range(2))
    with NumpyRun(1) as run:
        mean = run.run(mix(picture("a"), picture("b"), 0.5), {"a": first, "b": second})
        flat = run.run(constant(np.array([[0.1], [0.2], [0.3]])), {"a": first})
    np.testing.assert_allclose(mean, (first + second) / 2, rtol=1e-12)
    np.testing.assert_array_equal(flat, np.broadcast_to(np.array([0.1, 0.2, 0.3])[:, None, None], (3, 5, 7)))


def test_an_error_in_a_tile_reaches_the_caller():
    def fails(pixels):
        raise ValueError("in a tile")

    with NumpyRun(2) as run, pytest.raises(ValueError, match="in a tile"):
        run.run(call(fails, "n", picture("scan"), whole=False), {"scan": np.ones((3, 4, 4))})
