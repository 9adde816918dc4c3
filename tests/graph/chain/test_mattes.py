"""Area mattes in a chain: what lies outside one is not touched, on any raster.

Pictures and settings are invented; what comes of them is arithmetic.
"""

from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue

CATALOGUE = Catalogue()
SKY = {"sky_line.full": 0.3, "sky_line.clear": 0.5, "sky.gain": 0.5, "sky_blend.amount": 1.0}


def _opened(chain, settings, width, height, aspect="1", cues=None):
    scan = ScanRef(
        path="none.mkv", encoding="video", frames=30, width=width, height=height, pixel_aspect=aspect
    )
    reel = Reel(scan=scan, chain=chain, cues=cues or (Cue(frame=0, settings=settings),))
    return OpenedReel(Path("a.reel"), reel, CATALOGUE)


def _matte(settings, width, height, aspect="1", kind="ellipse"):
    """Return a matte as it is seen, in float64 for its edges."""
    chain = ChainRef(nodes=(NodeRef(name="m", kind=kind, inputs=()),), output="m")
    named = {f"m.{key}": value for key, value in settings.items()}
    with Grade(_opened(chain, named, width, height, aspect), threads=1) as grade:
        return grade.correct(0, np.zeros((3, height, width)))[0]


def test_a_bright_sky_is_held_and_the_face_below_it_keeps_every_bit():
    chain = chain_preset("sky").chain
    picture = np.random.default_rng(3).uniform(0.2, 1.1, (3, 100, 160)).astype(np.float32)
    with Grade(_opened(chain, SKY, 160, 100), threads=2) as grade:
        held = grade.correct(0, picture)
    np.testing.assert_array_equal(held[:, 50:], picture[:, 50:])
    np.testing.assert_allclose(held[:, :30], picture[:, :30] * 0.5, rtol=1e-6)
    share = held[0, 30:50].mean(axis=1) / picture[0, 30:50].mean(axis=1)
    assert (np.diff(share) > 0).all()


def test_a_matte_travels_in_a_transition_like_any_parameter():
    chain = chain_preset("sky").chain
    cues = (
        Cue(frame=0, settings=SKY),
        Cue(
            frame=10,
            begins="transition",
            length=10,
            ease="even",
            settings=SKY | {"sky_line.full": 0.5, "sky_line.clear": 0.7},
        ),
    )
    picture = np.ones((3, 100, 10), np.float32)
    with Grade(_opened(chain, {}, 10, 100, cues=cues), threads=1) as grade:
        heights = [int((grade.correct(frame, picture)[0, :, 0] < 0.75).sum()) for frame in (0, 5, 10)]
    assert heights == [40, 50, 60]


@pytest.mark.parametrize(("width", "aspect"), [(160, "1"), (80, "2"), (147, "160/147")])
def test_a_circle_is_round_as_it_is_shown_whatever_the_shape_of_the_pixels(width, aspect):
    matte = _matte({"half_width": 0.3, "half_height": 0.3, "softness": 0.0}, width, 100, aspect)
    assert abs(int((matte[50] > 0.5).sum()) * 160 / width - 60) <= 160 / width
    assert (matte[:, width // 2] > 0.5).sum() == 60


def test_a_proxy_shows_the_same_matte_as_the_full_raster():
    settings = {"half_width": 0.5, "half_height": 0.3, "angle": 20.0, "centre_x": 0.2, "softness": 0.6}
    full, proxy = (_matte(settings, 320 // n, 200 // n) for n in (1, 2))
    averaged = full.reshape(100, 2, 160, 2).mean(axis=(1, 3))
    np.testing.assert_allclose(proxy, averaged, atol=2e-3)


def test_a_matte_can_be_looked_at_as_a_picture():
    matte = _matte({"full": 0.2, "clear": 0.8}, 30, 100, kind="graduated")
    assert matte[0, 0] == 1
    assert matte[-1, 0] == 0
    np.testing.assert_allclose(matte[49:51].mean(), 0.5, atol=1e-6)


def test_a_matte_keeps_a_cue_out_of_a_lut_only_where_it_shows():
    cues = (Cue(frame=0), Cue(frame=10, settings=SKY), Cue(frame=20, settings=SKY | {"sky_blend.on": "off"}))
    with Grade(_opened(chain_preset("sky").chain, {}, 16, 10, cues=cues), threads=1) as grade:
        assert [grade.beyond_point(frame) for frame in (0, 10, 20)] == [[], ["sky_line"], []]


def test_a_chain_preset_with_a_matte_begins_neutral():
    chain = chain_preset("sky").chain
    controls = Controls(chain, CATALOGUE)
    picture = np.random.default_rng(4).uniform(-0.1, 1.2, (3, 20, 30)).astype(np.float32)
    with Grade(_opened(chain, {}, 30, 20), threads=1) as grade:
        np.testing.assert_array_equal(grade.correct(0, picture), picture)
    assert controls.neutral["sky_blend.amount"] == 0
