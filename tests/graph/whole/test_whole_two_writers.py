"""Two passes to one name: the second is told who writes, and neither touches what the other has."""

import getpass
import os
import platform
import subprocess
import sys
from pathlib import Path

import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.files.locks import Held, locked
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 12


@pytest.mark.parametrize(("name", "kind"), [("m.mkv", "scan-ffv1"), ("stills", "dpx-10")])
@pytest.mark.parametrize("way", [{}, {"resume": True}, {"discard": True}])
def test_a_second_pass_is_told_who_writes_and_touches_nothing(
    tmp_path: Path, film, write_stills, name: str, kind: str, way: dict[str, bool]
) -> None:
    path, master = tmp_path / "film.reel", tmp_path / name
    save(path, start_reel(path, Start(write_stills(tmp_path / "film", film[:FRAMES]), rate="24")).reel)
    pass_ = plan(open_reel(path, Catalogue()), delivery(kind, {}), 0, FRAMES)
    second: list[str] = []

    def step(done: int, total: int, limit: str = "", /) -> None:
        if done == 5:
            with pytest.raises(BadInput) as error:
                transfer(pass_, master, lambda *done: None, **way)
            second.append(str(error.value))

    made = transfer(pass_, master, step)
    assert second[0].startswith(
        f"{master} is in use by {getpass.getuser()}, process {os.getpid()} on {platform.node()} since 20"
    )
    assert made.frames == FRAMES
    assert {path.name for path in tmp_path.iterdir() if name in path.name} == {name, f"{name}.record.json"}


def test_what_a_killed_pass_leaves_of_its_lock_holds_nobody_up(tmp_path: Path) -> None:
    master = tmp_path / "m.mkv"
    hold = f"""
import time
from pathlib import Path
from lamphouse.graph.files.locks import locked
with locked(Path({str(master)!r}), 0, removed=True):
    print("held", flush=True)
    time.sleep(600)
"""
    with subprocess.Popen([sys.executable, "-c", hold], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        with pytest.raises(Held, match=rf"in use by .*process {process.pid} on"), locked(master, 0):
            pass
        process.kill()
    assert (tmp_path / ".m.mkv.lock").exists()
    with locked(master, 0, removed=True):
        pass
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_not_made(tmp_path: Path, film, write_stills) -> None:
    path, master = tmp_path / "film.reel", tmp_path / "nowhere" / "m.mkv"
    save(path, start_reel(path, Start(write_stills(tmp_path / "film", film[:FRAMES]), rate="24")).reel)
    pass_ = plan(open_reel(path, Catalogue()), delivery("scan-ffv1", {}), 0, FRAMES)
    with pytest.raises(BadInput, match=r"^There is no folder \S+nowhere; make it"):
        transfer(pass_, master, lambda *done: None)
    assert not master.parent.exists()
