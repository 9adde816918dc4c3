"""Folders that are whole or not there."""

import pytest

from lamphouse.graph.files.locks import locked
from lamphouse.graph.files.whole_folder import whole_folder
from lamphouse.nodes.errors import BadInput


def test_a_folder_has_its_name_once_it_is_whole_and_nothing_else_stays(tmp_path):
    with whole_folder(tmp_path / "a") as working:
        (working / "sub").mkdir()
        (working / "sub" / "x").write_text("1")
        assert not (tmp_path / "a").exists()
    assert (tmp_path / "a" / "sub" / "x").read_text() == "1"
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


@pytest.mark.parametrize("end", [KeyboardInterrupt(), OSError(28, "No space left"), BadInput("No.")])
def test_what_ends_early_leaves_nothing(tmp_path, end):
    def make():
        with whole_folder(tmp_path / "a") as working:
            (working / "x").write_text("1")
            raise end

    with pytest.raises((KeyboardInterrupt, BadInput)):
        make()
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_process_left_is_swept_by_the_next(tmp_path):
    left = tmp_path / ".a.0123456789abcdef.new"
    left.mkdir()
    (left / "x").write_text("1")
    with whole_folder(tmp_path / "a"):
        assert not left.exists()


def test_nothing_is_written_over_nor_made_by_two_at_once(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    for name in ("a", "link"):
        with pytest.raises(BadInput, match="never written over"), whole_folder(tmp_path / name):
            pass
    with (
        locked(tmp_path / "b", 0),
        pytest.raises(BadInput, match="in use by"),
        whole_folder(tmp_path / "b"),
    ):
        pass
    with pytest.raises(BadInput, match="There is no folder"), whole_folder(tmp_path / "no" / "c"):
        pass
