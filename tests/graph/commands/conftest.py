"""Commands as they are typed; and a small reel of stills with one more node in its chain, for plug-ins."""

import json
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import OpenImageIO as oiio
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app, main
from lamphouse.nodes.host.find import FOLDERS, SWITCHED_OFF

WIDTH, HEIGHT = 32, 24


@pytest.fixture
def typed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int | str, str, str]]:
    """A function that runs the command with what is typed and returns its status, answer and sentence."""
    monkeypatch.chdir(tmp_path)

    def call(*words: object) -> tuple[int | str, str, str]:
        monkeypatch.setattr(sys, "argv", ["lamphouse", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            main()
        return end.value.code or 0, *capsys.readouterr()

    return call


@pytest.fixture
def codes() -> np.ndarray:
    """The codes of the reel's only frame, (HEIGHT, WIDTH, 3), 0 to 0.5 of reference white."""
    return np.random.default_rng(8).integers(0, 32768, (HEIGHT, WIDTH, 3)).astype(np.uint16)


@pytest.fixture
def reel_with(tmp_path: Path, codes: np.ndarray) -> Callable[..., Path]:
    """A function that starts a reel whose chain is one node `it`, of a kind and with settings."""

    def make(kind: str, **settings: float) -> Path:
        (tmp_path / "film").mkdir()
        write(tmp_path / "film" / "f_0000.tif", codes)
        path = tmp_path / "film.reel"
        result = CliRunner().invoke(
            _app(), ["new", str(path), "--scan", str(tmp_path / "film"), "--rate", "18"]
        )
        assert result.exit_code == 0, result.output
        document = json.loads(path.read_text())
        document["chain"] = {"nodes": [{"name": "it", "kind": kind, "inputs": ["scan"]}], "output": "it"}
        document["cues"][0]["settings"] = {f"it.{name}": value for name, value in settings.items()}
        path.write_text(json.dumps(document))
        return path

    return make


@pytest.fixture
def no_plugins(monkeypatch: pytest.MonkeyPatch) -> None:
    """No plug-in is named where the tests run, and what a test names is forgotten."""
    for name in (FOLDERS, SWITCHED_OFF):
        monkeypatch.setenv(name, "")


def write(path: Path, codes: np.ndarray) -> None:
    height, width, _ = codes.shape
    output = oiio.ImageOutput.create(str(path))
    output.open(str(path), oiio.ImageSpec(width, height, 3, "uint16"))
    output.write_image(codes)
    output.close()


@pytest.fixture
def read_still() -> Callable[[Path], np.ndarray]:
    """A function from a still to its values, (h, w, 3), 0 to 1, read by OpenImageIO."""

    def read(path: Path) -> np.ndarray:
        return np.asarray(oiio.ImageInput.open(str(path)).read_image("float"))

    return read
