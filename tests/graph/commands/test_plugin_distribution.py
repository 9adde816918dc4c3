"""A plug-in as somebody else ships it: built as a wheel of its own, installed, and seen in the picture."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from lamphouse.presets import __file__ as presets

EXAMPLE = Path(presets).with_name("plugins") / "vignette.py"

PROJECT = """
[build-system]
requires = ["hatchling"]
build-backend = "hatchling.build"

[project]
name = "invented-lens-corrections"
version = "0.7"

[project.entry-points."lamphouse.nodes"]
corners = "invented_lens_corrections.corners"

[tool.hatch.build.targets.wheel]
packages = ["invented_lens_corrections"]
"""


@pytest.fixture
def site(tmp_path):
    """A folder with the example installed from a wheel, with no network and nothing but itself."""
    project = tmp_path / "project"
    package = project / "invented_lens_corrections"
    package.mkdir(parents=True)
    (project / "pyproject.toml").write_text(PROJECT)
    (package / "__init__.py").write_text("")
    (package / "corners.py").write_text(EXAMPLE.read_text())
    _python("-m", "build", "--wheel", "--no-isolation", "--outdir", tmp_path, project)
    (wheel,) = tmp_path.glob("*.whl")
    pip = ("-m", "pip", "install", "--no-deps", "--no-index", "--disable-pip-version-check")
    _python(*pip, "--target", tmp_path / "site", wheel)
    return tmp_path / "site"


def _python(*words, **variables):
    command = [sys.executable, *map(str, words)]
    done = subprocess.run(
        command, check=False, capture_output=True, text=True, env=os.environ | variables, timeout=60
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.usefixtures("no_plugins")
def test_an_installed_distribution_is_found_used_and_changes_the_picture(
    site, tmp_path, reel_with, codes, read_still, as_srgb
):
    reel, still = reel_with("vignette", darken=0.6), tmp_path / "still.tif"
    listed = _python("-m", "lamphouse", "nodes", PYTHONPATH=str(site))
    assert "Plug-in corners, in use: invented-lens-corrections 0.7\nvignette " in listed
    _python("-m", "lamphouse", "frame", reel, "0", "-o", still, PYTHONPATH=str(site))
    height, width, _ = codes.shape
    row, column = np.indices((height, width))
    squared = ((row + 0.5) / height - 0.5) ** 2 + ((column + 0.5 - width / 2) / height) ** 2
    share = (1 / (1 + 0.6 * squared)) ** (2 / 2.4)
    expected = as_srgb(codes / 65535 * share[..., None])
    np.testing.assert_allclose(read_still(still), expected, atol=2e-5)
