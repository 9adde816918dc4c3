"""What `lamphouse cues` writes as lists, and what it brings in."""

import opentimelineio
import pytest

from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef, Track
from lamphouse.graph.reel.store import save

pytestmark = pytest.mark.usefixtures("no_plugins")

CUES = (
    Cue(frame=0, name="chart"),
    Cue(frame=100, name="door", settings={"saturation.amount": 0.5}),
    Cue(frame=200, name="sky", settings={"exposure.stops": 1.0}),
)


@pytest.fixture
def reel(tmp_path):
    """A reel of 500 frames whose scan is not there: lists need none."""
    scan = ScanRef(path="scan.mkv", frames=500, width=64, height=48)
    made = Reel(scan=scan, rate="25", chain=chain_preset("everyday").chain, cues=CUES)
    save(tmp_path / "a.reel", made)
    return made


def test_the_ending_says_which_list_is_written(reel, typed, tmp_path):
    status, said, notes = typed("cues", "a.reel", "-o", "out.edl")
    assert (status, said) == (0, "out.edl: 3 shots, 2 with a CDL.\n")
    assert "Note: 1 cue has no CDL; of number 3 this is why: the node exposure" in notes
    for name in ("out.otio", "out.ccc", "out.cdl"):
        assert typed("cues", "a.reel", "-o", name)[0] == 0
    for name, count in (("out.edl", 3), ("out.otio", 3)):
        read = opentimelineio.adapters.read_from_file(
            str(tmp_path / name), **({"rate": 25} if name.endswith("edl") else {})
        )
        assert len(list(read.find_clips())) == count


def test_what_no_list_carries_is_said(reel, typed, tmp_path):
    track = Track(parameter="exposure.stops", frame=0, frames=9, keys=((0, 0.5),))
    scan = ScanRef(path="scan.mkv", frames=500, width=64, height=48)
    save(tmp_path / "b.reel", Reel(scan=scan, chain=reel.chain, tracks=(track,)))
    status, said, notes = typed("cues", "b.reel", "-o", "b.edl")
    assert (status, said) == (0, "b.edl: 1 shot, 0 with a CDL.\n")
    assert "what tracks move from frame to frame is in none" in notes


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "out.txt"], "out.txt: shots are written as .edl, .otio, .ccc, .cdl; give such a name."),
        (["-o", "a.reel"], "a.reel: shots are written as"),
        (["-o", "no/out.edl"], "no/out.edl cannot be written"),
        (["-o", "out.edl", "--master", "none.mkv"], "none.mkv has no record"),
        (["--fit"], "--master and --fit are for a list that is written; give its file with -o."),
    ],
)
def test_what_cannot_be_written_is_told_in_one_sentence(reel, typed, words, says):
    status, said, told = typed("cues", "a.reel", *words)
    assert (status, said, told.count("\n")) == (2, "", 1)
    assert says in told
