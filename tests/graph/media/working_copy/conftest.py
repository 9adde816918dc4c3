"""Small scans of real photographs (those of scikit-image), and the cache folder of a test alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from skimage import data

from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.working_copy.copy import working_copy_of
from lamphouse.graph.media.working_copy.make import make_working_copy
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.graph.reel.records import ScanRef

NO_SPARE = Room(spare=0)  # the disk of the tests may be as full as it is


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    """The folder of what can be made again, empty."""
    folder = tmp_path / "cache"
    monkeypatch.setenv(CACHE_VARIABLE, str(folder))
    return folder


@pytest.fixture(scope="session")
def photograph():
    """A function from a width and a height to a part of a photograph, (3, h, w), 0 to 1."""
    image = data.astronaut().astype(np.float32) / 255

    def cut(width, height, shift=0):
        return np.ascontiguousarray(np.moveaxis(image[40 : 40 + height, shift : shift + width], -1, 0))

    return cut


@pytest.fixture
def reference():
    """A function from the path of a scan to what a reel says of it."""

    def of(path, encoding="video", **overrides):
        with open_scan(path, matrix=overrides.get("matrix"), range_=overrides.get("range")) as scan:
            return ScanRef(
                path=str(path),
                encoding=encoding,
                frames=scan.frames,
                width=scan.width,
                height=scan.height,
                **overrides,
            )

    return of


@pytest.fixture
def made(reference):
    """A function that makes the whole working copy of the scan at a path."""

    def make(path: Path, encoding="video", **overrides):
        scan = reference(path, encoding, **overrides)
        copy = working_copy_of(scan, path)
        make_working_copy(copy, lambda: open_scan(path, matrix=scan.matrix, range_=scan.range), room=NO_SPARE)
        return copy

    return make
