"""What `lamphouse cues` writes as lists, and what it brings in."""

import json

import opentimelineio
import pytest

from lamphouse.graph.media.master.record import Made, MasterRecord, save_record
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Reel, ScanRef, Track
from lamphouse.graph.reel.store import load, previous_of, save

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
    framed = Cue(frame=0, settings={"framing.size": 1.1})
    save(tmp_path / "b.reel", Reel(scan=scan, chain=reel.chain, cues=(framed,), tracks=(track,)))
    status, said, notes = typed("cues", "b.reel", "-o", "b.edl")
    assert (status, said) == (0, "b.edl: 1 shot, 1 with a CDL.\n")
    assert "what tracks move from frame to frame is in none" in notes
    assert "Framing is in none of these lists" in notes


def test_a_list_of_a_master_has_its_record_times_and_the_cues_that_it_was_made_with(reel, typed, tmp_path):
    video = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", black_before=50)
    made = Made(when="2026-01-01T00:00:00Z", who="nobody")
    record = MasterRecord(made=made, reel_file="a.reel", reel=reel, delivery=video, first=90, stop=300)
    save_record(tmp_path / "m.mkv", record)
    save(tmp_path / "a.reel", Reel(scan=reel.scan, rate="25", chain=reel.chain))  # changed since
    status, said, _ = typed("cues", "a.reel", "-o", "m.edl", "--master", "m.mkv")
    assert (status, said) == (0, "m.edl: 3 shots, 2 with a CDL.\n")
    events = [line.split()[4:] for line in (tmp_path / "m.edl").read_text().splitlines() if line[0] == "0"]
    # Source frames 90, 100, 200 to 300 of 25 a second; the record says 10:00:00:00 at the head mark, frame 0.
    assert events == [
        ["10:00:03:15", "10:00:04:00", "10:00:03:15", "10:00:04:00"],
        ["10:00:04:00", "10:00:08:00", "10:00:04:00", "10:00:08:00"],
        ["10:00:08:00", "10:00:12:00", "10:00:08:00", "10:00:12:00"],
    ]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "out.txt"], "out.txt: shots are written as .edl, .otio, .ccc, .cdl; give such a name."),
        (["-o", "a.reel"], "a.reel: shots are written as"),
        (["-o", "no/out.edl"], "no/out.edl cannot be written"),
        (["-o", "out.edl", "--master", "none.mkv"], "none.mkv has no record"),
        (["--fit"], "--fit goes with -o FILE; give that, or leave it out."),
    ],
)
def test_what_cannot_be_written_is_told_in_one_sentence(reel, typed, words, says):
    status, said, told = typed("cues", "a.reel", *words)
    assert (status, said, told.count("\n")) == (2, "", 1)
    assert says in told


LIST = """TITLE: x
001  A V C 00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00
002  A V C 00:00:02:00 00:00:08:00 01:00:02:00 01:00:08:00
* FROM CLIP NAME: mill
"""


def test_a_list_is_taken_in_one_step_and_what_is_left_is_said(reel, typed, tmp_path):
    scan = ScanRef(path="scan.mkv", frames=500, width=64, height=48)
    file = tmp_path / "b.reel"
    save(file, Reel(scan=scan, rate="25", start="01:00:00:00", chain=reel.chain, cues=CUES[:1]))
    (tmp_path / "it.edl").write_text(LIST)
    said = (
        "1 cue set, placed by the record times of the list (--by source takes the others).\n"
        "1 shot left (at line 2): the reel has a cue there, which is kept.\n"
    )
    before = file.read_bytes()
    assert typed("cues", "b.reel", "--import", "it.edl", "--dry") == (0, said, "")
    assert file.read_bytes() == before
    assert typed("cues", "b.reel", "--import", "it.edl") == (0, said, "")
    assert [(cue.frame, cue.name) for cue in load(file).cues] == [(0, "chart"), (50, "mill")]
    assert previous_of(file).read_bytes() == before
    status, said, _ = typed("cues", "b.reel", "--import", "it.edl", "--json")
    assert (status, said) == (2, "")  # all that it brings stands by now


def test_what_was_taken_is_told_to_programs_too(reel, typed, tmp_path):
    (tmp_path / "it.cc").write_text(
        "<ColorCorrection id='chart'><SatNode><Saturation>.5</Saturation></SatNode></ColorCorrection>"
    )
    status, said, _ = typed("cues", "a.reel", "--import", "it.cc", "--json")
    assert status == 0
    assert json.loads(said) == {"taken": ["1 CDL put into the settings of cues."], "left": []}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--import", "no.edl"], "no.edl cannot be read (No such file or directory); give another file."),
        (["--import", "it.otioz"], "it.otioz is a bundle with media, which is not read"),
        (["--import", "it.edl", "--by", "name"], "--by name is no kind of times; give record or source."),
        (["--import", "it.edl", "--by", "record", "--source", "A"], "--source is for source times; leave it"),
        (["--dry"], "--dry goes with --import FILE; give that, or leave it out."),
        (["--import", "it.edl", "-o", "x.edl"], "A list is either written, by -o, or taken, by --import"),
    ],
)
def test_what_cannot_be_taken_is_told_in_one_sentence(reel, typed, words, says):
    status, said, told = typed("cues", "a.reel", *words)
    assert (status, said, told.count("\n")) == (2, "", 1)
    assert says in told
