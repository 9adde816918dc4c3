"""What a program of somebody's own asks of a reel, and what it gets; the pictures are invented."""

import inspect
from fractions import Fraction

import networkx as nx
import numpy as np
import pytest

import lamphouse.api
from lamphouse.api import BadInput, Reel, check, verify
from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.reel.records import Delivery

FRAMES, HIGH, WIDE = 12, 24, 32
MADE = Delivery(container="matroska", codec="ffv1", pixel_format="yuv444p10le")


@pytest.fixture
def scan(tmp_path):
    path = tmp_path / "a scan's.mkv"
    facts = {"rate": Fraction(24), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, MADE, width=WIDE, height=HIGH, **facts) as master:
        for n in range(FRAMES):
            master.write(np.full((3, HIGH, WIDE), 0.2 + 0.05 * n, np.float32))
        master.finish()
    return path


@pytest.fixture
def reel(scan, tmp_path):
    return Reel.start(tmp_path / "a reel.reel", scan, gauge="16mm")


def test_a_reel_says_what_it_is(reel):
    assert (reel.frames, reel.size, reel.rate) == (FRAMES, (WIDE, HIGH), Fraction(24))
    assert reel.frame("10:00:00:05") == reel.frame("0+05") == reel.frame(5) == 5
    assert reel.readings(5).footage == "0+05"
    assert [cue.frame for cue in reel.cues] == [0]
    assert reel.marks == ()
    assert any("taken as video" in note for note in reel.notes)


def test_the_chain_is_a_directed_graph_from_the_scan_to_the_output(reel):
    graph = reel.chain
    assert nx.is_directed_acyclic_graph(graph)
    assert graph.nodes["primary"]["kind"] == "primary"
    assert nx.has_path(graph, "scan", "primary")


def test_what_is_set_is_graded_and_kept_by_saving(reel):
    reel.cue("0+04", {"primary.gain": 1.5}, name="door")
    reel.cue(10, {"primary.gain": "0.5"}, length=4)  # text, as it is typed
    reel.mark(7, "a place", frames=2)
    assert reel.settings(5)["primary.gain"] == 1.5
    assert 0.5 < reel.settings(8)["primary.gain"] < 1.5
    assert Reel.open(reel.file).settings(5)["primary.gain"] == 1
    reel.save()
    again = Reel.open(reel.file)
    assert (again.cues, again.marks) == (reel.cues, reel.marks)
    again.remove_cue("0+04")
    assert [cue.frame for cue in again.cues] == [0, 10]


def test_pictures_are_rows_columns_and_colours_of_video_signal(reel):
    reel.cue(4, {"primary.gain": 1.5})
    with reel.pictures() as pictures:
        scanned, graded = pictures.scanned(5), pictures.graded(5)
        assert np.abs(pictures.graded(3) - pictures.scanned(3)).max() < 1e-6
        assert np.array_equal(pictures.scanned("10:00:00:05"), scanned)
    assert graded.shape == scanned.shape == (HIGH, WIDE, 3)
    assert graded.dtype == np.float32
    assert graded.flags.c_contiguous
    assert np.abs(scanned - 0.45).max() < 1e-3  # what the scan was made of
    assert graded.min() > scanned.max()


def test_a_master_is_made_of_the_reel_as_it_is_and_proved(reel, tmp_path):
    reel.cue(4, {"primary.gain": 1.5})
    seen = []
    made = reel.transfer(
        tmp_path / "m.mkv", "scan-ffv1", first=2, stop="0+10", step=lambda *done: seen.append(done[:2])
    )
    assert made.frames == 8
    assert made.read_back.startswith("All 8 frames")
    assert seen[-1][0] == seen[-1][1]
    assert verify(made.path).count == 0
    assert verify(made.path, reel).count == 0
    reel.cue(4, {"primary.gain": 1.4})
    assert verify(made.path, reel).count == 1
    with made.path.open("r+b") as file:
        file.seek(made.path.stat().st_size // 2)
        file.write(bytes(20))
    assert any("SHA-256" in line for line in verify(made.path, quick=True).lines())


def test_a_master_is_checked_by_its_parts_and_with_other_limits(reel, tmp_path):
    reel.cue(0, {"primary.gain": 1.3})
    made = reel.transfer(tmp_path / "m.mkv", "scan-ffv1")
    assert check(made.path, "levels").count == 0
    found = check(made.path, "levels", levels_high=60)  # the last pictures lie at 0.75 * 1.3
    assert [(fault.rule, fault.stop) for fault in found.faults] == [("EBU R 103", FRAMES)]
    with pytest.raises(BadInput, match="no part called"):
        check(made.path, "colours")


def test_what_cannot_be_is_one_sentence_and_changes_nothing(reel, scan, tmp_path):
    reel.cue(4, {"primary.gain": 1.5})
    before = reel.cues
    for wrong in (
        lambda: reel.cue(99, {}),
        lambda: reel.cue("nowhere"),
        lambda: reel.cue(5, {"primary.gian": 1}),
        lambda: reel.cue(5, {"primary.gain": "much"}),
        lambda: reel.cue(5, length=50),
        lambda: reel.remove_cue(7),
        lambda: reel.mark(99),
        lambda: reel.transfer(tmp_path / "m.mkv", "no-such-delivery"),
        lambda: reel.transfer(tmp_path / "m.mkv", rate="fast"),
        lambda: Reel.open(tmp_path / "none.reel"),
        lambda: Reel.start(reel.file, scan),
        lambda: verify(tmp_path / "none.mkv"),
    ):
        with pytest.raises(BadInput, match=r"\.$"):
            wrong()
    assert reel.cues == before


def test_a_reel_that_another_program_changed_meanwhile_is_not_written_over(reel):
    other = Reel.open(reel.file)
    other.cue(3, name="theirs")
    other.save()
    reel.cue(5, name="mine")
    with pytest.raises(BadInput, match="changed by another program"):
        reel.save()
    assert [cue.name for cue in Reel.open(reel.file).cues][1:] == ["theirs"]


def test_pictures_are_not_to_be_had_outside_their_block(reel):
    with pytest.raises(ValueError, match="with"):
        reel.pictures().scanned(0)


def test_everything_that_is_offered_says_what_it_is():
    for name in lamphouse.api.__all__:
        offered = getattr(lamphouse.api, name)
        members = (
            [m for n, m in vars(offered).items() if not n.startswith("_")] if inspect.isclass(offered) else []
        )
        for thing in (offered, *members):
            if callable(thing) or isinstance(thing, (property, classmethod)):
                assert inspect.getdoc(thing), thing
