"""Starts for shots: each estimator by closed forms, and all of it on photographs with casts of known size."""

from __future__ import annotations

import importlib.util
import re
import sys
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest
import skimage.data

from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults import fading
from lamphouse.graph.survey.look import Change, Look, Shot
from lamphouse.graph.survey.starts.agreement import agreed
from lamphouse.graph.survey.starts.axis import greys_near
from lamphouse.graph.survey.starts.base import measured_base
from lamphouse.graph.survey.starts.correction import undoing
from lamphouse.graph.survey.starts.ends import AIM, aim_of, below_white, exposure_of, lift_of
from lamphouse.graph.survey.starts.estimate import estimated, greys_speak_for_it
from lamphouse.graph.survey.starts.fading import measured_fading
from lamphouse.graph.survey.starts.light import centred, colours_of_light
from lamphouse.graph.survey.starts.proposed import proposals
from lamphouse.graph.survey.starts.quarters import least_seen
from lamphouse.graph.survey.starts.setups import setups
from lamphouse.graph.survey.starts.uncertainty import GREEN, WARM, may_be_off, safe_share
from lamphouse.graph.survey.starts.words import words
from lamphouse.graph.survey.take import take
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.signals import scan_from_density

RASTER = (144, 192)  # of which the survey keeps 72 by 96


@pytest.fixture(scope="module", autouse=True)
def numpy_alone():
    """Each reel here is of a few small pictures, for which machine code would be made in vain."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LAMPHOUSE_BACK_END", "numpy")
        yield


def picture(name="astronaut", gains=(1, 1, 1), stops=0.0):
    """A photograph of scikit-image (3, 144, 192), its signal times gains, darker by so many stops."""
    image = getattr(skimage.data, name)()[..., :3]
    rows, columns = (
        np.linspace(0, size - 1, n).astype(int) for size, n in zip(image.shape, RASTER, strict=False)
    )
    video = np.moveaxis(image[rows[:, None], columns], -1, 0) / 255
    return (video * np.reshape(gains, (3, 1, 1)) * 2 ** (-stops / 2.4)).astype(np.float32)


def look_at(pictures, cues=(), chain="plain", frames=12):
    """A look at a reel in which each picture is a shot; `cues` are frames with the settings at them."""
    films = [one for one in pictures for _ in range(frames)]
    scan = ScanRef(path="scan", frames=len(films), width=RASTER[1], height=RASTER[0])
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset(chain).chain), Catalogue())
    reel = opened.reel
    for frame, settings in cues:
        reel = set_cue(reel, frame, opened.controls(), settings)
    opened = opened.with_reel(reel)
    shots = tuple(Shot(n * frames, (n + 1) * frames) for n in range(len(pictures)))
    statistics = measured(films, len(films))
    return Look(opened, statistics, (), shots, Grade(opened, threads=1))


def test_each_estimator_sees_the_light_of_a_grey_scene():
    # By definition: what is grey everywhere has the colour of its light.
    light = np.array([1.4, 1.0, 0.6]) * 0.5
    greys = np.random.default_rng(4).uniform(0.2, 1, RASTER)
    seen = colours_of_light([(greys * np.reshape(light, (3, 1, 1))) ** (1 / 2.4)])
    assert len(seen) == 6
    for name, colour in seen.items():
        assert colour == pytest.approx(centred(np.log2(light)), abs=0.02), name


def test_what_is_clipped_says_nothing_of_the_light():
    clipped = picture(gains=(1, 0.8, 0.6))
    clipped[:, :60] = 1.0
    assert all(colour[0] > 0.2 and colour[2] < -0.2 for colour in colours_of_light([clipped]).values())


def test_a_line_of_greys_is_undone():
    at, slope = np.array([0.1, 0.0, -0.1]), np.array([0.05, 0.0, -0.05])
    tones = np.linspace(-2.5, -0.2, 12)
    greys = 2 ** (tones + at[:, None] + slope[:, None] * tones)
    made = undoing(at, slope, -0.2).apply(greys)
    assert made[1:] == pytest.approx(made[[0, 0]])


def test_the_channel_with_the_most_light_keeps_it():
    # Common practice, no source: a filter, a dye and a stain take light and give none.
    found = estimated([picture(gains=(1, 0.85, 0.65))])
    grey = np.array([0.8, 0.68, 0.52])[:, None]
    assert found.share == 1
    assert found.correction.apply(grey).max() == pytest.approx(0.8, abs=0.06)


def test_the_way_to_warm_light_is_that_to_cie_standard_illuminant_a():
    colour = colour_science()  # CIE 015:2018, as colour-science has it
    lamp = colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["A"])
    stops = centred(np.log2(colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_XYZ_to_RGB @ lamp))
    assert pytest.approx(stops / np.linalg.norm(stops), abs=1e-3) == WARM


def test_a_cast_that_dusk_and_lamps_have_too_is_less_sure_than_its_opposite_where_estimates_differ():
    warm, cool = (
        estimated([picture(name, 2 ** (size * WARM / 2.4)) for name in ("astronaut", "coffee")])
        for size in (0.8, -0.8)
    )
    assert min(warm.spread, cool.spread) > 0.16
    assert warm.off > cool.off + 2
    assert may_be_off(WARM, 0.05, None) - may_be_off(-WARM, 0.05, None) < 1


def test_green_lies_across_the_way_from_daylight_to_lamps_and_is_less_sure_than_magenta():
    assert GREEN.sum() == pytest.approx(0, abs=1e-3)
    assert float(GREEN @ WARM) == pytest.approx(0, abs=1e-3)
    assert np.linalg.norm(GREEN) == pytest.approx(1, abs=1e-3)
    assert may_be_off(GREEN, 0.1, None) > may_be_off(-GREEN, 0.1, None) + 2


@pytest.mark.parametrize("off", [2.0, 5.0, 9.0, 12.0])
def test_no_share_leaves_more_than_a_tenth_above_the_cast_that_was_there(off):
    # By hand: a light found at 10 from neutral that truly lies at 10 - off, on the same line.
    share, true = safe_share(10, off), abs(10 - off)
    assert 0 <= share <= 1
    assert share == 0 if off > 10 else abs(true - 10 * share) <= 1.1 * true
    assert off > 10 or share == 1 or abs(true - 10 * (share + 0.01)) > 1.1 * true


def test_the_less_sure_a_light_is_the_less_of_it_is_taken():
    shares = [safe_share(10, off) for off in (3, 5, 6, 7, 8, 9, 10)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == 1
    assert shares[-1] == 0


def test_a_start_takes_no_greys_from_a_picture():
    # Invented: a grey road on three quarters of a picture, and brighter leaves that are taken for white.
    dice = np.random.default_rng(3)
    video = np.broadcast_to(dice.uniform(0.2, 0.5, RASTER), (3, *RASTER)) + dice.normal(0, 0.01, (3, *RASTER))
    video[:, :36] = np.reshape((0.55, 0.95, 0.4), (3, 1, 1)) * dice.uniform(0.3, 1, (36, RASTER[1]))
    found = estimated([video.astype(np.float32)])
    now, then = found.greys
    assert now > 0.6 > 2 * then
    assert found.size > found.off
    assert found.share == 0
    assert re.search(r", \d+% would be near grey where \d+% is; ", words(found, np.zeros(3), None))


def test_greys_near_a_line_are_counted_by_how_near_they_are():
    # By definition: all on the line; by exp(-1/2) at the distance that counts, 0.35 stops of light.
    greys = np.tile(np.linspace(0.1, 0.9, 400), (3, 1))
    assert greys_near(greys, np.zeros(3), np.zeros(3)) == pytest.approx(1)
    aside = np.array([1, 0, -1]) / np.sqrt(2) * 0.35 / 2.4
    assert greys_near(greys, aside, np.zeros(3)) == pytest.approx(np.exp(-0.5))
    assert greys_speak_for_it(0.2, 0.6) == 1
    assert greys_speak_for_it(0.6, 0.2) == 0
    assert greys_speak_for_it(0.0, 0.1) == 0


def test_a_sky_that_was_followed_instead_of_greys_gives_no_line():
    # Invented: grey walls whose light all estimators see, and darker, on more of the picture, blue water.
    dice = np.random.default_rng(5)
    video = np.broadcast_to(dice.uniform(0.5, 0.95, RASTER), (3, *RASTER)).copy()
    video[:, 36:] = np.reshape((0.86, 0.97, 1.15), (3, 1, 1)) * dice.uniform(0.1, 0.5, (108, RASTER[1]))
    found = estimated([video.astype(np.float32)])
    assert np.ptp(found.correction.gamma) == 0


def test_the_light_is_seen_by_every_quarter_and_the_colour_of_a_part_is_not():
    # Invented: a filter before the whole lens, and a sunset over a landscape.
    sky, filtered = picture(), picture(gains=(1, 0.8, 0.6))
    sky[:, :80] = filtered[:, :80]
    cast, _ = agreed(colours_of_light([filtered]))
    assert least_seen([filtered], cast) > 0.8
    assert least_seen([sky], cast) < 0.2


def test_a_clipped_quarter_says_nothing_of_the_light():
    filtered = picture(gains=(0.65, 0.85, 1))
    cast, _ = agreed(colours_of_light([filtered]))
    filtered[:, :72, 96:] = 1
    assert least_seen([filtered], cast) == pytest.approx(1, abs=0.3)


def test_a_clipped_sky_gives_no_line_of_greys():
    # A red layer that kept nine tenths of its contrast; and the same scan with its sky clipped.
    faded = picture()
    faded[0] **= 0.9
    clipped = faded.copy()
    clipped[:, :60] = 1
    assert np.ptp(estimated([faded]).correction.gamma) > 0.02
    assert np.ptp(estimated([clipped]).correction.gamma) == 0


def test_a_dim_picture_of_many_lights_stays_dim():
    # Invented: a night with a red and a blue lamp, each of them on a half of the picture.
    dim = picture(stops=2.5)
    night = dim.copy()
    night[[1, 2], :, :96] *= 0.5
    night[[0, 1], :, 96:] *= 0.5
    assert estimated([dim]).exposure > 1.2
    assert estimated([night]).exposure == 1


def test_dim_pixels_come_up_and_others_stay():
    # Our choice, in ends.py: highlights of two stops below white come to three tenths of a stop below it.
    assert exposure_of(np.full((3, 500), 2 ** (-2 / 2.4))) == pytest.approx(2 ** (1.7 / 2.4))
    assert exposure_of(np.full((3, 500), 2 ** (-2 / 2.4)), aim=0.5) == pytest.approx(2 ** (1.5 / 2.4))
    assert exposure_of(np.full((3, 500), 0.85)) == 1
    assert exposure_of(np.full((3, 500), 0.05)) == 1


def test_a_picture_of_low_key_stays_dim():
    # Invented: a window at night, two stops below white, on a fiftieth of a picture that is all but black.
    night = np.full((3, 500), 0.04)
    night[:, :10] = 2 ** (-2 / 2.4)
    assert exposure_of(night) == 1


def test_dim_shots_come_up_to_where_the_others_of_the_reel_are():
    assert aim_of([0.1, 0.2, 0.2, 0.3, 0.5, 0.2, 1.6, 2.0]) == pytest.approx(0.2)
    assert aim_of([0.1, 1.6, 2.0]) == AIM
    assert below_white([np.full((3, 4, 4), 2 ** (-1 / 2.4))]) == pytest.approx(1)


def test_black_comes_down_only_where_the_whole_reel_never_does():
    assert (lift_of([np.full(3, 0.12)] * 8) < -0.1).all()
    assert not lift_of([np.full(3, 0.12)] * 7 + [np.full(3, 0.01)]).any()
    assert not lift_of([np.full(3, 0.12)] * 2).any()


def test_a_picture_that_is_right_is_left_alone_and_that_is_said():
    (start,) = proposals(look_at([picture()]))
    assert start.settings == {}
    assert start.sure == 0
    assert start.why.startswith("Left neutral: six estimates of the light see")


def test_a_start_says_how_much_of_the_cast_every_quarter_sees():
    (start,) = proposals(look_at([picture(gains=(1, 0.85, 0.65))]))
    assert re.search(r", each quarter sees \d+% of it or more; ", start.why)


def test_a_picture_of_one_hue_is_left_alone():
    grey = picture().mean(axis=0)
    found = estimated([np.stack([grey, grey * 0.85, grey * 0.6])])
    assert found.is_of_one_hue
    assert found.share == 0


@pytest.mark.parametrize("level", [0.0, 0.4, 1.0])
def test_what_is_flat_has_no_start(level):
    for start in proposals(look_at([np.full((3, *RASTER), level, np.float32)])):
        assert start.settings == {}
        assert "Left neutral" in start.why


def test_a_return_to_a_set_up_gets_the_same_start_and_what_lies_between_its_own():
    warm, other = picture(gains=(1, 0.85, 0.65)), picture("coffee")
    look = look_at([warm, other, warm])
    assert setups(look) == [[look.shots[0], look.shots[2]], [look.shots[1]]]
    first, between, back = proposals(look)
    assert first.settings == back.settings != {}
    assert between.settings != first.settings
    assert "one set-up with frame 0" in back.why


def test_a_shot_that_passes_into_another_unseen_is_no_set_up_of_its():
    first, second = picture(gains=(1, 0.85, 0.65)), picture("coffee")
    passing = [first + (second - first) * share for share in np.linspace(0.1, 1, 10)]
    look = look_at([first, *passing, second], frames=1)
    whole = replace(look, shots=(Shot(0, 11), Shot(11, 12)))
    assert setups(whole) == [[Shot(0, 11)], [Shot(11, 12)]]


def test_a_start_is_made_of_frames_that_show_its_shot_alone():
    first, second = picture(gains=(1, 0.85, 0.65)), picture("coffee")
    look = look_at([first, second, second, second])
    shots = (Shot(0, 36), Shot(36, 48))
    known = replace(look, shots=shots, changes=(Change(36, "dissolve", 1.0, 24),))
    alone, (start, _) = next(iter(proposals(look_at([first])))), proposals(known)
    assert start.settings == alone.settings != {}


def test_what_a_person_set_stands_and_is_what_a_return_gets():
    warm, mine = picture(gains=(1, 0.85, 0.65)), {"primary.gain_balance": (0.9, 1.0, 1.3)}
    look = look_at(
        [warm, picture("coffee"), warm], [(0, mine), (12, {"primary.gain_balance": (1.0, 1.0, 1.0)})]
    )
    (back,) = proposals(look)
    assert back.frame == 24
    assert back.is_sure
    assert back.settings == {"primary.gain_balance": [0.9, 1.0, 1.3]}
    assert "set by hand" in back.why


def test_a_start_ends_with_its_shot():
    look = look_at([picture(gains=(1, 0.85, 0.65)), picture("coffee")])
    first = next(iter(proposals(look)))
    reel = take(look.opened, [first])
    assert [cue.frame for cue in reel.cues] == [0, 12]
    assert look.opened.with_reel(reel).settings(12) == look.opened.settings(12)


@pytest.mark.parametrize("chain", ["plain", "everyday", "cdl", "finishing"])
def test_a_start_is_made_with_what_the_chain_has(chain):
    look = look_at([picture(gains=(1, 0.85, 0.7))], chain=chain)
    (start,) = proposals(look)
    with Grade(look.opened.with_reel(take(look.opened, [start])), threads=1) as grade:
        made = grade.correct(0, picture(gains=(1, 0.85, 0.7)))
    wall = made[:, 15:55, 112:124].mean(axis=(1, 2))  # grey in the photograph
    assert np.ptp(wall) < 0.06 * wall.mean()


def test_a_chain_that_has_nothing_to_balance_with_says_so():
    look = look_at([picture(gains=(1, 0.8, 0.6))])
    bare = msgspec.structs.replace(look.opened.reel, chain=ChainRef(nodes=(), output="scan"))
    opened = look.opened.with_reel(bare)
    with Grade(opened, threads=1) as grade:
        (start,) = proposals(Look(opened, look.statistics, (), look.shots, grade))
    assert start.settings == {}
    assert start.why == "Left neutral: the chain has no balance to start with; put a primary into it."


def test_the_base_of_a_negative_is_measured_on_its_leader_and_part_of_every_start():
    base = np.array([0.12, 0.3, 0.45])
    shown = np.stack([picture().mean(axis=0)] * 3)
    leader, dense = np.zeros_like(shown), 0.1 + 0.6 * shown
    films = [scan_from_density(base[:, None, None] + one) for one in (leader, dense) for _ in range(12)]
    scan = ScanRef(path="scan", frames=24, width=RASTER[1], height=RASTER[0], encoding="density")
    reel = Reel(scan=scan, chain=chain_preset("negative").chain)
    opened = OpenedReel(Path("a.reel"), reel, Catalogue())
    opened = opened.with_reel(set_cue(reel, 0, opened.controls(), {"film_base.film": "negative"}))
    statistics = measured([film.astype(np.float32) for film in films], 24)
    with Grade(opened, threads=1) as grade:
        look = Look(opened, statistics, (), (Shot(0, 12), Shot(12, 24)), grade)
        found = measured_base(look)
        assert found.settings["film_base.base"] == pytest.approx(base, abs=0.005)
        starts = list(proposals(look))
    assert starts
    for start in starts:
        assert start.settings["film_base.base"] == pytest.approx(base, abs=0.005)
        assert start.why.startswith("The film base measures 0.12, 0.30, 0.45 in density at frame")


def faded(*kept):
    """A look at a reel of six set-ups on a print whose dyes kept these shares, taken in turn."""
    whole = np.maximum(picture(), 0.02)
    seen = [np.roll(np.flip(whole, axes), by, 2) for axes in ((), 1) for by in (0, 64, 128)]
    films = [one ** np.reshape(kept[n % len(kept)], (3, 1, 1)) for n, one in enumerate(seen)]
    return look_at([film.astype(np.float32) for film in films], chain="faded-print")


def test_what_a_reels_dyes_have_lost_is_measured_where_its_set_ups_agree():
    # The model of the dye fade, in nodes/corrections/dye_fade.py: a dye keeps a share of its density.
    found = measured_fading(faded((0.7, 1.0, 0.85)))
    assert found.kept == pytest.approx((0.7, 1.0, 0.85), abs=0.08)
    assert found.stain == pytest.approx((0, 0, 0), abs=0.04)
    assert found.words.startswith("The reel has faded, 6 set-ups agree: of cyan, magenta, yellow 6")


@pytest.mark.slow
def test_what_a_reels_dyes_have_lost_is_part_of_every_start():
    look = faded((0.7, 1.0, 0.85))
    found, starts = measured_fading(look), list(proposals(look))
    assert len(starts) == 6
    for start in starts:
        assert found.settings.items() <= start.settings.items()
        assert start.why.startswith(f"{found.words}; ")


def test_dyes_that_lost_little_are_marked_by_what_the_starts_give_back():
    (mark,) = fading.proposals(look := faded((0.7, 1.0, 0.85)))
    assert mark.why.startswith("In the greys of 6 set-ups red lacks ")
    assert mark.amount == pytest.approx(100 * (1 - min(look.fading.kept)), abs=3)
    assert "nitrate" in mark.why
    assert not mark.is_sure
    assert not list(fading.proposals(faded((1.0, 1.0, 1.0))))


def test_a_reel_has_not_faded_where_its_set_ups_differ_or_greys_are_as_they_were():
    assert measured_fading(faded((1.0, 1.0, 1.0))) is None
    assert measured_fading(faded((0.7, 1, 0.85), (1, 0.7, 0.9), (0.9, 1, 0.6))) is None


def test_what_a_person_said_of_the_dyes_stands():
    look = faded((0.7, 1.0, 0.85))
    reel = set_cue(look.opened.reel, 0, look.opened.controls(), {"dye_fade.kept": (0.65, 1.0, 0.9)})
    assert measured_fading(replace(look, opened=look.opened.with_reel(reel))) is None


@pytest.mark.slow
def test_starts_bring_photographs_with_casts_nearer_to_neutral_and_harm_none():
    path = Path(__file__).parents[2] / "bench" / "starts.py"
    spec = importlib.util.spec_from_file_location("starts_bench", path)
    bench = sys.modules["starts_bench"] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(bench)
    found = list(bench.cases(("astronaut", "stereo_motorcycle"), cuts=2))
    cast = [one for one in found if one.kind != "none" and one.before > bench.SEEN]
    assert np.median([one.ratio for one in cast]) <= 0.4
    assert max(one.ratio for one in cast) <= 1.1
    assert max(one.after - one.before for one in found if one.kind == "none") < 1
    sure = [one for one in cast if one.proposal.is_sure]
    assert len(sure) >= 3
    assert all(one.ratio < 1 for one in sure)
