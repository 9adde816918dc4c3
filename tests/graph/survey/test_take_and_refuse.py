"""Proposals become ordinary cues, settings and marks; what was refused is not proposed again."""

import json

import numpy as np
import pytest

from lamphouse.graph.commands import surveys
from lamphouse.graph.cues.settings import CueList
from lamphouse.graph.edits import several
from lamphouse.graph.edits.cues import set_cue, with_cues
from lamphouse.graph.edits.marks import put_mark
from lamphouse.graph.edits.several import set_cues
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Mark, Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode, load, save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey import refused
from lamphouse.graph.survey import survey as module
from lamphouse.graph.survey.look import Change, Shot, shots_of
from lamphouse.graph.survey.proposal import KINDS, Proposal
from lamphouse.graph.survey.refused import call_back, is_refused, refuse, wanted
from lamphouse.graph.survey.sizes import Size
from lamphouse.graph.survey.survey import Survey, survey
from lamphouse.graph.survey.take import take, take_each
from lamphouse.graph.survey.words import left_text, sureness
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


def test_a_transition_goes_its_way_from_what_holds_where_it_begins(opened):
    begin, settings = {"primary.gain": 1.2}, {"primary.gain": 0.8}
    way = proposed("transitions", 50, "transition", frames=20, begin=begin, settings=settings, ease="even")
    reel = take(opened, [way, proposed("balance", 0, "start", settings={"primary.gain": 1.5})])
    assert at(opened, reel, 30)["primary.gain"] == 1.5
    assert at(opened, reel, 40)["primary.gain"] == pytest.approx((1.5 * 1.0) ** 0.5)
    assert at(opened, reel, 50)["primary.gain"] == pytest.approx(1.5 * 0.8 / 1.2)


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


def test_a_fault_that_is_taken_keeps_its_measure_and_its_place_also_in_the_file(opened):
    hair = proposed("faults", 60, "hair", place=(0.1, 0.2, 0.3, 0.1))
    dirt = proposed("faults", 60, "dirt", place=(0.5, 0.25, 0.1, 0.2))
    reel = decode(encode(take(opened, [hair, dirt])), "a")
    (mark,) = (mark for mark in reel.marks if mark.frame == 60)
    assert mark.note == hair.why  # once, as both say the same
    assert mark.place == pytest.approx((0.1, 0.2, 0.5, 0.25))


def test_a_start_that_is_left_neutral_says_so_and_nothing_is_taken(opened):
    neutral = proposed("balance", 0, "start")
    taken = take_each(opened, [neutral, proposed("cues", 20)])
    assert taken.reel == take(opened, [proposed("cues", 20)])
    assert [left.proposal for left in taken.left] == [neutral]


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


def test_what_has_no_room_is_left_and_all_else_is_taken(opened):
    without_room = proposed("cues", 10, "dissolve", frames=24)
    outside = proposed("faults", 90, "dirt", frames=20)
    fits = [proposed("cues", 20), proposed("cues", 60, "dissolve", frames=24), proposed("faults", 5, "dirt")]
    taken = take_each(opened, [fits[0], without_room, *fits[1:], outside])
    assert taken.reel == take(opened, fits)
    assert [left.proposal for left in taken.left] == [without_room, outside]
    said = [left_text(left, counter(taken.reel)) for left in taken.left]
    assert said[0].startswith("The dissolve at 10:00:00:10 is not taken (Cue at frame 10: ")
    assert all(sentence.count(".") == 1 and sentence.endswith(").") for sentence in said)


def test_many_cues_at_once_are_what_they_are_one_by_one(opened):
    controls, random = opened.controls(), np.random.default_rng(3)
    reel = set_cue(opened.reel, 50, controls, {"primary.gain": 1.3}, begins="transition", length=20)
    changed = {
        int(n): {"primary.gamma": 1 + n / 100} if n % 3 else {}
        for n in random.choice(FRAMES, 30, replace=False)
    }
    assert any(30 < n < 50 for n in changed)  # some part the transition
    one_by_one = reel
    for frame in sorted(changed):
        one_by_one = set_cue(one_by_one, frame, controls, changed[frame])
    at_once = set_cues(reel, changed, controls, {})
    assert [(cue.frame, cue.length) for cue in at_once.cues] == [
        (cue.frame, cue.length) for cue in one_by_one.cues
    ]
    for frame in range(FRAMES):
        expected = {key: pytest.approx(value) for key, value in at(opened, one_by_one, frame).items()}
        assert dict(at(opened, at_once, frame)) == expected


def test_thousands_are_written_by_one_edit_and_not_by_one_each(opened, monkeypatch):
    made = []
    monkeypatch.setattr(several, "with_cues", lambda *given: made.append(given) or with_cues(*given))
    take(opened, [proposed("cues", n) for n in range(FRAMES)])
    assert len(made) == 1


def test_two_faults_that_begin_together_are_one_mark_with_both_names_and_a_persons_own_stays(opened):
    own = put_mark(opened.reel, Mark(frame=20, kind="check", name="mine"))
    found = [proposed("faults", 20, "dirt", frames=4), proposed("faults", 20, "scratch", frames=9)]
    (mark,) = take(opened.with_reel(own), [*found, found[0]]).marks
    assert (mark.name, mark.frames) == ("mine, dirt, scratch", 9)


def test_of_thousands_that_were_refused_only_those_nearby_are_looked_at(opened, monkeypatch):
    many = [proposed("cues", 4 * n) for n in range(5000)]
    reel = refuse(opened.reel, many)
    compared = []
    monkeypatch.setattr(refused, "abs", lambda n: compared.append(n) or abs(n), raising=False)
    assert wanted(reel, [*many, proposed("cues", 2)]) == []
    assert len(compared) < 2 * len(many)


def test_the_command_writes_what_has_room_and_says_of_the_rest_why_it_is_left(
    opened, tmp_path, monkeypatch, capsys
):
    found = Survey((proposed("cues", 10, "dissolve", frames=24), proposed("cues", 40)), (), (), ())
    save(opened.file, opened.reel)
    monkeypatch.setattr(module, "survey", lambda *given, **more: found)
    monkeypatch.setattr(surveys, "_statistics", lambda opened: None)
    surveys.survey(opened.file, write="cues")
    told = capsys.readouterr()
    assert [cue.frame for cue in load(opened.file).cues] == [40]
    assert told.err.startswith("Note: The dissolve at 10:00:00:10 is not taken (")
    assert len(told.err.splitlines()) == 1


def test_the_command_lists_shots_with_how_much_they_flicker_and_move_where_that_is_asked(
    opened, monkeypatch, capsys
):
    sizes = Size(Shot(0, 96), 0.0123, 0.00075), Size(Shot(96, FRAMES))
    found = Survey((proposed("cues", 96),), (), tuple(size.shot for size in sizes), sizes)
    save(opened.file, opened.reel)
    monkeypatch.setattr(module, "survey", lambda *given, **more: found)
    monkeypatch.setattr(surveys, "_statistics", lambda opened: None)
    surveys.survey(opened.file, shots=True)
    first, second, _ = capsys.readouterr().out.splitlines()
    assert first.endswith("96 frames  flickers by 0.012 stops  moves by 0.075% of its height, 0.04 lines")
    assert second.endswith("96       4 frames")
    surveys.survey(opened.file, as_json=True)
    shots = json.loads(capsys.readouterr().out)["shots"]
    assert [(shot["frame"], shot["frames"]) for shot in shots] == [(0, 96), (96, 4)]
    assert [(shot["flicker"], shot["unsteadiness"]) for shot in shots] == [(0.0123, 0.075), (None, None)]


def test_what_is_just_unsure_is_not_rounded_up_to_sure():
    said = [sureness(proposed("cues", 1)), *(sureness(_as_sure(sure)) for sure in (0.7999, 0.8, 0.29, 1.0))]
    assert said == ["sure 0.90", "0.79", "sure 0.80", "0.29", "sure 1.00"]


def _as_sure(sure):
    return Proposal(kind="cues", what="cut", frame=1, sure=sure, why="It is so.")
