"""All that the README and the pages of `lamphouse help` tell a person to type can be typed, in its order."""

import os
import re
import shlex
import subprocess
import sys
import warnings
from pathlib import Path

import pytest
import typer

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.commands.topics import FOLDER, TOPICS, page
from lamphouse.viewer.main import main

README = Path(__file__).parent.parent / "README.md"
SMALL = {
    "lamphouse demo demo": "--width 96",
    "lamphouse transfer first.reel -o first-25i": "--to 8",
    "lamphouse transfer first.reel -o first-repeat": "--to 40",
    "lamphouse desk": "--picture desk.png --size 800x600",  # a window would stay open
}


def blocks(text: str) -> list[str]:
    """Every command of the blocks marked `sh`, with its continued lines joined."""
    lines = "\n".join(fenced(text, "sh"))
    return [line for line in lines.replace("\\\n", " ").splitlines() if line]


def inline(text: str) -> list[str]:
    """Every whole command within a sentence: words in capitals and dots stand for something else."""
    return [c for c in re.findall(r"`(lamphouse [^`]+)`", text) if not re.search(r"[A-Z]{2}|\.\.\.", c)]


def fenced(text: str, language: str) -> list[str]:
    """The blocks marked `language`."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def small(command: str) -> str:
    """Return `command` as it is run here: without making an environment, with little film and no window."""
    command = command.rpartition(" && ")[2].replace(".venv/bin/", "")
    more = next((words for begin, words in SMALL.items() if command.startswith(begin)), "")
    return f"{command} {more}".strip()


def test_commands_are_found_in_blocks_and_in_sentences():
    block = "```sh\nlamphouse cue a.reel 1 \\\n  --name b\n\n```\n"
    text = f"Say `lamphouse nodes` or `lamphouse frame REEL`.\n{block}"
    assert [command.split() for command in blocks(text)] == [
        ["lamphouse", "cue", "a.reel", "1", "--name", "b"]
    ]
    assert inline(text) == ["lamphouse nodes"]
    install = "python3 -m venv .venv && .venv/bin/lamphouse demo demo"
    assert small(install) == "lamphouse demo demo --width 96"


def test_every_command_within_a_sentence_has_what_it_takes():
    commands = typer.main.get_command(_app()).commands
    text = "\n".join([README.read_text(), *map(page, TOPICS)])
    for name, *words in (shlex.split(command)[1:] for command in inline(text)):
        if name in commands:
            commands[name].make_context(name, words)


@pytest.fixture
def shell(tmp_path, monkeypatch, capfd):
    """A function that does what is typed, and returns the exit status and all that was said.

    The first of each command is a program of a shell; those after it run here, for a start takes longest.
    """
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    begun = set()

    def do(command):
        program = command.split()[:2]
        if program[0] == "lamphouse" and program[1] in begun and not set("|<>&;$*?~`").intersection(command):
            return run_here(shlex.split(command), monkeypatch, capfd)
        begun.add(program[1])
        done = subprocess.run(command, shell=True, check=False, capture_output=True, text=True)
        return done.returncode, done.stdout + done.stderr

    return do


def run_here(words, monkeypatch, capfd):
    """Run a command in this process, its notes said as they are outside of tests."""
    monkeypatch.setattr(sys, "argv", words)
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        with pytest.raises(SystemExit) as end:
            main()
    return end.value.code or 0, "".join(capfd.readouterr())


@pytest.mark.slow
def test_every_command_in_the_readme_and_on_the_pages_runs(tmp_path, shell):
    text = "\n".join([README.read_text(), *map(page, TOPICS)])
    commands = [small(c) for c in blocks(text) if c != "sh tests/run"]
    assert commands[0] == small("lamphouse demo demo")
    assert len(commands) > 20
    (sheet,), (program,) = fenced(README.read_text(), "csv"), fenced(README.read_text(), "python")
    (tmp_path / "grades.csv").write_text(sheet)
    (tmp_path / "ten_lines.py").write_text(program)
    for command in dict.fromkeys([*commands, *inline(text), "python ten_lines.py"]):
        status, said = shell(command)
        assert status == 0, f"{command}\n{said}"
    masters = [
        tmp_path / name
        for name in ("first-master.mkv", "negative", "door.clf", "door-after.png", "sheet-master.mkv")
    ]
    assert all(master.exists() for master in masters)


def test_the_readme_lists_every_page_that_there_is():
    listed = re.findall(
        r"^\| `(\w+)` \| (.*) \|$", README.read_text().partition("| topic | on |")[2], re.MULTILINE
    )
    assert {name: f"{words}.".casefold() for name, words in listed[: len(TOPICS)]} == {
        name: sentence.casefold() for name, sentence in TOPICS.items()
    }
    assert {path.stem for path in FOLDER.glob("*.md")} == set(TOPICS)


def test_what_the_readme_and_the_pages_refer_to_is_there():
    text = "\n".join([README.read_text(), *map(page, TOPICS)])
    assert set(re.findall(r"`lamphouse help (\w+)`", text)) - {"TOPIC"} <= set(TOPICS)
    named = re.findall(r"\]\(([^)#:]+)\)|`((?:presets|tests|graph|viewer|nodes)/[^` ]*)`", text)
    assert all((README.parent / (link or path)).exists() for link, path in named)
