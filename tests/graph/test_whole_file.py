"""Whole files or none: no link is followed, no permission lost, and a kill leaves what was there."""

import os
import secrets
import stat
from pathlib import Path

import pytest

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.errors import BadInput


def write(path: Path, data: bytes) -> None:
    with whole_file(path) as file:
        file.write(data)


def test_working_names_differ_every_time_and_are_never_those_of_something_that_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = []
    for _ in range(2):
        with whole_file(tmp_path / "a.png"):
            names += [path.name for path in tmp_path.iterdir() if path.name != "a.png"]
    assert len(set(names)) == 2
    # Were a name known beforehand, a link under it would still not be followed.
    treasure = tmp_path / "treasure"
    treasure.write_bytes(b"precious")
    monkeypatch.setattr(secrets, "token_hex", lambda size: "0" * 2 * size)
    (tmp_path / ".a.png.0000000000000000.new").symlink_to(treasure)
    with pytest.raises(BadInput, match=r"a\.png cannot be written \(File exists\)"):
        write(tmp_path / "a.png", b"new")
    assert treasure.read_bytes() == b"precious"


def test_names_that_earlier_versions_worked_under_are_not_followed(tmp_path: Path) -> None:
    treasure = tmp_path / "treasure"
    treasure.write_bytes(b"precious")
    for name in (".part-a.png", "a.png.part", "a.png.new", "a.png.previous.new"):
        (tmp_path / name).symlink_to(treasure)
    write(tmp_path / "a.png", b"new")
    assert treasure.read_bytes() == b"precious"
    assert (tmp_path / "a.png").read_bytes() == b"new"


def test_a_link_under_the_name_itself_is_replaced_and_not_followed(tmp_path: Path) -> None:
    treasure, link = tmp_path / "treasure", tmp_path / "a.png"
    treasure.write_bytes(b"precious")
    link.symlink_to(treasure)
    write(link, b"new")
    assert treasure.read_bytes() == b"precious"
    assert (link.read_bytes(), link.is_symlink()) == (b"new", False)


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions")
def test_permissions_are_those_of_the_file_that_was_there_or_what_the_umask_leaves(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    before = os.umask(0o027)
    try:
        write(path, b"one")
        assert stat.S_IMODE(path.stat().st_mode) == 0o640
        path.chmod(0o604)
        write(path, b"two")
        assert stat.S_IMODE(path.stat().st_mode) == 0o604
    finally:
        os.umask(before)


def test_a_body_that_fails_leaves_what_was_there_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    write(path, b"one")

    def fail() -> None:
        with whole_file(path) as file:
            file.write(b"half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    assert path.read_bytes() == b"one"
    assert [file.name for file in tmp_path.iterdir()] == ["a.png"]


def test_a_read_only_file_is_refused_before_anything_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.png"
    write(path, b"one")
    # The superuser, as whom tests may run, may write everything: ask as anyone else would.
    monkeypatch.setattr(os, "access", lambda path, mode: not mode & os.W_OK)
    with pytest.raises(BadInput, match="the file is read-only"), whole_file(path):
        pytest.fail("there is no use in making it")
    assert path.read_bytes() == b"one"
