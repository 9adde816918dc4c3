"""A CDL that arrives in a chain does there what it says: run, and read back as the CDL of the cue."""

from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.edits.cdl import cdl_settings
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.handover.cue_cdl import cue_cdl
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.cdl import Cdl
from lamphouse.nodes.errors import BadInput

CATALOGUE = Catalogue()


def opened(chain, settings=()):
    scan = ScanRef(path="none.mkv", frames=1, width=1, height=1)
    cues = (Cue(frame=0, settings=dict(settings)),)
    return OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset(chain).chain, cues=cues), CATALOGUE)


def settings_of(cdl, chain, held=()):
    reel = opened(chain)
    return cdl_settings(cdl, reel.controls(), reel.reel.chain, dict(held))


@pytest.mark.parametrize("chain", ["cdl", "plain", "everyday"])
@pytest.mark.parametrize(
    "cdl",
    [
        Cdl((1.25, 1.0, 0.875), (-0.03, 0.0, 0.02), (1.1, 1.0, 0.9), 1.4),
        Cdl((4.0, 3.0, 2.0), (0.1, 0.2, 0.3), (0.7, 1.5, 2.5), 0.0),
        Cdl(),
    ],
)
def test_it_is_carried_exactly(cdl, chain):
    reel = opened(chain, settings_of(cdl, chain))
    with Grade(reel, threads=1) as grade:
        found = cue_cdl(reel, grade, reel.reel.cues[0]).cdl
    if cdl.saturation:  # of grey nobody can tell what made it
        np.testing.assert_allclose(found.ten, cdl.ten, atol=1e-9)
    codes = np.random.default_rng(7).uniform(0.1, 1, (3, 50))
    with Grade(reel, threads=1) as grade:
        np.testing.assert_allclose(grade.correct(0, codes), cdl.apply(codes), atol=1e-5)


@pytest.mark.parametrize(
    ("cdl", "chain", "held", "says"),
    [
        (Cdl(clamp="yes"), "plain", {}, "clamps, which a primary does not"),
        (Cdl(slope=(1.0, 1.0, 0.0)), "plain", {}, "leaves no white"),
        (Cdl(slope=(1.0, 1.0, 99.0)), "plain", {}, "primary.gain"),
        (Cdl(slope=(1.0, 1.0, 99.0)), "cdl", {}, "cdl.slope"),
        (Cdl(saturation=0.5), "everyday", {"curves.master": [[0, 0], [1, 0.9]]}, "No saturation follows"),
    ],
)
def test_what_no_node_carries_is_told(cdl, chain, held, says):
    with pytest.raises(BadInput, match=says):
        settings_of(cdl, chain, held)


def test_curves_that_are_off_are_in_nobodys_way():
    held = {"curves.master": [[0, 0], [1, 0.9]], "curves.on": "off"}
    assert settings_of(Cdl(saturation=0.5), "everyday", held)["saturation.amount"] == 0.5
