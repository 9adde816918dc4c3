"""Names that others gave, where they leave: terminal, .cube, CDL, page. The names are invented.

Control sequences: ECMA-48 (from memory); marks of direction: Unicode Standard Annex 9.
"""

import json
import sys

import msgspec
import pytest

from lamphouse.graph.commands.cli import main
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.errors import BadInput, CheckFailed
from lamphouse.nodes.one_line import one_line, plain_lines

NAME = 'sea\nTITLE \x1b]0;owned\x07\x9b31m\u202egnp.\u2028<script>alert(1)</script>\udc80"'
SHOWN = r"sea\x0aTITLE \x1b]0;owned\x07\x9b31m\u202egnp.\u2028<script>alert(1)</script>\udc80" + '"'


@pytest.fixture
def named(reel_with, no_plugins):
    """A reel whose cue, mark and settings bear the name."""
    path = reel_with("exposure")
    document = json.loads(path.read_text())
    document["cues"][0] |= {"name": NAME}
    document["marks"] = [{"frame": 0, "name": NAME, "kind": "soft"}]
    path.write_text(json.dumps(document))
    return path


@pytest.fixture
def run(monkeypatch, capfd):
    """A function that runs the command and returns its status and what it wrote on both streams."""

    def command(*typed):
        monkeypatch.setattr(sys, "argv", ["lamphouse", *map(str, typed)])
        with pytest.raises(SystemExit) as ended:
            main()
        return ended.value.code, *capfd.readouterr()

    return command


def test_every_character_that_does_more_than_stand_there_is_shown_by_its_number():
    assert one_line(NAME) == SHOWN
    assert plain_lines("a\tb\nc\x1bd") == "a\tb\nc\\x1bd"
    assert one_line("Grün — 東京 ½") == "Grün — 東京 ½"


@pytest.mark.parametrize("kind", [BadInput, CheckFailed])
def test_what_is_told_is_one_line_of_bearable_length_whatever_it_quotes(kind):
    assert str(kind(f"{NAME} is wrong")) == f"{SHOWN} is wrong"
    long = str(kind(f"begins {'x' * 10**6} ends"))
    assert len(long) < 2100
    assert long.startswith("begins")
    assert long.endswith("ends")


@pytest.mark.parametrize("command", ["cues", "marks"])
def test_a_terminal_gets_one_line_a_name(named, run, command):
    status, out, _ = run(command, named)
    assert status == 0
    assert SHOWN in out
    assert "\x1b" not in out
    assert len(out.splitlines()) == {"cues": 1, "marks": 2}[command]


def test_a_name_in_a_sentence_leaves_it_one(named, run):
    status, _, said = run("cue", named, f"{NAME}", "--remove")
    assert status == 2
    assert said.count("\n") == 1
    assert "\x1b" not in said


def test_a_cube_s_title_is_one_line(named, run, tmp_path):
    status, _, said = run("lut", named, "--cue", "0", "-o", tmp_path / "a.cube")
    assert status == 0, said
    first, second = (tmp_path / "a.cube").read_text().splitlines()[:2]
    assert first.startswith('TITLE "film sea\\x0aTITLE')
    assert second.startswith("#")


def test_a_cdl_with_such_a_name_is_read_again(named, run, tmp_path):
    from lamphouse.graph.handover.cdl_file import read_cdl, write_cdl
    from lamphouse.nodes.cdl import Cdl

    write_cdl(tmp_path / "a.cdl", Cdl(), NAME, [NAME], NAME)
    assert read_cdl(tmp_path / "a.cdl") == Cdl()


def test_the_report_s_page_shows_the_name_and_runs_nothing(named, tmp_path):
    master = tmp_path / "m"
    transfer(plan(open_reel(named), delivery("tiff-16", {}), 0, 1), master, lambda *done: None)
    record = load_record(master)
    record = msgspec.structs.replace(record, read_back=NAME, facts={NAME: NAME}, files={NAME: "0" * 64})
    page = write_report(tmp_path / "report", master, record)
    text = page.read_text(encoding="utf-8")
    assert text.count("<script") == 1  # our own, which the policy of the page names by its hash
    assert "'sha256-" in text.partition("script-src ")[2][:20]
    assert "&lt;script&gt;" in text
    assert "\x1b" not in text
    assert "default-src 'none'" in text.split("<title>", maxsplit=1)[0]


def test_a_place_that_cannot_be_looked_at_is_a_sentence(run, tmp_path):
    status, _, said = run("new", tmp_path / ("n" * 300), "--scan", tmp_path)
    assert status == 2
    assert "File name too long" in said
    assert said.count("\n") == 1
