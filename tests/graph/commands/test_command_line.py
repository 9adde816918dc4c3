"""The command line around the commands: places, answers that nobody takes, notes, and where help is."""

import json
import re
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

import lamphouse
from lamphouse.graph.commands import cli
from lamphouse.graph.commands.cli import main
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.catalogue import NODES
from lamphouse.nodes.errors import Note

LAMPHOUSE = [sys.executable, "-m", "lamphouse"]
REEL = {
    "record": "reel/2",
    "scan": {"path": "gone.mkv", "frames": 60, "width": 32, "height": 24},
    "head_mark": 20,
    "chain": {"nodes": [{"name": "primary", "kind": "primary", "inputs": ["scan"]}], "output": "primary"},
    "cues": [
        {"frame": 0, "name": "start"},
        {"frame": 30, "begins": "transition", "length": 5, "mood": {"glad": True}},
    ],
}


@pytest.fixture
def typed(tmp_path, monkeypatch, capsys):
    """A function that runs one command beside `m.reel`, and returns its status, answer and sentence."""
    (tmp_path / "m.reel").write_text(json.dumps(REEL))
    monkeypatch.chdir(tmp_path)

    def call(*words):
        monkeypatch.setattr(sys, "argv", ["lamphouse", *words])
        with pytest.raises(SystemExit) as end:
            main()
        out = capsys.readouterr()
        return end.value.code or 0, out.out, out.err

    return call


@pytest.mark.parametrize(
    "words",
    [
        ("cue", "m.reel", "-0+12"),
        ("cue", "m.reel", "-0+12", "--name", "head"),
        ("cue", "m.reel", "--name", "head", "-0+12"),
        ("cue", "--set", "primary.gain=1.1", "m.reel", "-0+12"),
        ("mark", "m.reel", "-0+12", "--check"),
        ("mark", "m.reel", "--", "-0+12"),
    ],
)
def test_a_place_before_the_head_mark_is_no_option_wherever_it_stands(typed, words):
    # The head mark is frame 20 of 35 mm film: twelve frames before it is frame 8.
    status, answer, sentence = typed(*words)
    assert (status, sentence) == (0, "")
    assert " -0+12       8  " in answer


def test_an_option_is_given_a_place_or_a_name_that_begins_with_a_minus(typed):
    status, _, sentence = typed("transfer", "m.reel", "-o", "m.mkv", "--from", "-0+12", "--to", "-0+15")
    assert (status, sentence) == (
        2,
        "lamphouse: Nothing lies between frame 8 and frame 5; --to must come after --from.\n",
    )
    assert typed("cue", "m.reel", "3", "--name", "-5")[0] == 0
    assert json.loads(Path("m.reel").read_text())["cues"][1]["name"] == "-5"
    assert "Frame -5 lies outside the reel" in typed("cue", "m.reel", "-5")[2]
    assert "No such option: -5" in typed("cue", "m.reel", "-5.5")[2]


@pytest.mark.parametrize(
    ("words", "page"),
    [
        (("cue", "m.reel"), "lamphouse cue --help"),
        (("cue", "m.reel", "3", "--nam", "x"), "lamphouse cue --help"),
        (("pick", "m.reel", "3", "dust", "--patch", "1,1,4,4"), "lamphouse pick --help"),
        (("bogus",), "lamphouse --help"),
        (("--bogus",), "lamphouse --help"),
    ],
)
def test_who_mistypes_an_option_is_shown_the_help_of_that_command(typed, words, page):
    status, _, sentence = typed(*words)
    assert status == 2
    assert sentence.endswith(f"; see `{page}`.\n")


def test_the_version_is_said(typed):
    assert typed("--version") == (0, f"lamphouse {lamphouse.__version__}\n", "")


def test_cues_as_json_have_every_field_and_none_is_nested(typed):
    rows = json.loads(typed("cues", "m.reel", "--json")[1])
    assert rows[0] == {
        "number": 1,
        "timecode": "09:59:59:04",
        "footage": "-1+04",
        "frame": 0,
        "name": "start",
        "begins": "cut",
        "length": 0,
        "ease": "soft",
        "settings": {},
    }
    assert (rows[1]["ease"], rows[1]["mood"]) == ("soft", {"glad": True})
    assert "other" not in rows[1]


def test_the_default_easing_the_switches_and_what_a_still_holds_are_in_the_help(typed):
    page = " ".join(typed("cue", "--help")[1].split())
    assert f"{Cue(frame=0).ease} if not given" in page
    assert "NODE.on=off" in page
    page = " ".join(typed("frame", "--help")[1].split())
    assert "A .png or .tif of 16 bits, .jpg of 8, .exr of half floats." in page
    assert "light in .exr, else srgb if not given" in page


@pytest.mark.parametrize("node", [node.name for node in NODES])
def test_the_page_of_a_node_says_how_it_is_switched(typed, node):
    assert f"{node}.on=off switches the node off" in typed("nodes", node)[1]


def note_and_more() -> None:
    """Warn as we do, and as libraries do."""
    warnings.warn("The look is a guess.", Note, stacklevel=2)
    warnings.warn("library.frob is going away", FutureWarning, stacklevel=2)
    warnings.warn("overflow encountered in multiply", RuntimeWarning, stacklevel=2)


@pytest.mark.filterwarnings("default")
def test_a_note_is_one_plain_line_and_warnings_of_libraries_are_none(typed, monkeypatch):
    monkeypatch.setattr(cli, "overview", lambda: note_and_more() or "page")
    monkeypatch.setattr(sys, "warnoptions", [])
    assert typed("--help") == (0, "page\n", "Note: The look is a guess.\n")


@pytest.mark.filterwarnings("default")
def test_who_asks_python_for_warnings_gets_them_all(typed, monkeypatch):
    monkeypatch.setattr(cli, "overview", lambda: note_and_more() or "page")
    monkeypatch.setattr(sys, "warnoptions", ["default"])
    with pytest.warns() as said:
        typed("--help")
    assert [w.category for w in said] == [Note, FutureWarning, RuntimeWarning]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
@pytest.mark.parametrize(
    "words", ["--help", "--version", "cue --help", "nodes", "cues m.reel", "cue m.reel 3"]
)
def test_an_answer_that_cannot_be_written_is_told_in_one_sentence(typed, tmp_path, words):
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*LAMPHOUSE, *words.split()],
            check=False,
            cwd=tmp_path,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert done.returncode == 2
    assert re.fullmatch(r"lamphouse: The answer cannot be written \([^)]+\); send .*\.\n", done.stderr)


@pytest.mark.parametrize("words", ["--help", "nodes", "cues m.reel"])
def test_whoever_has_read_enough_of_an_answer_hears_nothing_more(typed, tmp_path, words):
    process = subprocess.Popen(
        [*LAMPHOUSE, *words.split()], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    process.stdout.close()
    assert process.communicate()[1] == b""
    assert process.returncode == 128 + 13  # as a shell has it for SIGPIPE, which is 13


def test_who_wants_no_answer_gets_none(typed, tmp_path):
    command = f'"{sys.executable}" -m lamphouse cues m.reel >&-'
    done = subprocess.run(["sh", "-c", command], check=False, cwd=tmp_path, capture_output=True)
    assert (done.returncode, done.stderr) == (0, b"")
