"""What the commands show, and that what they set is there afterwards."""

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from lamphouse.graph import progress
from lamphouse.graph.commands.overview import COMMANDS
from lamphouse.viewer.main import main

Typed = Callable[..., str]


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    """A function that runs one command in the folder of a new reel `m.reel` and returns what it prints."""
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> str:
        monkeypatch.setattr(sys, "argv", ["lamphouse", *words])
        with pytest.raises(SystemExit) as end:
            main()
        out = capsys.readouterr()
        assert end.value.code in (None, 0), out.err
        return out.out

    with av.open("m.mkv", "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuv422p10le"
        for n in range(12):
            grey = av.VideoFrame.from_ndarray(np.full((24, 32, 3), n * 9, np.uint8), "rgb24")
            picture = grey.reformat(format="yuv422p10le")
            picture.pts = n
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))
    assert call("new", "m.reel", "--scan", "m.mkv").endswith("m.reel: 12 frames of 32x24 at 24 fps.\n")
    return call


def test_help_names_every_command(typed: Typed) -> None:
    shown = typed("--help")
    assert shown == typed()
    assert max(map(len, shown.splitlines())) <= 80
    for command, sentence in COMMANDS.items():
        assert re.search(rf"^ +{command} +{re.escape(sentence)}$", shown, re.MULTILINE), command
    in_full = typed("--plugins", ".", "--help")  # asked for in more words, the library answers
    assert re.findall(r"^  (\w+)", in_full.partition("Commands:")[2], re.MULTILINE) == list(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_commands_own_help_begins_with_the_same_sentence(typed: Typed, command: str) -> None:
    page = " ".join(typed(command, "--help").split())
    assert COMMANDS[command] in page
    assert "[[" not in page  # what may be left out has its brackets from the library


def test_nodes_are_shown_as_a_list_as_a_page_and_as_json(typed: Typed) -> None:
    described = json.loads(typed("nodes", "--json"))["nodes"]
    lines, _, framing = typed("nodes").partition("\n\n")
    assert [line.split()[0] for line in lines.splitlines()] == [node["name"] for node in described]
    assert framing.startswith("framing ")
    page = typed("nodes", "primary")
    assert "primary.gain" in page
    assert "0.1 to 8" in page
    assert page.count("Source: ") >= 3


def test_cues_are_shown_set_switched_and_removed(typed: Typed) -> None:
    typed("cue", "m.reel", "4", "--name", "sea", "--set", "primary.gain_balance=1.2,1,0.9")
    typed("cue", "m.reel", "9", "--length", "3", "--ease", "0,0 0.3,0.6 1,1", "--set", "primary.on=off")
    typed("cue", "m.reel", "9", "--set", "primary.gain.on=off")
    lines = typed("cues", "m.reel").splitlines()
    assert len(lines) == 3
    assert lines[1].startswith("   2  10:00:00:04     0+04       4  sea")
    assert "primary.on" in lines[2]
    rows = json.loads(typed("cues", "m.reel", "--json"))
    assert [row["frame"] for row in rows] == [0, 4, 9]
    assert rows[1]["settings"]["primary.gain_balance"] == [1.2, 1, 0.9]
    assert rows[2]["ease"] == [[0, 0], [0.3, 0.6], [1, 1]]
    assert (rows[2]["begins"], rows[2]["length"]) == ("transition", 3)
    off = {"primary.on": "off", "primary.gain.on": "off"}
    assert off.items() <= rows[2]["settings"].items()
    assert "frame 4" in typed("cue", "m.reel", "4", "--remove")
    assert [row["frame"] for row in json.loads(typed("cues", "m.reel", "--json"))] == [0, 9]


def test_fields_of_a_later_version_survive_a_cue(typed: Typed) -> None:
    document = json.loads(Path("m.reel").read_text())
    document["weather"] = {"rain": [1, 2]}
    document["cues"][0]["mood"] = "glad"
    Path("m.reel").write_text(json.dumps(document))
    typed("cue", "m.reel", "0", "--set", "primary.gain=1.1")
    after = json.loads(Path("m.reel").read_text())
    assert after["weather"] == {"rain": [1, 2]}
    assert after["cues"][0]["mood"] == "glad"


def test_progress_is_plain_lines_where_there_is_no_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = iter([0.0, 1.0, 20.0, 20.0])
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(now, 40.0))
    with progress.progress("Transfer") as step:
        step(1, 80)  # too soon for a line
        step(40, 80)
        step(80, 80)
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert re.fullmatch(r"Transfer: 40 of 80 frames, [0-9.]+ fps, 0:00:[0-9]{2} left", lines[0])
    assert re.fullmatch(r"Transfer: 80 of 80 frames, [0-9.]+ fps, 0:00:00 left", lines[1])
