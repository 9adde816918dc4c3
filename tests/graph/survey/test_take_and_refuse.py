"""Proposals become ordinary cues, settings and marks; what was refused is not proposed again."""

import numpy as np
import pytest

from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey import survey as module
from lamphouse.graph.survey.look import Change, shots_of
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.graph.survey.refused import call_back, is_refused, refuse
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 100


def proposed(kind, frame, what="cut", **fields):
    return Proposal(kind=kind, what=what, frame=frame, sure=0.9, why="It is so.", **fields)


@pytest.fixture
def opened(tmp_path):
    scan = ScanRef(path="scan.mkv", frames=FRAMES, width=64, height=48)
    reel = Reel(scan=scan, chain=chain_preset("plain").chain)
    return OpenedReel(tmp_path / "a.reel", reel, Catalogue())


def at(opened, reel, frame):
    return CueList(reel.cues, opened.controls()).at(frame)


def test_cues_are_there_before_the_settings_that_go_into_them(opened):
    gain = {"primary.gain": 1.5}
    reel = take(opened, [proposed("balance", 40, "start", settings=gain), proposed("cues", 40)])
    assert [(cue.frame, cue.settings) for cue in reel.cues] == [(40, gain)]


def test_a_dissolve_is_a_transition_that_ends_where_the_new_shot_is_alone(opened):
    (cue,) = take(opened, [proposed("cues", 60, "dissolve", frames=24)]).cues
    assert (cue.frame, cue.begins, cue.length) == (60, "transition", 24)


def test_a_transition_starts_from_its_own_settings(opened):
    begin, settings = {"primary.gain": 1.2}, {"primary.gain": 0.8}
    taken = proposed("transitions", 50, "transition", frames=20, begin=begin, settings=settings)
    reel = take(opened, [taken])
    assert at(opened, reel, 30)["primary.gain"] == 1.2
    assert 0.8 < at(opened, reel, 40)["primary.gain"] < 1.2
    assert at(opened, reel, 50)["primary.gain"] == 0.8


def test_marks_and_faults_are_marks_and_the_counters_follow_the_head_mark(opened):
    reel = take(
        opened,
        [
            proposed("marks", 7, "head mark"),
            proposed("marks", 9, "first picture"),
            proposed("faults", 20, "soft shot", frames=30),
            proposed("faults", 60, "scratch", frames=5),
        ],
    )
    assert reel.head_mark == 7
    found = [(mark.frame, mark.frames, mark.kind, mark.name) for mark in reel.marks]
    assert (9, 1, "place", "first picture") in found
    assert (20, 30, "soft", "") in found
    assert (60, 5, "check", "scratch") in found


def test_what_has_no_room_is_one_sentence(opened):
    with pytest.raises(BadInput, match=r"^Cue at frame 10: .*\.$"):
        take(opened, [proposed("cues", 10, "dissolve", frames=24)])


def test_a_cue_that_stands_there_keeps_its_settings(opened):
    reel = set_cue(opened.reel, 40, opened.controls(), {"primary.gain": 1.3}, name="mine")
    assert take(opened.with_reel(reel), [proposed("cues", 40)]) == reel


def test_what_was_refused_is_known_again_also_a_little_elsewhere_and_from_the_file(opened):
    once = refuse(opened.reel, [proposed("cues", 40)])
    reel = decode(encode(refuse(once, [proposed("cues", 41)])), "a")
    assert len(reel.refused) == 1
    assert is_refused(reel, proposed("cues", 42))
    assert not is_refused(reel, proposed("cues", 44))
    assert not is_refused(reel, proposed("faults", 40))
    assert is_refused(
        refuse(reel, [proposed("faults", 10, "dirt", frames=40)]), proposed("faults", 19, "dirt", frames=40)
    )
    assert not call_back(reel, [proposed("cues", 40)]).refused


def test_a_survey_leaves_out_what_was_refused(opened, monkeypatch):
    part = {kind: (lambda look: iter([proposed("cues", 20), proposed("cues", 60)]),) for kind in ["cues"]}
    monkeypatch.setattr(module, "PARTS", {kind: part.get(kind, ()) for kind in KINDS})
    statistics = measured(np.full((FRAMES, 3, 12, 16), 0.5, np.float32), FRAMES)
    assert [each.frame for each in survey(opened, statistics).proposals] == [20, 60]
    without = opened.with_reel(refuse(opened.reel, [proposed("cues", 20)]))
    assert [each.frame for each in survey(without, statistics).proposals] == [60]


def test_a_cue_of_the_reel_beside_a_change_is_that_change(opened):
    reel = set_cue(opened.reel, 41, opened.controls(), {})
    shots = shots_of(reel, [Change(40, "cut", 1.0), Change(70, "dissolve", 0.9, 12)])
    assert [(shot.first, shot.stop) for shot in shots] == [(0, 41), (41, 70), (70, 100)]
