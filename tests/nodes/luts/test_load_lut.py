"""A LUT by the path of its file: what is read, what is refused, and what is kept."""

import os
from pathlib import Path

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts.load import load_lut

CUBE = "LUT_1D_SIZE 2\n0 0 0\n{0} {0} {0}\n"
FLOATS = 'inBitDepth="32f" outBitDepth="32f"'


def white(path: Path):
    """What the LUT in the file makes of white."""
    return load_lut(str(path))(np.ones((3, 1)))[:, 0].tolist()


def test_the_ending_says_how_a_file_is_read(tmp_path, clf_text):
    cube, clf = tmp_path / "look.CUBE", tmp_path / "look.clf"
    cube.write_text(CUBE.format(0.5))
    clf.write_text(clf_text(f'<Matrix {FLOATS}><Array dim="3 3">0 2 0 1 0 0 0 0 3</Array></Matrix>'))
    assert white(cube) == [0.5] * 3
    assert white(clf) == [2, 1, 3]


def test_a_file_is_read_once_and_again_when_it_has_changed(tmp_path):
    path = tmp_path / "look.cube"
    path.write_text(CUBE.format(0.5))
    first = load_lut(str(path))
    assert load_lut(str(path)) is first
    path.write_text(CUBE.format(0.7))  # as long as before
    os.utime(path, ns=(0, 5))
    assert white(path) == [0.7] * 3


def test_a_title_may_be_in_any_encoding_and_a_file_may_begin_with_a_mark(tmp_path):
    for name, data in {
        "latin.cube": 'TITLE "Tête"\n'.encode("latin-1"),
        "mark.cube": b"\xef\xbb\xbf",
        "dos.cube": b"# DOS\r\n",
    }.items():
        (tmp_path / name).write_bytes(data + CUBE.format(0.5).replace("\n", "\r\n").encode())
        assert white(tmp_path / name) == [0.5] * 3


def refused(path: Path) -> str:
    with pytest.raises(BadInput) as error:
        load_lut(str(path))
    said = str(error.value)
    assert said.startswith(str(path))
    assert said.endswith(".")
    assert "\n" not in said
    return said


def test_what_cannot_be_a_lut_is_refused_in_a_sentence(tmp_path):
    (tmp_path / "look.txt").write_text(CUBE.format(1))
    (tmp_path / "film.cube").write_bytes(b"\x00\x01\x02\xff" * 64)
    (tmp_path / "noise.clf").write_bytes(bytes(range(256)))
    (tmp_path / "empty.cube").touch()
    (tmp_path / "folder.cube").mkdir()
    assert "is not read as a LUT; give a file that ends in .cube or .clf" in refused(tmp_path / "look.txt")
    assert "No such file" in refused(tmp_path / "gone.cube")
    assert "is not text" in refused(tmp_path / "film.cube")
    assert "it is not XML" in refused(tmp_path / "noise.clf")
    assert "is empty" in refused(tmp_path / "empty.cube")
    assert "Is a directory" in refused(tmp_path / "folder.cube")


def test_a_file_of_a_film_s_size_is_refused_without_reading_it(tmp_path):
    path = tmp_path / "film.cube"
    with path.open("wb") as file:
        file.truncate(10**12)  # a hole, which takes no room
    assert "it is larger than 1000 MiB" in refused(path)


def test_a_device_that_never_ends_is_refused(tmp_path):
    path = tmp_path / "endless.cube"
    path.symlink_to("/dev/zero")
    assert "it is a pipe or a device" in refused(path)
