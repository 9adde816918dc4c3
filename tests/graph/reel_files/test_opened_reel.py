"""A reel opened: what its file, its nodes and what it says give together. Every number is invented."""

from pathlib import Path

import msgspec
import numpy as np
import pytest

from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef, SoundRef
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import OpenedReel, change_reel, open_reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

GAIN = {"primary.gain": 2.0}


@pytest.fixture
def opened(tmp_path):
    """A reel of three stills beside it, with a node that is here and one that is not."""
    (tmp_path / "film").mkdir()
    for n in range(3):
        write_still(tmp_path / "film" / f"f_{n}.png", np.zeros((3, 6, 8), np.float32))
    nodes = (
        NodeRef(name="primary", kind="primary", inputs=("scan",)),
        NodeRef(name="grain", kind="its_grain", inputs=("primary",)),
    )
    reel = Reel(
        scan=ScanRef(path="film", frames=3, width=8, height=6),
        sound=SoundRef(path="film.wav"),
        chain=ChainRef(nodes=nodes, output="grain"),
        cues=(Cue(frame=1, settings=GAIN),),
    )
    save(tmp_path / "film.reel", reel)
    return open_reel(tmp_path / "film.reel", Catalogue())


def test_what_a_reel_names_is_found_from_its_file_wherever_one_stands(opened, tmp_path, monkeypatch):
    monkeypatch.chdir("/")
    assert (opened.folder, opened.scan_path) == (tmp_path, tmp_path / "film")
    assert opened.sound_path == tmp_path / "film.wav"
    assert opened.with_reel(msgspec.structs.replace(opened.reel, sound=None)).sound_path is None
    with opened.open_scan() as scan:
        assert scan.frames == 3


def test_a_scan_that_is_another_is_refused_and_closed(opened):
    scan = msgspec.structs.replace(opened.reel.scan, frames=4)
    other = opened.with_reel(msgspec.structs.replace(opened.reel, scan=scan))
    with pytest.raises(BadInput, match=r"has 3 frames of 8x6, but film\.reel was made with 4 of 8x6"):
        other.open_scan()


def test_the_nodes_that_are_missing_are_refused_but_for_those_that_may_be(opened):
    assert [ref.name for ref in opened.missing] == ["grain"]
    opened.refuse_missing(("grain",))
    with pytest.raises(BadInput, match=r"The node grain is not available.* or leave it\.$"):
        opened.refuse_missing((), "leave it")


def test_settings_and_program_are_those_of_its_own_cues_and_chain(opened):
    assert [opened.settings(frame)["primary.gain"] for frame in range(3)] == [1.0, 2.0, 2.0]
    numbers = opened.program().numbers(opened.settings(2))
    assert "primary.gain" in opened.controls().parameters
    assert numbers
    assert opened.program(ChainRef(nodes=(), output="scan")).numbers(opened.settings(2)) == {}


def test_a_change_begins_with_what_the_file_holds_by_now(opened):
    save(opened.file, msgspec.structs.replace(opened.reel, head_mark=2))

    def edit(now: OpenedReel) -> Reel:
        assert (now.file, now.catalogue) == (opened.file, opened.catalogue)
        return msgspec.structs.replace(now.reel, gauge="16mm")

    changed = change_reel(opened.file, edit, opened.catalogue)
    assert (changed.reel.head_mark, changed.reel.gauge) == (2, "16mm")
    assert load(opened.file) == changed.reel


def test_to_open_a_reel_asks_for_no_node_of_a_plug_in(opened):
    def never():
        raise AssertionError("Plug-ins were looked for.")

    catalogue = Catalogue(find=never)
    assert open_reel(opened.file, catalogue).catalogue is catalogue
    assert change_reel(opened.file, lambda now: now.reel, catalogue).catalogue is catalogue


def test_a_file_that_is_no_reel_is_refused_by_its_name(tmp_path: Path):
    with pytest.raises(BadInput, match=r"none\.reel does not exist"):
        open_reel(tmp_path / "none.reel")
