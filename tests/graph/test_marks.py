"""Marks of a reel: put, renamed, stretched, removed, shown, reported. All reels are invented."""

import json
import sys
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.marks import (
    marks_at,
    put_mark,
    remove_mark,
    rename_mark,
    shot,
    with_head_mark,
)
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Mark, Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode, load, save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.main import main

FRAMES = 12


@pytest.fixture
def reel():
    scan = ScanRef(path="m.mkv", frames=FRAMES, width=32, height=24)
    cues = (Cue(frame=0, name="pier"), Cue(frame=5, name="gulls"))
    return Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues)


@pytest.fixture
def typed(tmp_path, monkeypatch, capsys, reel):
    """A function that runs a command beside a saved reel `m.reel` with its scan."""
    monkeypatch.chdir(tmp_path)
    with av.open("m.mkv", "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuv422p10le"
        for n in range(FRAMES):
            grey = av.VideoFrame.from_ndarray(np.full((24, 32, 3), n * 9, np.uint8), "rgb24")
            picture = grey.reformat(format="yuv422p10le")
            picture.pts = n
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))
    save(Path("m.reel"), reel)

    def call(*words, status=0):
        monkeypatch.setattr(sys, "argv", ["lamphouse", "mark", "m.reel", *words])
        if words[:1] == ("marks",):
            monkeypatch.setattr(sys, "argv", ["lamphouse", "marks", "m.reel", *words[1:]])
        with pytest.raises(SystemExit) as end:
            main()
        out = capsys.readouterr()
        assert (end.value.code or 0) == status, out.err
        return out.err if status else out.out

    return call


def test_marks_stand_in_the_order_of_the_film_one_of_each_kind_at_a_frame(reel):
    for mark in (
        Mark(frame=7, name="b"),
        Mark(frame=2, name="a"),
        Mark(frame=7, frames=5, kind="soft"),
        Mark(frame=7, name="c"),
    ):
        reel = put_mark(reel, mark)
    assert [(m.frame, m.kind, m.name) for m in reel.marks] == [
        (2, "place", "a"),
        (7, "place", "c"),
        (7, "soft", ""),
    ]
    renamed = rename_mark(put_mark(reel, Mark(frame=2, frames=3, name="a")), 2, "place", "z")
    assert renamed.marks[0] == Mark(frame=2, frames=3, name="z")
    assert reel.marks[0].name == "a"  # an edit is another reel
    assert [m.kind for m in remove_mark(reel, 7).marks] == ["place"]
    assert [m.kind for m in remove_mark(reel, 7, "soft").marks] == ["place", "place"]


def test_a_stretch_is_found_from_inside_unless_something_begins_there(reel):
    reel = put_mark(put_mark(reel, Mark(frame=3, frames=6, kind="soft")), Mark(frame=5))
    assert [m.kind for m in marks_at(reel, 8)] == ["soft"]
    assert [m.kind for m in marks_at(reel, 5)] == ["place"]
    assert marks_at(reel, 9) == ()
    assert remove_mark(reel, 8).marks == (Mark(frame=5),)


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        (
            lambda r: put_mark(r, Mark(frame=12)),
            "reaches frame 12, outside the reel, which has frames 0 to 11.",
        ),
        (lambda r: put_mark(r, Mark(frame=-1)), "reaches frame -1, outside the reel"),
        (lambda r: put_mark(r, Mark(frame=8, frames=5)), "reaches frame 12, outside the reel"),
        (lambda r: put_mark(r, Mark(frame=8, frames=0)), "give it at least 1."),
        (lambda r: remove_mark(r, 4), "There is no mark at frame 4 to remove."),
        (
            lambda r: rename_mark(put_mark(r, Mark(frame=8)), 8, "soft", "x"),
            "no soft shot at frame 8 to change.",
        ),
        (lambda r: with_head_mark(r, 12), "outside the reel, which has frames 0 to 11."),
    ],
)
def test_what_lies_outside_or_is_not_there_is_refused_in_one_sentence(reel, edit, says):
    with pytest.raises(BadInput) as refused:
        edit(reel)
    assert says in str(refused.value)


def test_the_counters_read_zero_at_the_head_mark(reel):
    readings = counter(with_head_mark(reel, 4)).readings(4)
    assert (readings.timecode, readings.footage) == ("10:00:00:00", "0+00")


def test_a_shot_goes_from_its_cue_to_the_next(reel):
    assert [shot(reel, frame) for frame in (0, 4, 5, 11)] == [(0, 5), (0, 5), (5, 12), (5, 12)]


def test_a_reel_without_marks_loads_and_marks_of_a_longer_scan_are_kept(reel):
    assert b"marks" not in encode(reel)
    assert decode(encode(reel), "here") == reel
    beyond = json.loads(encode(reel)) | {"marks": [{"frame": 5000, "name": "x", "hue": 3}]}
    kept = decode(json.dumps(beyond).encode(), "here")
    assert kept.marks == (Mark(frame=5000, name="x", other={"hue": 3}),)
    assert json.loads(encode(kept))["marks"] == beyond["marks"]
    with pytest.raises(BadInput, match=r"marks\[0\].kind"):
        decode(json.dumps(beyond | {"marks": [{"frame": 1, "kind": "hat"}]}).encode(), "here")


def test_a_mark_set_after_a_crash_does_not_keep_the_pass_from_going_on(reel):
    def identity(of):
        opened = OpenedReel(Path("m.reel"), of, Catalogue())
        with Grade(opened) as grade:
            return made_of(plan(opened, delivery("hd-ffv1", {}), 0, FRAMES), grade)

    assert identity(put_mark(reel, Mark(frame=3))) == identity(reel)
    assert identity(with_head_mark(reel, 3)) != identity(reel)  # the master's timecode is another


def test_marks_are_set_shown_and_removed_by_command(typed):
    assert typed("3", "--name", "splice").split() == ["10:00:00:03", "0+03", "3", "mark", "splice"]
    assert "soft shot, 5 frames" in typed("1", "--soft")  # its shot, as far as the next cue
    assert "soft shot, 2 frames  gulls" in typed("6", "--soft", "--frames", "2", "--name", "gulls")
    assert "look again" in typed("0+09", "--check")
    assert "soft shot, 2 frames  terns" in typed("6", "--soft", "--name", "terns")
    assert "head mark" in typed("3", "--head")
    lines = typed("marks").splitlines()
    assert lines[0].split() == ["10:00:00:00", "0+00", "3", "head", "mark"]
    assert [line.split()[2] for line in lines] == ["3", "0", "3", "6", "9"]
    shown = json.loads(typed("marks", "--json"))
    assert shown["head_mark"] == 3
    assert shown["marks"][2] == {
        "timecode": "10:00:00:03", "footage": "0+03", "frame": 6, "kind": "soft", "frames": 2,
        "name": "terns", "note": "", "place": None,
    }  # fmt: skip
    assert typed("3", "--remove") == "Removed what was marked at frame 3.\n"
    assert [m.frame for m in load(Path("m.reel")).marks] == [0, 6, 9]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("3", "--soft", "--check"), "cannot be --soft and --check at once"),
        (("3", "--remove", "--head"), "cannot be --remove and --head at once"),
        (("3", "--head", "--name", "x"), "--head takes neither"),
        (("3", "--remove"), "There is no mark at frame 3"),
        (("11", "--frames", "2"), "outside the reel"),
        (("99",), "lies outside the reel"),
    ],
)
def test_what_cannot_be_marked_is_refused_and_the_reel_stays(typed, words, says):
    before = Path("m.reel").read_bytes()
    said = typed(*words, status=2)
    assert says in said
    assert said.count("\n") == 1
    assert Path("m.reel").read_bytes() == before


def test_the_report_lists_marks_and_what_is_soft_or_open_needs_eyes(typed, reel, tmp_path):
    opened, master = OpenedReel(tmp_path / "m.reel", reel, Catalogue()), tmp_path / "m-master.mkv"
    transfer(plan(opened, delivery("scan-ffv1", {}), 0, FRAMES), master, lambda *done: None)
    record = load_record(master)

    def page(of):
        record_with = msgspec.structs.replace(record, reel=of)
        return write_report(tmp_path / "report", master, record_with).read_text()

    assert 'id="eyes"' not in page(put_mark(reel, Mark(frame=3, name="splice")))
    marked = put_mark(reel, Mark(frame=5, frames=7, kind="soft", name="<gulls>", note="edges 5 lines wide"))
    shown = page(put_mark(put_mark(marked, Mark(frame=2, kind="check")), Mark(frame=3, name="splice")))
    eyes = shown.partition('id="eyes"')[2].partition("</section>")[0]
    assert "splice" not in eyes
    assert "Soft shot, 7 frames &lt;gulls&gt; (edges 5 lines wide)." in eyes
    assert "Look again." in eyes
    rows = shown.partition('id="marks"')[2].split("<tr>")[2:]
    row = "".join(rows[2].split())
    for cell in ("10:00:00:05", "0+05", "5", "7", "softshot", "&lt;gulls&gt;", "edges5lineswide"):
        assert f"<td>{cell}</td>" in row
    assert "splice" in rows[1]
