"""The `.cube` file against its published form, and against ffmpeg's `lut3d`."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.handover.cube import bake, write_cube
from lamphouse.nodes.errors import BadInput

Lut3d = Callable[[np.ndarray, Path], np.ndarray]

# The 3D example of the Cube LUT Specification 1.0 (2013), second-hand: G is 0.75 g + 0.25 b.
EXAMPLE = """\
0 0 0
1 0 0
0 0.75 0
1 0.75 0
0 0.25 1
1 0.25 1
0 1 1
1 1 1
""".splitlines()


def example_chain(colours: np.ndarray) -> np.ndarray:
    red, green, blue = colours
    return np.stack([red, 0.75 * green + 0.25 * blue, blue])


def bending_chain(colours: np.ndarray) -> np.ndarray:
    mixed = np.array([[0.8, 0.15, 0.05], [0.1, 0.85, 0.05], [0.0, 0.2, 0.8]], np.float32) @ colours
    return np.sign(mixed) * np.abs(mixed) ** np.float32(0.8)


def rows_of(path: Path) -> list[str]:
    return [line for line in path.read_text().splitlines() if line[0].isdigit() or line[0] == "-"]


def test_the_specifications_example_comes_out_line_by_line(tmp_path: Path) -> None:
    path = tmp_path / "example.cube"
    write_cube(path, bake(example_chain, 2), "example")
    assert rows_of(path) == EXAMPLE
    assert "LUT_3D_SIZE 2" in path.read_text().splitlines()


def test_a_straight_chain_costs_nothing_and_a_bent_one_less_with_more_points() -> None:
    assert bake(example_chain, 17).largest < 1e-6
    coarse, fine = bake(bending_chain, 17), bake(bending_chain, 33)
    assert 0 < fine.largest < coarse.largest
    assert fine.mean < fine.largest


def test_ffmpegs_lut3d_stays_within_the_error_that_is_stated(tmp_path: Path, lut3d: Lut3d) -> None:
    cube = bake(bending_chain, 33)
    write_cube(tmp_path / "bent.cube", cube, "bent")
    codes = np.random.default_rng(4).integers(0, 65536, (3, 32, 48), np.uint16)
    found = lut3d(codes, tmp_path / "bent.cube") / 65535
    meant = bending_chain((codes / np.float32(65535)).reshape(3, -1)).reshape(codes.shape)
    difference = np.abs(found - meant)
    half_a_code = 0.5 / 65535
    assert difference.max() <= cube.largest + half_a_code + 1e-6


def test_a_folder_that_is_not_there_is_one_sentence_and_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "absent" / "grade.cube"
    with pytest.raises(BadInput, match=r"grade\.cube cannot be written"):
        write_cube(path, bake(example_chain, 2), "x")
    assert list(tmp_path.iterdir()) == []
