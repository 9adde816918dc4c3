"""Files are asked for as files: what would hang its reader or fill all memory is an error of the system."""

import errno
import os

import pytest

from lamphouse.nodes.regular_file import check_regular, read_regular


def _refusal(read, path, *most):
    with pytest.raises(OSError) as caught:
        read(path, *most)
    assert caught.value.strerror
    return caught.value


@pytest.mark.parametrize("read", [check_regular, read_regular])
def test_a_pipe_without_a_writer_is_refused_and_not_waited_for(tmp_path, read):
    os.mkfifo(tmp_path / "pipe")
    assert _refusal(read, tmp_path / "pipe").strerror == "it is a pipe or a device and no file"


@pytest.mark.parametrize("read", [check_regular, read_regular])
def test_a_device_without_an_end_is_refused_through_a_link_too(tmp_path, read):
    (tmp_path / "reel").symlink_to("/dev/zero")
    assert "device" in _refusal(read, tmp_path / "reel").strerror


@pytest.mark.parametrize("read", [check_regular, read_regular])
def test_a_file_is_no_larger_than_what_is_to_be_read_out_of_it(tmp_path, read):
    path = tmp_path / "sparse"
    with path.open("wb") as file:
        file.truncate(3 << 20)
    assert _refusal(read, path, 2 << 20).strerror == "it is larger than 2 MiB"
    read(path, 3 << 20)


@pytest.mark.parametrize("name", ["zero\0byte", "half a character \ud800"])
def test_a_name_that_no_file_can_have_is_refused(tmp_path, name):
    assert _refusal(read_regular, tmp_path / name).strerror == "no file can have this name"


def test_missing_files_and_folders_are_what_the_system_says(tmp_path):
    assert _refusal(read_regular, tmp_path / "none").errno == errno.ENOENT
    assert _refusal(read_regular, tmp_path).errno == errno.EISDIR


def test_the_bytes_come_back_whole(tmp_path):
    (tmp_path / "a").write_bytes(b"abc\0" * 1000)
    assert read_regular(tmp_path / "a", 4000) == b"abc\0" * 1000
