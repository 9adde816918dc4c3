"""A pass into stills that is cut off and gone on with gives the very files of a pass that was not."""

from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master import decoded
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 12
BARS = 2  # they bring a tone, and so a WAV file beside the stills
CUT = 9

KINDS = ("dpx-10", "tiff-16")


@pytest.fixture
def reel_file(tmp_path: Path, film, write_stills) -> Path:
    path = tmp_path / "film.reel"
    save(path, start_reel(path, Start(write_stills(tmp_path / "film", film[:FRAMES]), rate="24")).reel)
    return path


def stills(kind: str) -> Delivery:
    return msgspec.structs.replace(delivery(kind, {}), bars=BARS, sound=Sound(codec="pcm_s16le"))


def the_pass(reel_file: Path, kind: str = "dpx-10") -> Plan:
    return plan(open_reel(reel_file, Catalogue()), stills(kind), 0, FRAMES)


def contents(folder: Path) -> dict[str, bytes]:
    """The bytes of each file, under the name that it would have in any other master."""
    return {path.name.removeprefix(folder.name): path.read_bytes() for path in folder.iterdir()}


def whole(pass_: Plan, name: str) -> dict[str, bytes]:
    """What a pass that nothing disturbed makes, under a name of the same length in another folder."""
    master = pass_.opened.file.parent / "whole" / name
    master.parent.mkdir()
    transfer(pass_, master, lambda *done: None)
    return contents(master)


def cut_off(pass_: Plan, master: Path, at: int = CUT, **more: bool) -> str:
    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == at:
            raise BadInput("Invented trouble.")

    with pytest.raises(BadInput) as error:
        transfer(pass_, master, step, **more)
    return str(error.value)


@pytest.fixture
def corrected(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The frames of the scan that are corrected from here on."""
    frames: list[int] = []
    original = Grade.correct_into
    monkeypatch.setattr(Grade, "correct_into", lambda *given: frames.append(given[1]) or original(*given))
    return frames


@pytest.mark.parametrize("kind", KINDS)
def test_stills_that_are_whole_are_kept_where_they_are(
    reel_file: Path, corrected: list[int], kind: str
) -> None:
    pass_, master = the_pass(reel_file, kind), reel_file.with_name("m")
    said = cut_off(pass_, master)
    assert said.endswith("resume it with --resume, or throw it away and start anew with --discard.")
    first = next(path for path in sorted(UnderWay(master).part.iterdir()) if "000000" in path.name)
    written = first.stat()
    corrected.clear()
    made = transfer(pass_, master, lambda *done: None, resume=True)
    assert corrected == list(range(CUT - BARS, FRAMES))
    assert made.kept == CUT
    after = (master / first.name).stat()
    assert (after.st_ino, after.st_mtime_ns) == (written.st_ino, written.st_mtime_ns)
    assert contents(master) == whole(pass_, "m")
    assert {path.name for path in reel_file.parent.glob("m*")} == {"m", "m.record.json"}


def half(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def other(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-1] + b"\x55")


def linked(path: Path) -> None:
    copy = path.parent.parent / "elsewhere"
    path.replace(copy)
    path.symlink_to(copy)


@pytest.mark.parametrize("harm", [half, other, linked, Path.unlink])
def test_a_still_that_is_not_what_was_written_is_made_anew_with_all_after_it(
    reel_file: Path, corrected: list[int], harm: Callable[[Path], None]
) -> None:
    pass_, master = the_pass(reel_file), reel_file.with_name("m")
    cut_off(pass_, master)
    harm(UnderWay(master).part / "m.000005.dpx")
    corrected.clear()
    transfer(pass_, master, lambda *done: None, resume=True)
    assert corrected == list(range(5 - BARS, FRAMES))
    assert contents(master) == whole(pass_, "m")


def test_a_still_that_the_record_does_not_know_is_made_anew(reel_file: Path, corrected: list[int]) -> None:
    pass_, master = the_pass(reel_file), reel_file.with_name("m")
    cut_off(pass_, master)
    part = UnderWay(master).part
    (part / f"m.{CUT:06}.dpx").write_bytes(b"SDPX, and then the power went")
    (part / "m.000999.dpx").write_bytes(b"none of this master")
    transfer(pass_, master, lambda *done: None, resume=True)
    assert contents(master) == whole(pass_, "m")


def test_stills_are_gone_on_with_again_and_again(reel_file: Path) -> None:
    pass_, master = the_pass(reel_file), reel_file.with_name("m")
    cut_off(pass_, master, 6)
    for at in (1, 3, 8):
        assert "kept in" in cut_off(pass_, master, at, resume=True)
    assert transfer(pass_, master, lambda *done: None, resume=True).kept == 8
    assert contents(master) == whole(pass_, "m")


def test_stills_that_had_been_read_back_are_not_decoded_again(
    reel_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pass_, master = the_pass(reel_file), reel_file.with_name("m")
    cut_off(pass_, master)
    good = UnderWay(master).record.read_bytes().rsplit(b"]\n", 1)[-1]
    read: list[str] = []
    original = decoded.read_still
    monkeypatch.setattr(decoded, "read_still", lambda path: read.append(path.name) or original(path))
    made = transfer(pass_, master, lambda *done: None, resume=True)
    assert made.found is not None
    assert made.found.frames == FRAMES + BARS
    assert len(read) == FRAMES + BARS - int(good or 0)
    assert load_record(master).pictures == tuple(made.meant.pictures)


def test_stills_of_another_pass_are_not_gone_on_with_and_stay(reel_file: Path) -> None:
    pass_, master = the_pass(reel_file), reel_file.with_name("m")
    cut_off(pass_, master)
    before = contents(UnderWay(master).part)
    with pytest.raises(BadInput, match=r"differs in the delivery; .*--discard"):
        transfer(the_pass(reel_file, "tiff-16"), master, lambda *done: None, resume=True)
    assert contents(UnderWay(master).part) == before
    transfer(the_pass(reel_file, "tiff-16"), master, lambda *done: None, discard=True)
    assert contents(master) == whole(the_pass(reel_file, "tiff-16"), "m")
