"""Plug-ins that come as installed distributions: found by their entry points, without being imported."""

import sys
from pathlib import Path

import pytest

from lamphouse.nodes.apply import apply
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


def test_what_an_installed_plugin_prints_does_not_get_into_our_answers(site, capsys):
    source = site / "invented_film_looks" / "deep" / "tinting.py"
    source.write_text(MODULE.replace("lambda picture, p: picture * p.gain", "body"))
    body = "def body(picture, p):\n    print('at work')\n    return picture * p.gain\n"
    source.write_text(body + source.read_text())
    apply(Catalogue(NODES, lambda: find_plugins({}))["tint"], [[0.5, 0.5, 0.5]])
    out, err = capsys.readouterr()
    assert (out, set(err.split("\n"))) == ("", {"at work", ""})


NOWHERE, GONE, PACKAGE = "nowhere_to_be_found.nodes", "invented_film_looks.gone", "invented_film_looks"


@pytest.mark.parametrize(
    ("target", "module", "says"),
    [
        (NOWHERE, NOWHERE, f"film-looks 0.3: the source of {NOWHERE} is not there, and it holds"),
        (GONE, GONE, f"film-looks 0.3: the source of {GONE} is not there, and it holds"),
        (PACKAGE, PACKAGE, "__init__.py has no manifest"),
        ("a.b!", "", "film-looks 0.3: its entry point a.b! cannot be followed ("),
    ],
)
def test_an_entry_that_leads_nowhere_is_told_and_the_rest_is_found(site, target, module, says):
    _entries(site, f"t = {target}\nz = invented_film_looks.deep.tinting")
    broken, sound = find_plugins({}).plugins
    assert says in broken.trouble
    assert "(NoneType" not in broken.trouble  # of what type the error is depends on the version of Python
    assert (broken.name, broken.origin, broken.module) == ("t", "film-looks 0.3", module)
    assert (broken.source is None) is (target != PACKAGE)
    assert broken.manifest is None
    assert (sound.name, sound.origin) == ("z", "film-looks 0.3")
    assert sound.manifest is not None


def test_what_is_wrong_with_an_installed_plugin_is_told_with_its_file(site):
    source = site / "invented_film_looks" / "deep" / "tinting.py"
    source.write_text(MODULE.replace('"contract": 1', '"contract": 2'))
    (plugin,) = Catalogue(NODES, lambda: find_plugins({})).plugins
    (trouble,) = plugin.troubles
    assert trouble.startswith(f"{source} needs contract 2")


def test_the_code_of_a_plugin_is_its_file_or_every_file_of_its_package(site):
    package = site / "invented_film_looks"
    _entries(site, "a = invented_film_looks\nb = invented_film_looks.deep.tinting\nc = nowhere_to_be_found")
    files = [plugin.files for plugin in find_plugins({}).plugins]
    assert files == [
        [package / "__init__.py", package / "deep" / "tinting.py"],
        [package / "deep" / "tinting.py"],
        [],
    ]


def test_the_source_of_a_module_is_found_by_its_path(site):
    assert module_source("invented_film_looks") == site / "invented_film_looks" / "__init__.py"
    assert module_source("json.decoder").name == "decoder.py"
    assert module_source("importlib.metadata").parts[-2:] == ("metadata", "__init__.py")
    assert module_source("this") == Path(sys.modules["os"].__file__).with_name("this.py")
    assert module_source("sys") is None
