"""Faded dyes are told from casts, water and toned film, on photographs of scikit-image.

A dye that fades keeps the same share of its density everywhere (Wilhelm and Brower, "The Permanence and Care
of Color Photographs", 1993, from memory): that is all that is done to them, by whole shots.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage
from skimage import data

from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.faults.fading import proposals
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.signals import scan_from_density

HIGH, WIDE, FRAMES = 96, 128, 3
CODES = {
    "video": lambda light: light ** (1 / 2.4),
    "density": lambda light: scan_from_density(-np.log10(light)),
}


def parts():
    """Light of six parts of photographs, (3, 96, 128) each, none of it black."""
    for name in ("astronaut", "coffee", "chelsea"):
        picture = np.asarray(getattr(data, name)(), np.float32) / 255
        half = picture.shape[1] // 2
        for part in (picture[:, :half], picture[:, half:]):
            zoom = (HIGH / part.shape[0], WIDE / part.shape[1], 1)
            yield (0.12 + 0.85 * ndimage.zoom(part, zoom, order=1).transpose(2, 0, 1)) ** 2.4


def found_in(spoil, encoding="video"):
    """What is proposed for these parts, whose light is spoilt so, as shots of a reel."""
    film = [CODES[encoding](np.clip(spoil(light), 1e-3, 1)) for light in parts() for _ in range(FRAMES)]
    reel = Reel(
        scan=ScanRef(path="scan", frames=len(film), width=WIDE, height=HIGH, encoding=encoding),
        chain=chain_preset("plain").chain,
    )
    opened = OpenedReel(Path("a.reel"), reel, Catalogue())
    shots = tuple(Shot(first, first + FRAMES) for first in range(0, len(film), FRAMES))
    return list(proposals(Look(opened, measured(film, len(film)), (), shots, None)))


def channels(*numbers):
    return np.array(numbers).reshape(3, 1, 1)


@pytest.mark.parametrize("encoding", ["video", "density"])
def test_a_reel_whose_dye_has_faded_is_told_with_what_is_left_and_the_cautions(encoding):
    (found,) = found_in(lambda light: light ** channels(0.45, 0.9, 0.95), encoding)
    assert (found.what, found.frame, found.frames) == ("faded dyes", 0, 6 * FRAMES)
    assert "red lacks" in found.why
    assert found.amount == pytest.approx(100 * (1 - 0.45 / 0.9), abs=12)
    assert "nitrate" in found.why
    assert not found.is_sure


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(lambda light: light, id="film that has kept its dyes"),
        pytest.param(lambda light: light * channels(0.4, 0.9, 1), id="a cast of light"),
        pytest.param(lambda light: light ** channels(0.85, 0.95, 1), id="a little"),
        pytest.param(lambda light: light[1:2] ** channels(0.45, 0.9, 1), id="toned film"),
        pytest.param(
            lambda light: np.minimum(light, channels(0.15, 1, 1) * light.max()),
            id="water that takes red lights",
        ),
    ],
)
def test_what_looks_a_little_like_it_is_no_faded_film(spoil):
    assert not found_in(spoil)


def test_one_faded_shot_among_others_is_no_faded_reel():
    seen = iter(range(100))
    assert not found_in(lambda light: light ** channels(0.45 if next(seen) < FRAMES else 1, 1, 1))
