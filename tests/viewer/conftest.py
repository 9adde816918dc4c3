"""A short reel with a real scan, for the desk."""

from fractions import Fraction

import numpy as np
import pytest
import skimage.data

from lamphouse.graph.media.master import open_master
from lamphouse.graph.presets import chain_preset
from lamphouse.graph.reel import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.store import save
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.desk import Desk

FRAMES, WIDTH, HEIGHT = 40, 128, 96
SCAN = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le")


@pytest.fixture(scope="session")
def scan_file(tmp_path_factory):
    """A scan of scikit-image's cat, one column farther in every frame."""
    path = tmp_path_factory.mktemp("scan") / "scan.mkv"
    cat = np.moveaxis(skimage.data.chelsea()[::2, ::2].astype(np.float32) / 255, -1, 0)
    facts = {"rate": Fraction(24), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, SCAN, width=WIDTH, height=HEIGHT, **facts) as master:
        for n in range(FRAMES):
            master.write(np.ascontiguousarray(cat[:, 20 : 20 + HEIGHT, n : n + WIDTH]))
        master.finish()
    return path


@pytest.fixture
def reel_file(tmp_path, scan_file):
    """A saved reel with two cues, the second arriving over eight frames."""
    cues = (
        Cue(frame=4, name="one", settings={"primary.gain": 1.2}),
        Cue(frame=24, name="two", arrive="transition", over=8, settings={"primary.gain": 0.8}),
    )
    scan = ScanRef(path=str(scan_file), frames=FRAMES, width=WIDTH, height=HEIGHT)
    path = tmp_path / "cat.reel"
    save(path, Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues))
    return path


@pytest.fixture
def desk(reel_file):
    """A desk with that reel."""
    from lamphouse.graph.store import load

    return Desk(reel_file, load(reel_file), Catalogue())
