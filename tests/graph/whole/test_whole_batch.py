"""Several reels in one command: what goes wrong in one does not stop the rest, and it can be begun again."""

import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from lamphouse.graph.commands.cli import main
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.store import save
from lamphouse.graph.transfer import transfer as passes
from lamphouse.graph.transfer.batch import Outcome, check_batch, listed_reels, run_batch
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

NAMES = ("first", "second", "third")


@pytest.fixture
def reels(tmp_path: Path, film, write_stills) -> list[Path]:
    paths = [tmp_path / f"{name}.reel" for name in NAMES]
    scan = write_stills(tmp_path / "film", film[:6])
    for path in paths:
        save(path, start_reel(path, Start(scan, rate="24")).reel)
    (tmp_path / "out").mkdir()
    return paths


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):
    """A function that runs the command with what is typed and returns its status and what it says."""

    def run(*typed: object) -> tuple[object, str, str]:
        monkeypatch.setattr(sys, "argv", ["lamphouse", *map(str, typed)])
        with pytest.raises(SystemExit) as end:
            main()
        return end.value.code, *capsys.readouterr()

    return run


def ends(reels: list[Path], run: Callable[[Path], Outcome]) -> list[tuple[str, str]]:
    return [(Path(outcome.reel).stem, outcome.end) for outcome in run_batch(reels, run)]


@pytest.mark.parametrize("error", [BadInput("Bad."), CheckFailed("Found fault."), ZeroDivisionError("ours")])
def test_what_goes_wrong_in_one_reel_does_not_stop_the_rest(
    capsys: pytest.CaptureFixture[str], error: Exception
) -> None:
    def run(reel: Path) -> Outcome:
        if reel.stem == "second":
            raise error
        return Outcome(str(reel), "made", "Made.")

    assert ends([Path(name) for name in NAMES], run) == [
        ("first", "made"),
        ("second", "failed"),
        ("third", "made"),
    ]
    assert ("Traceback" in capsys.readouterr().err) == isinstance(error, ZeroDivisionError)


@pytest.mark.parametrize("stop", [Stopped("Stopped after 3 of 6 frames."), KeyboardInterrupt()])
def test_after_an_interrupt_the_rest_is_not_begun(stop: BaseException) -> None:
    def run(reel: Path) -> Outcome:
        raise stop

    assert ends([Path(name) for name in NAMES], run) == [
        ("first", "stopped"),
        ("second", "not begun"),
        ("third", "not begun"),
    ]


def test_a_list_names_a_reel_a_line_from_its_own_folder(tmp_path: Path) -> None:
    file = tmp_path / "tonight.txt"
    file.write_text("\ufeff# two of them\nfirst.reel\n\n  deep er/second.reel \n", encoding="utf-8")
    assert listed_reels(file) == [tmp_path / "first.reel", tmp_path / "deep er" / "second.reel"]


@pytest.mark.parametrize("text", [b"", b"# none\n", b"\xff\xfe\x00"])
def test_a_list_that_names_no_reel_is_refused(tmp_path: Path, text: bytes) -> None:
    file = tmp_path / "tonight.txt"
    file.write_bytes(text)
    with pytest.raises(BadInput, match=r"^\S+tonight.txt "):
        listed_reels(file)


def test_two_reels_that_would_make_one_master_are_refused_before_anything_is_begun(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"a/one.reel and b/One.reel would make a master of one name"):
        check_batch([Path("a/one.reel"), Path("b/One.reel")], tmp_path)
    with pytest.raises(BadInput, match="is not a folder"):
        check_batch([Path("a/one.reel")], tmp_path / "nowhere")


def test_a_batch_tells_a_line_a_reel_and_goes_on_when_it_is_given_again(command, reels: list[Path]) -> None:
    out = reels[0].parent / "out"
    second = reels[1].read_bytes()
    reels[1].write_text("no reel")
    words = ("transfer", *reels, "-o", out, "--delivery", "scan-ffv1", "--json")
    status, told, error = command(*words)
    assert status == 1
    assert [row["end"] for row in json.loads(told)] == ["made", "failed", "made"]
    assert error.endswith(
        "lamphouse: 2 of 3 masters are finished; put right what is said of the others and "
        "give the same command again.\n"
    )
    assert {path.name for path in out.iterdir() if path.suffix != ".json"} == {"first.mkv", "third.mkv"}
    reels[1].write_bytes(second)
    status, told, _ = command(*words[:-1])
    assert status == 0
    lines = [line for line in told.splitlines() if ".reel: " in line]
    assert lines[0].endswith("first.mkv was finished before, made of the same.")
    assert lines[1].endswith("second.mkv is made, 6 frames.")
    assert lines[2].endswith("third.mkv was finished before, made of the same.")


def test_a_master_that_was_made_of_something_else_is_told_and_left(command, reels: list[Path]) -> None:
    out = reels[0].parent / "out"
    file = out / "list.txt"
    file.write_text(f"{reels[0]}\n")
    words = ("transfer", "--list", file, "-o", out, "--delivery", "dpx-10")
    assert command(*words)[0] == 0
    before = (out / "first" / "first.000000.dpx").read_bytes()
    command("cue", reels[0], "3", "--set", "primary.gain=1.5")
    status, told, _ = command(*words)
    assert status == 1
    assert "first exists already and was made with a difference in the reel; insert" in told
    assert (out / "first" / "first.000000.dpx").read_bytes() == before


@pytest.mark.parametrize(
    ("kind", "name", "kept"), [("scan-ffv1", "first.mkv", 4), ("viewing-h264", "first.mp4", 0)]
)
def test_what_a_pass_has_left_is_gone_on_with_where_it_can_be(
    command, reels: list[Path], monkeypatch: pytest.MonkeyPatch, kind: str, name: str, kept: int
) -> None:
    out = reels[0].parent / "out"
    words = ("transfer", *reels[:2], "-o", out, "--delivery", kind, "--json")
    original = passes.Master.write_filled

    def fails(master, filled) -> None:
        if master.path.name == name and master.frames == 4:
            raise BadInput("Invented trouble.")
        original(master, filled)

    with monkeypatch.context() as patched:
        patched.setattr(passes.Master, "write_filled", fails)
        assert [row["end"] for row in json.loads(command(*words)[1])] == ["failed", "made"]
    assert UnderWay(out / name).left
    rows = json.loads(command(*words)[1])
    assert [(row["end"], row["kept"]) for row in rows] == [("made", kept), ("finished before", 0)]
