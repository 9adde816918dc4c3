"""A cue as a CDL: exact where it is one, and otherwise refused with the reason."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.cdl import exact_cdl
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.errors import BadInput

CATALOGUE = Catalogue()
CODES = np.random.default_rng(17).uniform(0, 1.1, (3, 300))


def _plain(cdl, rgb):
    """Style FwdNoClamp of the CLF specification's ASC_CDL, written out, pixel by pixel."""
    result = []
    for pixel in rgb.T:
        sop = []
        for value, slope, offset, power in zip(pixel, cdl.slope, cdl.offset, cdl.power, strict=True):
            out = value * slope + offset
            sop.append(out**power if out >= 0 else out)
        luma = 0.2126 * sop[0] + 0.7152 * sop[1] + 0.0722 * sop[2]
        result.append([luma + cdl.saturation * (value - luma) for value in sop])
    return np.array(result).T


def _cdl_of(kinds, settings, encoding="video"):
    """Return the CDL of a row of nodes called a, b, c..., whether it clamps, and what CODES become."""
    names = "abcdef"[: len(kinds)]
    inputs = ("scan", *names)
    nodes = tuple(NodeRef(name=n, kind=k, inputs=(i,)) for n, k, i in zip(names, kinds, inputs, strict=False))
    reel = Reel(
        scan=ScanRef(path="none.mkv", encoding=encoding, frames=1, width=1, height=1),
        chain=ChainRef(nodes=nodes, output=names[-1]),
        cues=(Cue(frame=0, settings=settings),),
    )
    opened = OpenedReel(Path("a.reel"), reel, CATALOGUE)
    with Grade(opened, threads=1) as grade:
        meant = grade.correct(0, CODES)
        cdl = exact_cdl(grade.program(0), opened, grade.cues.at(0))
    return cdl, cdl.clamp == "yes", meant


@pytest.mark.parametrize(
    ("cdl", "expected"),
    [
        # CLF specification v3.0, the numbers of example 12; results by arithmetic.
        (Cdl((1, 1, 0.9), (-0.03, -0.02, 0), (1.25, 1, 1), 1.7), (0.39976, 0.384197, 0.197197)),
        (Cdl(saturation=0.0), (0.41404, 0.41404, 0.41404)),
        (Cdl(saturation=0.75), (0.47851, 0.40351, 0.32851)),
    ],
)
def test_ten_numbers_do_what_the_specification_says(cdl, expected):
    result = cdl.apply(np.array([[0.5], [0.4], [0.3]]))
    np.testing.assert_allclose(result[:, 0], expected, atol=1e-6)
    np.testing.assert_allclose(cdl.apply(CODES), _plain(cdl, CODES), atol=1e-12)


@given(data=st.data())
def test_a_primary_and_a_saturation_are_an_exact_cdl(any_settings, data):
    primary = data.draw(any_settings(CATALOGUE.find("primary"), 0.4))
    saturation = data.draw(st.floats(0, 2))
    settings = {f"a.{key}": value for key, value in primary.items()} | {"b.amount": saturation}
    cdl, held, meant = _cdl_of(["primary", "saturation"], settings)
    assert not held
    above = (CODES * np.array(cdl.slope)[:, None] + np.array(cdl.offset)[:, None] >= 0).all(axis=0)
    assume(above.mean() > 0.3)
    np.testing.assert_allclose(_plain(cdl, CODES)[:, above], meant[:, above], rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("clamp", ["no", "yes"])
def test_a_cdl_node_leaves_as_its_own_numbers(clamp):
    numbers = {"slope": (1.1, 1.0, 0.9), "offset": (-0.03, 0.0, 0.02), "power": (1.25, 1.0, 0.8)}
    settings = {f"a.{key}": value for key, value in numbers.items()}
    cdl, held, _ = _cdl_of(["cdl"], settings | {"a.saturation": 1.4, "a.clamp": clamp})
    for key, value in numbers.items():
        np.testing.assert_allclose(getattr(cdl, key), value, rtol=1e-12, atol=1e-12)
    assert cdl.saturation == pytest.approx(1.4, abs=1e-12)
    assert held == (clamp == "yes")


@pytest.mark.parametrize(
    ("kinds", "settings"),
    [
        ([], {}),
        (["saturation", "saturation"], {"a.amount": 0.5, "b.amount": 1.6}),
        (["primary", "primary"], {"a.gain": 1.2, "a.lift": 0.05, "b.gamma": 1.3, "b.lift": -0.02}),
        (["primary", "saturation"], {"a.gain_balance": (1.2, 1.0, 0.8), "b.amount": 0.0}),
        (["primary", "curves", "white_balance"], {"a.gamma": 1.2}),
        (["cdl", "saturation"], {"a.power": (2.0, 2.0, 2.0), "a.saturation": 0.5, "b.amount": 1.5}),
        (["primary", "saturation"], {"a.gain": 1.4, "a.lift_balance": (0.1, 0.0, -0.1), "b.amount": 1.3}),
    ],
)
def test_other_chains_that_are_cdls_are_found_to_be(kinds, settings):
    cdl, _, meant = _cdl_of(kinds or ["saturation"], settings)
    above = (CODES * np.array(cdl.slope)[:, None] + np.array(cdl.offset)[:, None] >= 0).all(axis=0)
    np.testing.assert_allclose(_plain(cdl, CODES)[:, above], meant[:, above], rtol=1e-6, atol=1e-9)


POWER, SATURATED = {"a.power": (1.25, 1.0, 0.8)}, {"a.saturation": 1.4}
SLOPED = {"a.slope": (1.5, 1.0, 0.9), "a.offset": (-0.1, 0.0, 0.2)}


@pytest.mark.parametrize(
    "settings",
    [
        {},
        SLOPED,
        POWER,
        SATURATED,
        SLOPED | POWER,
        SLOPED | SATURATED,
        POWER | SATURATED,
        SLOPED | POWER | SATURATED,
    ],
)
def test_a_clamped_cdl_is_the_clamped_form_of_its_numbers(settings):
    cdl, held, meant = _cdl_of(["cdl"], settings | {"a.clamp": "yes"})
    assert held
    # Style Fwd of the CLF specification's ASC_CDL, written out.
    slope, offset, power = (np.array(n)[:, None] for n in (cdl.slope, cdl.offset, cdl.power))
    sop = np.clip(CODES * slope + offset, 0, 1) ** power
    luma = np.tensordot([0.2126, 0.7152, 0.0722], sop, 1)
    written_out = np.clip(luma + cdl.saturation * (sop - luma), 0, 1)
    np.testing.assert_allclose(written_out, meant, atol=1e-6)
    np.testing.assert_allclose(cdl.apply(CODES), meant, atol=1e-6)


def test_a_primary_that_is_held_at_its_end_alone_is_a_clamped_cdl():
    limits = {"a.gain": 1.5, "a.gamma": 1.3, "b.clamp": "yes"}
    cdl, held, meant = _cdl_of(["primary", "cdl"], limits)
    assert held
    np.testing.assert_allclose(cdl.apply(CODES), meant, atol=1e-6)


@pytest.mark.parametrize(
    "settings",
    [
        {"a.gain": 1.5, "b.amount": 0.5, "c.clamp": "yes"},
        {"a.gain": 1.5, "a.gamma": 1.2, "b.amount": 0.5, "c.clamp": "yes"},
    ],
)
def test_what_is_held_after_the_saturation_alone_is_no_clamped_cdl(settings):
    # Above white before the saturation, and not behind it: a clamped CDL would have cut that.
    with pytest.raises(BadInput, match="values are held to 0 and 1 where a CDL does not hold them"):
        _cdl_of(["primary", "saturation", "cdl"], settings)


@pytest.mark.parametrize(
    ("kinds", "settings", "encoding", "says"),
    [
        (["primary"], {}, "density", "the scan is in density, and a CDL knows nothing of signals"),
        (["primary", "curves"], {"b.red": ((0, 0), (0.4, 0.6), (1, 1))}, "video", r"the node b \(curves\)"),
        (["white_balance"], {"a.target": 5000.0}, "video", r"the node a \(white_balance\) cannot be said"),
        (["exposure", "primary"], {"a.stops": 1.0}, "video", r"the node a \(exposure\)"),
        (["primary", "primary"], {"a.gamma": 1.2, "a.lift": 0.1, "b.lift": 0.1}, "video", "after the power"),
        # Gain 1.25 over lift 0.2 leaves the slope at 1: after the power something is added, and that is all.
        (["primary", "primary"], {"a.gamma": 1.2, "b.gain": 1.25, "b.lift": 0.2}, "video", "is added after"),
        (["primary", "primary"], {"a.gamma": 1.2, "b.gamma": 1.3, "b.lift": 0.1}, "video", "powers follow"),
        (
            ["saturation", "primary"],
            {"a.amount": 0.5, "b.gamma": 1.3},
            "video",
            "colours meet before the power",
        ),
        (
            ["saturation", "primary"],
            {"a.amount": 0.5, "b.gain_balance": (1.2, 1.0, 0.8)},
            "video",
            "mixed otherwise",
        ),
    ],
)
def test_what_is_no_cdl_is_refused_with_the_reason(kinds, settings, encoding, says):
    with pytest.raises(BadInput, match=says) as refused:
        _cdl_of(kinds, settings, encoding)
    assert str(refused.value).startswith("This cue is not an exact CDL: ")
    assert str(refused.value).endswith("; give --fit for the nearest one and its error.")
