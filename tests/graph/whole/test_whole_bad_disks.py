"""Disks that fill, refuse or lose what is on them: one sentence, nothing broken, and a pass that goes on."""

import os
import subprocess
from contextlib import suppress
from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.records import Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 48
KINDS = [("scan-ffv1", "m.mkv"), ("dpx-10", "m"), ("tiff-16", "m")]


@pytest.fixture
def reel_file(tmp_path: Path, film, write_stills) -> Path:
    path = tmp_path / "film.reel"
    save(path, start_reel(path, Start(write_stills(tmp_path / "film", film[:FRAMES]), rate="24")).reel)
    return path


def the_pass(reel_file: Path, kind: str) -> Plan:
    made = msgspec.structs.replace(delivery(kind, {}), sound=Sound(), bars=1)
    return plan(open_reel(reel_file, Catalogue()), made, 0, FRAMES)


def fill(path: Path) -> None:
    with suppress(OSError), path.open("wb", buffering=0) as file:
        while file.write(bytes(4096)):
            pass


def refused(pass_: Plan, master: Path, **more: bool) -> str:
    with pytest.raises(BadInput) as error:
        transfer(pass_, master, lambda *done: None, **more)
    said = str(error.value)
    assert said.endswith(".")
    assert "\n" not in said
    assert not os.path.lexists(master)
    return said


def goes_on(pass_: Plan, master: Path) -> int:
    """Go on with a pass, see that the master is that of a pass in one go, and return the frames kept."""
    made = transfer(pass_, master, lambda *done: None, resume=True)
    other = transfer(pass_, master.parent / "whole" / master.name, lambda *done: None)
    assert made.meant.pictures == other.meant.pictures
    assert contents(made.path) == contents(other.path)
    return made.kept


def contents(master: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (master.iterdir() if master.is_dir() else [master])}


@pytest.mark.parametrize(("kind", "name"), KINDS)
@pytest.mark.slow
def test_a_full_disk_is_told_in_a_sentence_and_the_pass_goes_on_when_there_is_room(
    reel_file: Path, small_disk: Path, kind: str, name: str
) -> None:
    pass_, master = the_pass(reel_file, kind), small_disk / name
    said = refused(pass_, master)
    assert said.startswith("The disk is full (")
    assert f"make room in {small_disk}" in said
    assert "--resume" in said
    subprocess.run(["mount", "-o", "remount,size=64m", str(small_disk)], check=True)
    (small_disk / "whole").mkdir()
    assert goes_on(pass_, master) > 0


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "name"), KINDS)
def test_a_disk_that_is_full_to_begin_with_is_told_and_nothing_is_left(
    reel_file: Path, small_disk: Path, kind: str, name: str
) -> None:
    fill(small_disk / "filling")
    said = refused(the_pass(reel_file, kind), small_disk / name)
    assert "No space left" in said
    (small_disk / "filling").unlink()
    (small_disk / "whole").mkdir()
    subprocess.run(["mount", "-o", "remount,size=64m", str(small_disk)], check=True)
    goes_on(the_pass(reel_file, kind), small_disk / name)


@pytest.mark.parametrize(("kind", "name"), KINDS)
def test_a_folder_that_may_not_be_written_is_told_before_anything_is_begun(
    reel_file: Path, small_disk: Path, kind: str, name: str
) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)  # root may write anywhere else
    said = refused(the_pass(reel_file, kind), small_disk / name)
    assert str(small_disk) in said
    assert list(small_disk.iterdir()) == []


@pytest.mark.parametrize(("kind", "name"), KINDS)
@pytest.mark.parametrize("trouble", ["gone", "unreadable"])
def test_a_scan_that_is_lost_during_a_pass_is_told_with_the_frame_and_the_pass_goes_on_when_it_is_back(
    reel_file: Path, kind: str, name: str, trouble: str
) -> None:
    pass_, master = the_pass(reel_file, kind), reel_file.with_name(name)
    stills, aside = sorted(pass_.opened.scan_path.iterdir()), reel_file.with_name("aside")

    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == 12:
            stills[30].replace(aside)
            if trouble == "unreadable":
                stills[30].symlink_to("/proc/self/mem")  # which the system answers with EIO, as a broken disk

    with pytest.raises(BadInput) as error:
        transfer(pass_, master, step)
    said = str(error.value)
    assert stills[30].name in said
    assert "--resume" in said
    assert not os.path.lexists(master)
    stills[30].unlink(missing_ok=True)
    aside.replace(stills[30])
    (reel_file.parent / "whole").mkdir()
    assert goes_on(pass_, master) >= 12
