"""A bag that was changed, or was never meant well. The film and every name are invented."""

import os
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.handover.bag import check
from lamphouse.graph.handover.bag.bagging import make_bag
from lamphouse.graph.handover.bag.check import check_bag, check_bytes
from lamphouse.graph.handover.bag.write import put_master
from lamphouse.nodes.errors import BadInput, CheckFailed

TAGS = (
    "bag-info.txt",
    "bagit.txt",
    "manifest-sha256.txt",
    "manifest-sha512.txt",
    "tagmanifest-sha256.txt",
    "tagmanifest-sha512.txt",
)


def silent(*done):
    """Nobody watches the progress."""


@pytest.fixture
def small(tmp_path):
    """A bag of two small texts."""
    folder = tmp_path / "small"
    (folder / "sub").mkdir(parents=True)
    (folder / "a.txt").write_text("one")
    (folder / "sub" / "b.txt").write_text("two")
    make_bag(folder, {"External-Description": "Invented"})
    return folder


def faults(folder):
    return [fault.sentence for fault in check_bytes(folder, silent)[0].faults]


def test_a_bag_as_it_was_made_is_good(small):
    found = check_bag(small, silent)
    assert found.count == 0
    assert found.said[0] == "Every byte of 8 files is as it was handed over (SHA-256, SHA-512)."


@pytest.mark.parametrize("name", [*TAGS, "data/a.txt", "data/sub/b.txt"])
def test_any_one_byte_that_was_changed_is_caught_and_its_file_named(small, name):
    path = small / name
    whole = path.read_bytes()
    for at in range(0, len(whole), 7 if len(whole) > 100 else 1):
        for bit in (0x01, 0x20):
            path.write_bytes(bytes([*whole[:at], whole[at] ^ bit, *whole[at + 1 :]]))
            assert any(name in fault for fault in faults(small)), (at, bit)


def test_what_is_missing_and_what_is_extra_is_named(small):
    (small / "data" / "a.txt").unlink()
    (small / "data" / "sub" / "c.txt").write_text("three")
    (small / "notes.txt").write_text("mine")
    assert faults(small) == [
        "data/a.txt is missing, which manifest-sha256.txt names.",
        "data/sub/c.txt is in the bag and in none of its manifests.",
        "notes.txt is in the bag and in none of its manifests.",
    ]


@pytest.mark.parametrize("name", TAGS)
def test_a_file_of_the_bag_itself_that_is_gone_is_named(small, name):
    (small / name).unlink()
    if name == "bagit.txt":
        with pytest.raises(BadInput, match=r"is not a bag, for there is no bagit\.txt"):
            check_bag(small, silent)
    else:
        assert any(name in fault for fault in faults(small))


def test_nothing_outside_the_bag_is_opened_whatever_its_manifests_name(small, tmp_path, monkeypatch):
    """Neighbours whose names begin alike, links, devices, absolute and percent-encoded ways out."""
    beside = tmp_path / "small-too"
    beside.mkdir()
    (beside / "secret.txt").write_text("secret")
    manifest = small / "manifest-sha256.txt"
    ways = ("../small-too/secret.txt", "data/../../small-too/secret.txt", "/etc/hostname", "data/./a.txt")
    manifest.write_text(manifest.read_text() + "".join(f"{'0' * 64}  {way}\n" for way in ways))
    (small / "data" / "link.txt").symlink_to(beside / "secret.txt")
    (small / "data" / "folder").symlink_to(beside)
    os.mkfifo(small / "data" / "pipe")
    opened = []
    monkeypatch.setattr(check, "_sums", lambda path: opened.append(path) or {})
    found = faults(small)
    assert all(path.resolve().is_relative_to(small) for path in opened)
    assert sum("is no place in the bag" in fault for fault in found) == len(ways)
    assert sum("is a link or a device" in fault for fault in found) == 3


@pytest.mark.parametrize(
    ("declared", "of_manifest"),
    [
        (b"BagIt-Version: 1.0\nTag-File-Character-Encoding: zlib\n", b""),
        (b"\xff\xfe", b""),
        (b"BagIt-Version: 9\n", b"\xff\xff\n"),
        (b"", b"zz  data/a.txt\n"),
        (b"", b"%s  data/%%0a\x1b[2J%%25\n" % (b"0" * 64)),
    ],
)
def test_what_is_no_text_of_a_bag_is_told_in_sentences(small, declared, of_manifest):
    if declared:
        (small / "bagit.txt").write_bytes(declared)
    if of_manifest:
        (small / "manifest-sha256.txt").write_bytes(of_manifest)
    found = faults(small)
    assert found
    assert all(fault.endswith(".") and "\n" not in fault and "\x1b" not in fault for fault in found)


def test_names_that_the_library_would_not_find_again_are_refused(tmp_path):
    """RFC 8493, 2.1.3: CR, LF and % are to be encoded, which the library does for the first two alone."""
    for number, name in enumerate(("50%0A.txt", "a\nb.txt", "~root.txt", "end ")):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / name).write_text("x")
        with pytest.raises(BadInput, match="is not a name that every reader of a bag finds again"):
            make_bag(folder, {})


def test_a_master_that_is_named_by_a_link_is_put_into_a_bag_as_a_file(tmp_path):
    (tmp_path / "stills").mkdir()
    (tmp_path / "real.mkv").write_text("pictures")
    for name in ("link.mkv", "stills/m.000000.tif"):
        (tmp_path / name).symlink_to(tmp_path / "real.mkv")
    put_master(tmp_path / "link.mkv", tmp_path / "bagged.mkv")
    put_master(tmp_path / "stills", tmp_path / "bagged")
    for path in (tmp_path / "bagged.mkv", tmp_path / "bagged" / "m.000000.tif"):
        assert not path.is_symlink()
        assert path.samefile(tmp_path / "real.mkv")


def test_the_command_says_what_is_wrong_and_ends_with_status_1(small):
    runner = CliRunner()
    assert runner.invoke(_app(), ["handover", "--check", str(small)]).exception is None
    (small / "data" / "a.txt").write_text("One")
    done = runner.invoke(_app(), ["handover", "--check", str(small)])
    assert done.stdout == "data/a.txt is not, byte for byte, the file of the manifests.\n"
    assert isinstance(done.exception, CheckFailed)
    assert "1 fault was found" in str(done.exception)


@pytest.mark.parametrize(
    "typed", [[], ["a.reel", "m.mkv"], ["--check", "x", "-o", "y"], ["a.reel", "m.mkv", "--check", "x"]]
)
def test_a_command_that_says_too_little_or_too_much_is_told_so(typed):
    assert isinstance(CliRunner().invoke(_app(), ["handover", *typed]).exception, BadInput)


@pytest.mark.slow
@pytest.mark.parametrize(
    "wrong",
    [
        ("*.reel",),
        ("*.clf", "*.cube", "*.ccc", "*.otio", "*.record.json", "*-graded.png", "*.xml", "*.framemd5"),
    ],
)
def test_each_file_of_a_real_bag_is_read_and_what_is_no_such_file_told(handed_over, tmp_path, wrong):
    """Files are made wrong before the bag is made, so that only a reader can tell."""
    payload = shutil.copytree(handed_over.bag / "data", tmp_path / "bag")
    names = [next(iter(sorted(payload.rglob(pattern)))) for pattern in wrong]
    for path in names:
        path.write_bytes(b"no such file \xff")
    make_bag(Path(payload), {})
    found = check_bag(payload, silent)
    told = [fault.sentence for fault in found.faults]
    assert [path.name for path in names if not any(path.name in fault for fault in told)] == []
    assert found.said[0].startswith("Every byte of")
