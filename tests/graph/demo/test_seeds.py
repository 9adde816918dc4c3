"""Reels of chance: what their truth says is what their pictures show. All of it is invented."""

import itertools
from dataclasses import replace
from types import SimpleNamespace

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.clean import at_raster, clean_film
from lamphouse.graph.demo.job import run_seeded
from lamphouse.graph.demo.seeds.pictures import Pictures
from lamphouse.graph.demo.seeds.plan import plan
from lamphouse.graph.demo.seeds.records import as_document
from lamphouse.graph.demo.seeds.roll import Piece
from lamphouse.graph.demo.seeds.scenes import SCENES
from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.reel.store import load
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # reels of a thousand frames are drawn

WIDTH = 96


@pytest.fixture(scope="module")
def reel():
    """A short reel, drawn once."""
    made = seeded(4, WIDTH, shorten=5)
    return SimpleNamespace(truth=made.truth, roll=made.roll, frames=np.stack(list(made.frames())))


def corrected(video, settings):
    """Return a picture under a primary, its formula (ours) written out, channels first."""
    value = {
        name.removeprefix("primary."): np.reshape(setting, (-1, 1, 1)) for name, setting in settings.items()
    }
    lift = value["lift"] + value["lift_balance"]
    y = value["gain"] * value["gain_balance"] * (video + lift * (1 - video))
    return np.sign(y) * np.abs(y) ** (1 / (value["gamma"] * value["gamma_balance"]))


def middle(shot):
    return (shot.first + shot.stop) // 2


def test_a_number_makes_the_same_reel_every_time_and_another_number_another():
    one, again, other = (seeded(number, WIDTH, shorten=4) for number in (7, 7, 8))
    assert one.truth == again.truth
    assert [shot.name for shot in one.truth.shots] != [shot.name for shot in other.truth.shots]
    first, second = (next(itertools.islice(reel.frames(), 20, None)) for reel in (one, again))
    assert (first == second).all()
    assert first.dtype == np.uint16


def test_the_reel_is_as_long_as_its_truth_says_and_its_shots_follow_one_another(reel):
    assert reel.frames.shape == (reel.truth.frames, 3, 72, 96)
    assert reel.frames.max() <= 1023
    shots = reel.truth.shots
    changes = {change.frame: change for change in reel.truth.changes}
    for before, after in itertools.pairwise(shots):
        between = after.first - before.stop
        assert between == (changes[after.first].frames if after.first in changes else 0), after
    assert (shots[0].first, shots[-1].stop) == (0, reel.truth.frames)


@pytest.mark.parametrize("number", range(10))
def test_every_reel_has_one_of_each_fault_and_joint(number):
    truth = seeded(number, 320).truth
    assert len(truth.changes_of("cut")) >= 12
    assert len(truth.changes_of("dissolve")) >= 3
    assert len(truth.changes_of("fade in")) == len(truth.changes_of("fade out")) >= 1
    assert len(truth.drifts) >= 4
    assert any("shade" in drift.why for drift in truth.drifts)
    flickering = [shot for shot in truth.shots if shot.flicker >= 0.05]
    drifting = [any(s.first <= drift.first < s.stop for drift in truth.drifts) for s in flickering]
    assert any(drifting)
    assert not all(drifting)
    assert all(0.05 <= shot.flicker <= 0.3 for shot in flickering)
    assert len(truth.soft) >= 2
    assert any(shot.is_shallow for shot in truth.shots)
    for named in ("missing", "doubled", "hairs", "splices", "unsteady", "pans", "clipped", "story", "dust"):
        assert getattr(truth, named), named
    assert {span.what for span in truth.flashes} == {"camera flash", "splice flash"}
    assert {scratch.wanders for scratch in truth.scratches} == {True, False}
    assert max(len(shots) for shots in truth.set_ups().values()) >= 2
    assert truth.head_mark < truth.first_picture <= truth.last_picture < truth.tail_mark < truth.frames


def test_the_lab_punched_the_marks_and_no_other_frame(reel):
    x, y, width, height = reel.truth.hole
    rows, columns = (
        slice(round((start + 0.3 * size) * side), round((start + 0.7 * size) * side))
        for start, size, side in ((y, height, 72), (x, width, 96))
    )
    bare = (reel.frames[:, :, rows, columns] > 1000).mean((1, 2, 3))
    punched = [
        mark + late
        for mark in (reel.truth.head_mark, reel.truth.tail_mark)
        for late in range(reel.truth.mark_frames)
    ]
    leaders = [*range(reel.truth.first_picture), *range(reel.truth.last_picture + 1, reel.truth.frames)]
    assert [frame for frame in leaders if bare[frame] > 0.9] == punched


def test_the_settings_return_the_clean_picture(reel):
    """Held against the clean film by the means of the middles of shots that nothing else befell."""
    pictures = Pictures(Raster(WIDTH, 72))
    held = 0
    for shot, told in zip(reel.roll.shots, reel.truth.shots, strict=True):
        piece, at = shot.piece, middle(told)
        if (
            piece.drifts
            or piece.clip
            or shot.fade_in
            or shot.fade_out
            or piece.blur
            or piece.window.share < 1
        ):
            continue
        clean = pictures.take(piece, [shot.pictures()[at - shot.start]])[0] / 255
        light = reel.truth.flicker[at] ** (1 / 2.4)
        found = corrected(reel.frames[at] / 1023, told.settings) / light
        inner = (slice(None), slice(12, 60), slice(12, 84))
        assert np.median(found[inner], (1, 2)) == pytest.approx(np.median(clean[inner], (1, 2)), abs=0.03)
        held += 1
    assert held > 5


def test_the_light_of_a_drift_moves_as_told_and_stands_still_before_and_after(reel):
    exposed = {shot.first: shot for shot in reel.roll.shots}
    for drift in reel.truth.drifts:
        shot = max((s for s in exposed.values() if s.first <= drift.first), key=lambda s: s.first)
        lasts = drift.stop - drift.first
        light = np.log2(shot.exposure()[drift.first - shot.start :, 1][: lasts + 3])
        assert light[lasts] - light[0] == pytest.approx(drift.stops, abs=1e-6)
        assert light[lasts + 2] == pytest.approx(light[lasts])
        gains = [np.array(side["primary.gain_balance"]) for side in (drift.begin, drift.end)]
        gamma = np.array(drift.begin["primary.gamma_balance"]) * drift.begin["primary.gamma"]
        rise = np.log2(gains[0] / gains[1]) * 2.4 / gamma
        assert rise[1] == pytest.approx(drift.stops, abs=1e-6)


def test_a_dissolve_passes_from_one_shot_to_the_next_and_a_fade_ends_in_black(reel):
    small = reel.frames.reshape(len(reel.frames), 3, 9, 8, 12, 8).mean((3, 5)) / 1023
    for change in reel.truth.changes_of("dissolve"):
        before, after = small[change.frame - change.frames - 1], small[change.frame]
        way = (after - before).ravel()
        share = (small[change.frame - change.frames // 2] - before).ravel() @ way / (way @ way)
        assert 0.2 < share < 0.8, change
    for change in reel.truth.changes_of("fade out"):
        assert small[change.frame].mean() < 0.1
        assert small[change.frame].mean() < 0.5 * small[change.frame - change.frames].mean()


def test_what_the_scanner_took_twice_is_the_same_twice_and_nothing_else_is(reel):
    same = [n for n in range(1, len(reel.frames)) if (reel.frames[n] == reel.frames[n - 1]).all()]
    assert same == sorted(reel.truth.doubled)


@pytest.mark.parametrize("number", range(4))
def test_the_camera_turns_on_while_the_scanner_leaves_frames_out(number):
    """So that what is lacking is a leap in the picture."""
    roll = plan(number, 320)
    for shot in (shot for shot in roll.shots if shot.piece.missing):
        at, passed = shot.first + shot.piece.missing_at - shot.start, shot.passed()
        steps = [
            abs(np.subtract(*(shot.piece.window.at(int(passed[n + k]))[0] for k in (0, -1))))
            for n in (at - 2, at)
        ]
        assert steps[1] == pytest.approx((1 + shot.piece.missing) * steps[0])
        assert steps[0] > 0


def test_a_speck_lies_where_the_truth_has_it():
    made = seeded(4, 320, shorten=4)
    wear = made.wear
    bare = type(wear)(wear.place, wear.flicker, tuple(() for _ in wear.dust))
    clean = type(made)(made.roll, made.truth, bare, made.pictures)
    for number, (dirty, plain) in enumerate(
        itertools.islice(zip(made.frames(), clean.frames(), strict=True), 6)
    ):
        covered = (dirty != plain).any(0)
        boxes = np.zeros_like(covered)
        specks = [speck for speck in made.truth.dust if speck.frame == number]
        for left, top, width, height in (speck.place for speck in specks):
            rows = slice(max(0, int(top * 240) - 1), int((top + height) * 240) + 2)
            boxes[rows, max(0, int(left * 320) - 1) : int((left + width) * 320) + 2] = True
        assert not (covered & ~boxes).any()
        told = sum(speck.area for speck in specks)
        assert told <= covered.mean() <= 5 * told  # soft edges, as specks are of few pixels


def test_a_hair_lies_where_the_truth_has_it_through_changes_of_shot(reel):
    made = seeded(4, WIDTH, shorten=5)
    bare = replace(made.roll, hairs=())
    clean = type(made)(bare, made.truth, made.wear, made.pictures)
    differs = [
        (with_hair != plain).any(0) for with_hair, plain in zip(reel.frames, clean.frames(), strict=True)
    ]
    cuts = {shot.first for shot in reel.truth.shots}
    for hair in reel.truth.hairs:
        left, top, width, height = hair.place
        box = np.zeros_like(differs[0])
        rows = slice(max(0, int(top * 72) - 1), int((top + height) * 72) + 2)
        box[rows, max(0, int(left * 96) - 1) : int((left + width) * 96) + 2] = True
        assert all(differs[frame][box].any() for frame in range(hair.first, hair.stop))
        assert cuts & set(range(hair.first + 1, hair.stop))
    there = {frame for hair in reel.truth.hairs for frame in range(hair.first, hair.stop)}
    assert {frame for frame, differ in enumerate(differs) if differ.any()} == there


def test_no_shot_that_is_not_called_clipped_reaches_the_ends_of_the_codes(reel):
    clipped = {span.first for span in reel.truth.clipped}
    for told in reel.truth.shots:
        share = (reel.frames[middle(told)] >= 1022).mean()
        if told.first in clipped:
            continue
        assert share < 0.01, told


def test_the_story_moves_the_light_where_the_truth_says_so():
    for scene in (scene for scene in SCENES if scene.light):
        start, stop, stops = scene.light
        ends = [start, min(stop, scene.frames - 1)]
        taken = Pictures(Raster(WIDTH, 72)).take(Piece(scene, scene.name, 10), ends)
        dark, light = (np.log2(((picture / 255) ** 2.4).mean()) for picture in taken)
        assert light - dark == pytest.approx(stops, abs=0.15), scene


def test_clean_pictures_are_those_of_the_clean_film():
    scene = SCENES[3]
    taken = Pictures(Raster(160, 120)).take(Piece(scene, scene.name, 10), [0, 2, 1])
    with clean_film() as film:
        for at, picture in zip((0, 2, 1), taken, strict=True):
            wanted = at_raster(film.read_coded(scene.first + at), Raster(160, 120))
            assert np.abs(picture / 255 - wanted).mean() < 0.006
            assert np.abs((picture / 255 - wanted).mean((1, 2))).max() < 0.003


def test_the_truth_can_be_written_as_json():
    document = as_document(seeded(2, WIDTH, shorten=4).truth)
    assert msgspec.json.decode(msgspec.json.encode(document))["invented"] is True


def test_a_short_reel_is_much_shorter():
    assert plan(3, 320, 3).frames < 0.6 * plan(3, 320).frames


def test_a_reel_of_chance_on_disk_has_its_pip_its_truth_and_no_cue_but_the_first(tmp_path):
    for line in run_seeded(tmp_path, 6, width=96, shorten=8):
        assert "demo" in line
    reel = load(tmp_path / "demo.reel")
    truth = msgspec.json.decode((tmp_path / "demo-truth.json").read_bytes())
    assert [cue.frame for cue in reel.cues] == [0]
    assert reel.scan.frames == truth["frames"]
    wave, rate = soundfile.read(tmp_path / "demo-sound.wav")
    leader = np.flatnonzero(np.abs(wave[: truth["first_picture"] * 1920]).max(1))
    assert (rate, leader[0]) == (48000, truth["sync"] * 1920)
    with pytest.raises(BadInput, match="holds a demo already"):
        list(run_seeded(tmp_path, 6))


@pytest.mark.parametrize(("number", "width", "said"), [(-1, 96, "number -1"), (1, 95, "95 pixels")])
def test_a_reel_that_cannot_be_drawn_is_refused_in_one_sentence(tmp_path, number, width, said):
    with pytest.raises(BadInput, match=said):
        list(run_seeded(tmp_path / "new", number, width))
