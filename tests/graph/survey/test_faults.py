"""What grading cannot mend is found on photographs that were spoilt in a known way, and nowhere else."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace as changed
from scipy import ndimage
from skimage import data

from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults import clipped, decay, dirt, flashes, scratches, slips, soft, splices
from lamphouse.graph.survey.look import Change, Look, Shot
from lamphouse.nodes.catalogue import Catalogue

FRAMES = 7
GRAIN = 0.012  # invented, as all that is done to the photographs below


def photograph(name):
    """A photograph of scikit-image, (384, 512), from 0 to 1."""
    picture = np.asarray(getattr(data, name)(), np.float32) / 255
    picture = picture if picture.ndim == 2 else picture[..., 1]
    grown = ndimage.zoom(picture, max(1, 384 / picture.shape[0], 512 / picture.shape[1]), order=1)
    return grown[:384, :512]


def grained(picture, number, scan_blur=0.0):
    dice = np.random.default_rng(number)
    grain = ndimage.gaussian_filter(dice.normal(0, GRAIN, picture.shape), 0.5)
    return ndimage.gaussian_filter(picture + grain, scan_blur).astype(np.float32)


def shot_of(picture, frames=FRAMES, scan_blur=0.0):
    """A shot of a picture that rests, each frame with its own grain."""
    return [grained(picture, number, scan_blur) for number in range(frames)]


def look_at(*shots):
    """A look at shots, one after the other, of grey pictures."""
    film = [np.stack([picture] * 3) for shot in shots for picture in shot]
    ends = np.cumsum([0, *(len(shot) for shot in shots)]).tolist()
    height, width = film[0].shape[1:]
    reel = Reel(
        scan=ScanRef(path="scan", frames=len(film), width=width, height=height),
        chain=chain_preset("plain").chain,
    )
    opened = OpenedReel(Path("a.reel"), reel, Catalogue())
    shots = tuple(Shot(*pair) for pair in pairwise(ends))
    return Look(opened, measured(film, len(film)), (), shots, None)


@pytest.fixture(scope="module")
def focus():
    """Shots: one has little depth, two are sharp, one is out of focus in the camera, one in the scanner."""
    cat, man, woman = (photograph(name) for name in ("chelsea", "camera", "astronaut"))
    return look_at(
        shot_of(cat),
        shot_of(ndimage.gaussian_filter(man, 4)),
        shot_of(man),
        shot_of(woman, scan_blur=3.0),
        shot_of(woman),
    )


def test_soft_shots_are_found_and_little_depth_is_none(focus):
    found = list(soft.proposals(focus))
    assert [(one.frame, one.frames, one.what) for one in found] == [
        (FRAMES, FRAMES, "soft shot"),
        (3 * FRAMES, FRAMES, "soft shot"),
    ]


def test_a_soft_lens_and_a_soft_scan_are_told_apart_by_grain(focus):
    lens, scanner = soft.proposals(focus)
    assert "lens of the camera" in lens.why
    assert "scan it again" in scanner.why


def test_softness_is_judged_by_the_edges_and_not_by_how_strong_they_are():
    picture = photograph("camera")
    sharp, faint = (
        soft.sharpness(measured([np.stack([frame] * 3) for frame in shot_of(each)], FRAMES).rows)
        for each in (picture, 0.5 + (picture - 0.5) / 2)
    )
    assert faint.ratio == pytest.approx(sharp.ratio, rel=0.2)


@pytest.mark.parametrize("width", [3.0, 6.0, 12.0])
def test_an_edge_is_as_wide_as_it_was_made(width):
    """Even slopes, in a picture of 480 lines; what there is of them is the geometry of a trapezium."""
    rows = np.abs(np.arange(480)[:, None] % 53 - 26)
    picture = np.repeat(np.clip(0.5 + (rows - 13) / width, 0, 1), 64, axis=1).astype(np.float32)
    energy = soft.energy_of(measured([np.stack([picture] * 3)], 1).rows["detail"])[0]
    ratio = energy[1].mean() / energy[2].mean()
    assert soft.edge_width(float(ratio), 480) == pytest.approx(width, rel=0.25)


def test_what_the_scanner_cut_off_is_told_with_how_much_less_light_it_needs():
    """0.8 stops too much: video is light to the power 1 / 2.4 (ITU-R BT.1886)."""
    picture = np.clip(photograph("astronaut"), 0, 0.97)
    bright = [np.clip(frame * 2 ** (0.8 / 2.4), 0, 1) for frame in shot_of(picture, 12)]
    (found,) = clipped.proposals(look_at(shot_of(picture * 0.9, 12), bright))
    share = np.mean([np.mean(frame[24:-24, 32:-32] >= 0.995) for frame in bright])
    assert (found.frame, found.frames, found.what) == (12, 12, "clipped lights")
    assert found.amount == pytest.approx(100 * share, abs=1)
    assert "less light" in found.why


def test_crushed_shadows_ask_for_more_light_and_a_mask_is_no_film():
    picture = photograph("camera")
    crushed = [np.clip(frame * 1.25 - 0.25, 0, 1) for frame in shot_of(picture * 0.85, 12)]
    (found,) = clipped.proposals(look_at(shot_of(0.1 + picture * 0.8, 12), crushed))
    assert (found.frame, found.what) == (12, "clipped shadows")
    assert "more light" in found.why
    masked = [np.where(np.arange(384)[:, None] < 60, 0, frame) for frame in shot_of(0.1 + picture * 0.8, 12)]
    assert not list(clipped.proposals(look_at(masked)))


def test_shadows_are_told_to_be_cut_off_where_most_of_a_dark_picture_is_near_black():
    """A night: a photograph whose light falls off exponentially, of which a tenth lies at code 0."""
    picture = photograph("camera")
    order = np.argsort(np.argsort(ndimage.gaussian_filter(picture, 2).ravel())) / picture.size
    night = (-0.06 * np.log1p(-order)).reshape(picture.shape) - 0.006
    dark = [np.clip(frame, 0, 1) for frame in shot_of(night, 12)]
    (found,) = clipped.proposals(look_at(shot_of(0.1 + 0.8 * picture, 12), dark))
    assert (found.frame, found.what) == (12, "clipped shadows")
    share = np.mean([frame[24:-24, 32:-32] == 0 for frame in dark])
    assert found.amount == pytest.approx(100 * share, abs=4)  # and what lies within half a code of 8 bits


def test_the_black_of_a_fade_is_no_picture_that_was_cut_off():
    black = [np.clip(frame, 0, 1) for frame in shot_of(np.zeros((96, 128), np.float32), 12)]
    assert not list(clipped.proposals(look_at(shot_of(photograph("camera")[::4, ::4], 12), black)))


def test_what_dissolves_into_a_clipped_shot_is_marked_once():
    """A dissolve adds light: video is light to the power 1 / 2.4 (ITU-R BT.1886)."""
    before, after = shot_of(0.9 * photograph("camera"), 24), shot_of(1.2 * photograph("astronaut"), 24)
    mixed = [
        (share * np.clip(new, 0, 9) ** 2.4 + (1 - share) * np.clip(old, 0, 9) ** 2.4) ** (1 / 2.4)
        for share, old, new in zip(np.linspace(0.04, 0.96, 24), before, after, strict=True)
    ]
    film = [np.clip(frame, 0, 1) for frame in [*before, *mixed, *after]]
    look = look_at(film[:48], film[48:])
    marks = clipped.proposals(replace(look, changes=(Change(48, "dissolve", 1.0, 24),)))
    assert [(one.frame, one.frames) for one in marks if one.what == "clipped lights"] == [(48, 24)]


def encoded(look, encoding):
    reel = look.opened.reel
    return replace(
        look, opened=look.opened.with_reel(changed(reel, scan=changed(reel.scan, encoding=encoding)))
    )


def test_a_scan_in_density_has_its_dark_film_at_the_highest_codes():
    picture = photograph("camera")
    look = look_at([np.clip(frame, 0, 1) for frame in shot_of(0.3 + picture, 12)])
    scan = encoded(look, "density")
    (found,) = clipped.proposals(scan)
    assert found.what == "clipped lights"
    assert "more light" in found.why


def turning(steps, twice=()):
    """A camera that turns over a photograph, by so many pixels a frame; some frames are scanned twice."""
    picture, at, film = photograph("astronaut"), 0, []
    for number, step in enumerate(steps):
        at += step
        film.append(film[-1] if number in twice else grained(picture[:288, at : at + 384], number))
    return film


def test_frames_that_are_missing_or_were_scanned_twice_are_found():
    steps = [2] * 40
    steps[22], steps[31] = 2 * 4, 0
    found = list(slips.proposals(look_at(turning(steps, twice={31}))))
    assert [(one.frame, one.what) for one in found] == [(31, "doubled frame"), (22, "missing frames")]
    assert found[1].amount == pytest.approx(3, abs=1)


def test_a_scene_that_rests_and_a_camera_that_goes_faster_are_no_slips():
    steps = [0] * 20 + [1] * 8 + [2] * 8 + [4] * 8
    assert not list(slips.proposals(look_at(turning(steps))))


def test_what_weaves_in_the_gate_under_a_slow_turn_leaves_no_frames_out():
    """It hops by half a per cent of the width, and stays there."""
    steps = [1] * 40
    steps[22] = 1 + round(0.005 * 384)
    assert not list(slips.proposals(look_at(turning(steps))))


def test_frames_scanned_twice_all_along_are_one_mark():
    twice = set(range(5, 40, 5))
    steps = [0 if number in twice else 1 for number in range(40)]
    (found,) = slips.proposals(look_at(turning(steps, twice)))
    assert (found.what, found.frame, found.amount) == ("doubled frames", 5, 7)


def scratched(film, column, *, first=0, stop=None, amount=0.12):
    """A film with a line down its frames that trembles by half a pixel; the film under it turns."""
    found = [frame.copy() for frame in film]
    for number, frame in enumerate(found[first:stop]):
        frame[:, column + number % 2 : column + 2 + number % 2] += np.float32(amount)
    return found


@pytest.fixture(scope="module")
def worn():
    """A camera that turns for 30 frames: a bright scratch goes through 20, four specks lie on each."""
    dice = np.random.default_rng(3)
    film = scratched(turning([1] * 30), 200, first=5, stop=25)
    places = {}
    for number, frame in enumerate(film):
        for _ in range(4):
            top, left = (int(at) for at in dice.integers((10, 10), (270, 360)))
            frame[top : top + 5, left : left + 5] = 0.02 if frame[top, left] > 0.5 else 0.98
            places.setdefault(number, []).append((left / 384, top / 288))
    return look_at(film), places


def test_a_scratch_is_found_where_it_is_and_for_as_long(worn):
    (found,) = scratches.proposals(worn[0])
    left, _, width, height = found.place
    assert (found.what, height) == ("scratch", 1)
    assert left < 201 / 384 < left + width < left + 0.03
    assert abs(found.frame - 5) <= 1
    assert abs(found.frames - 20) <= 2


def test_a_post_in_the_picture_is_no_scratch():
    picture = photograph("astronaut").copy()
    picture[:250, 250:253] += 0.15
    film = [grained(picture[:288, 2 * at : 2 * at + 384], at) for at in range(30)]
    assert not list(scratches.proposals(look_at(film)))


def test_dirt_is_counted_and_placed(worn):
    look, places = worn
    rows, is_dirt = look.statistics.rows, dirt.specks(look.statistics.rows)
    found = [(number, *rows["speck_places"][number][at][:2]) for number, at in np.argwhere(is_dirt)]
    right = [
        any(abs(left - x) < 0.02 and abs(top - y) < 0.02 for x, y in places[number])
        for number, left, top in found
    ]
    laid = sum(len(some) for number, some in places.items() if 0 < number < 29)
    assert sum(right) / len(right) > 0.9
    assert sum(right) / laid > 0.75
    (proposal,) = dirt.proposals(look)
    assert proposal.what == "dirt"
    assert proposal.amount == pytest.approx(4, abs=0.9)


def test_dirt_is_told_frame_by_frame_and_the_worst_frames_are_named(worn):
    """Each speck is a square of 25 pixels of 384 x 288."""
    look, places = worn
    (proposal,) = dirt.proposals(look)
    frames = proposal.by_frame
    assert {each.frame for each in frames} >= set(range(2, 28))
    assert sum(each.amount for each in frames) == pytest.approx(proposal.amount * 30, abs=2)
    assert np.median([each.area for each in frames]) == pytest.approx(100 * 4 * 25 / (384 * 288), rel=0.4)
    worst = max(frames, key=lambda each: each.area)
    assert f"in frames {worst.frame} ({worst.area:.2g} %)" in proposal.why
    left, top, *_ = worst.places[0]
    assert any(abs(left - x) < 0.02 and abs(top - y) < 0.02 for x, y in places[worst.frame])


def test_what_flickers_moves_or_goes_past_is_no_dirt():
    film = turning([3] * 30)
    flickering = [frame * np.float32(1 + 0.08 * (-1) ** at) for at, frame in enumerate(film)]
    for at, frame in enumerate(flickering):
        frame[100:106, 8 * at + 20 : 8 * at + 26] = 0.02  # a bird
    assert not list(dirt.proposals(look_at(flickering)))


def hopping(hops, step=0):
    """Two shots of 16 frames; the second begins with frames that lie lower by `hops`, and pans by `step`."""
    before, after = (photograph(name)[::2, ::2] for name in ("astronaut", "camera"))
    film = []
    for number, hop in enumerate([*hops, *[0] * (16 - len(hops))]):
        top = 24 - hop + step * number
        film.append(grained(after[top : top + 144], number))
    return look_at(shot_of(before[:144], 16), film)


def test_a_splice_that_hops_is_found_with_its_size():
    (found,) = splices.proposals(hopping([6, 2]))
    assert (found.frame, found.what) == (16, "bad splice")
    assert found.amount == pytest.approx(100 * 6 / 144, abs=0.3)
    assert "below" in found.why


def test_weave_and_a_camera_that_moves_are_no_bad_splices():
    assert not list(splices.proposals(hopping([1, -1, 1, -1, 1, 1])))
    assert not list(splices.proposals(hopping([], step=1)))


def lit_by(stops, picture):
    """A shot, each frame lighter by so many stops: video is light ** (1 / 2.4) (ITU-R BT.1886)."""
    return [grained(0.6 * picture, at) * 2 ** (by / 2.4) for at, by in enumerate(stops)]


def flashing(before, after):
    man, woman = (photograph(name)[::2, ::2] for name in ("camera", "astronaut"))
    return list(flashes.proposals(look_at(lit_by(before, man), lit_by(after, woman))))


@pytest.mark.parametrize("stops", [0.4, 0.8, 1.2])
def test_a_frame_that_flashes_at_a_splice_is_found_with_its_stops(stops):
    (found,) = flashing([0] * 19 + [stops], [0] * 20)
    assert (found.frame, found.frames, found.what) == (19, 1, "splice flash")
    assert found.amount == pytest.approx(stops, abs=0.05)
    assert "before frame 20" in found.why


def test_frames_that_flash_on_both_sides_of_a_splice_are_one_mark():
    (found,) = flashing([0] * 19 + [0.6], [0.9, 0.5] + [0] * 18)
    assert (found.frame, found.frames) == (19, 3)
    assert found.amount == pytest.approx(0.9, abs=0.05)


def test_another_shot_flicker_light_that_rises_and_a_flash_within_a_shot_are_no_splice_flashes():
    rest = [0] * 20
    flicker = [0.3 * (-1) ** at for at in range(20)]
    assert not flashing(rest, [1.2] * 20)
    assert not flashing(flicker, flicker)
    assert not flashing(np.linspace(-1, 1, 20), rest)
    assert not flashing([0] * 12 + [1.2] + [0] * 7, rest)
    assert not flashing([0] * 12 + [1.2] * 8, rest)


def test_a_flash_beside_that_of_a_photographer_is_found_all_the_same():
    (found,) = flashing([0] * 12 + [1.5] + [0] * 6 + [0.8], [0] * 20)
    assert (found.frame, found.frames) == (19, 1)


def leaning(blurs):
    """Shots of photographs whose grain is softer the farther right it lies."""
    shots = []
    for name, blur in zip(("chelsea", "camera", "astronaut", "coffee", "moon"), blurs, strict=True):
        share = np.clip(np.linspace(-0.5, 1.5, 256), 0, 1).astype(np.float32)
        film = shot_of(photograph(name)[:, 128:384], 6)
        shots.append([frame + share * (ndimage.gaussian_filter(frame, blur) - frame) for frame in film])
    return look_at(*shots)


def test_film_that_was_out_of_focus_on_one_side_all_along_carries_the_cautions():
    (found,) = decay.proposals(leaning([0.8] * 5))
    assert (found.what, found.frame, found.frames) == ("film that is not flat", 0, 30)
    assert found.place[0] > 0.5
    assert "nitrate" in found.why
    assert not found.is_sure


def test_one_shot_that_is_soft_on_one_side_is_no_sign_of_decay():
    assert not list(decay.proposals(leaning([0.8, 0, 0, 0, 0])))


@pytest.mark.slow
def test_on_a_reel_of_chance_no_soft_shot_or_splice_is_made_up_and_what_can_be_seen_is_found(seeded_look):
    """At 160 wide: what is out of focus by less than a pixel there cannot be told; nor dirt on lost black."""
    look, truth = seeded_look(1)
    soft_ones = {span.first for span in truth.soft}
    assert {one.frame for one in soft.proposals(look)} & soft_ones
    assert all(any(abs(one.frame - at) <= 1 for at in soft_ones) for one in soft.proposals(look))
    assert [one.frame for one in splices.proposals(look)] == [span.first for span in truth.splices]
    lit = [span.first for span in truth.flashes if span.what == "splice flash"]
    assert [one.frame for one in flashes.proposals(look)] == lit
    dusty = {shot.first for shot in truth.shots if shot.dust >= 3 and not shot.is_leader}
    black = {span.first for span in truth.clipped if (span.amount or 0) < 0}
    assert {one.frame for one in dirt.proposals(look)} - black == dusty - black
    assert {one.frame for one in slips.proposals(look) if one.what == "doubled frame"} == set(truth.doubled)
    assert not list(decay.proposals(look))
