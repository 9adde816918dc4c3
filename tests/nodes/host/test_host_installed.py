"""Plug-ins that come as installed distributions: found by their entry points, without being imported."""

import sys
from pathlib import Path

import pytest

from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.host.find import find_plugins, module_source
from lamphouse.nodes.host.plugins import State

MODULE = """
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
LAMPHOUSE = {"contract": 1, "nodes": {"tint": "Tints."}}
GAIN = Parameter("gain", "A factor.", 1.0, high=2.0)
NODES = (Node("tint", "Tints.", Signal.VIDEO, Reach.POINT, (GAIN,), lambda picture, p: picture * p.gain),)
"""


@pytest.fixture
def site(tmp_path, monkeypatch):
    """A folder of installed packages with the distribution `film-looks` 0.3."""
    package = tmp_path / "invented_film_looks"
    (package / "deep").mkdir(parents=True)
    (package / "__init__.py").write_text(
        "from pathlib import Path\nPath(__file__).with_suffix('.ran').touch()\n"
    )
    (package / "deep" / "tinting.py").write_text(MODULE)
    _entries(tmp_path, "tinting = invented_film_looks.deep.tinting")
    monkeypatch.syspath_prepend(tmp_path)
    yield tmp_path
    for name in [name for name in sys.modules if name.startswith("invented_film_looks")]:
        del sys.modules[name]


def _entries(site: Path, lines: str) -> None:
    info = site / "film_looks-0.3.dist-info"
    info.mkdir(exist_ok=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: film-looks\nVersion: 0.3\n")
    (info / "entry_points.txt").write_text(f"[lamphouse.nodes]\n{lines}\n")


def test_an_installed_plugin_is_found_unimported_and_used_when_asked_for(site):
    catalogue = Catalogue(NODES, lambda: find_plugins({}))
    (plugin,) = catalogue.plugins
    assert (plugin.found.origin, plugin.state, plugin.troubles) == ("film-looks 0.3", State.ENABLED, ())
    assert not list(site.rglob("*.ran"))
    assert "invented_film_looks" not in sys.modules
    assert catalogue["tint"].sentence == "Tints."
    assert plugin.state == State.IN_USE
    assert list(site.rglob("*.ran"))


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("t = nowhere_to_be_found.nodes", "film-looks 0.3: the source of nowhere_to_be_found.nodes is not"),
        (
            "t = invented_film_looks.gone",
            "film-looks 0.3: the source of invented_film_looks.gone is not there",
        ),
        ("t = invented_film_looks", "__init__.py has no manifest"),
        ("t = not a module!", "film-looks 0.3: its entry point not a module! cannot be followed"),
    ],
)
def test_an_entry_that_leads_nowhere_is_told_and_the_rest_is_found(site, lines, says):
    _entries(site, f"{lines}\nz = invented_film_looks.deep.tinting")
    broken, sound = find_plugins({}).plugins
    assert says in broken.trouble
    assert broken.manifest is None
    assert sound.manifest is not None


def test_the_source_of_a_module_is_found_by_its_path(site):
    assert module_source("invented_film_looks") == site / "invented_film_looks" / "__init__.py"
    assert module_source("json.decoder").name == "decoder.py"
    assert module_source("this") == Path(sys.modules["os"].__file__).with_name("this.py")
    assert module_source("sys") is None
