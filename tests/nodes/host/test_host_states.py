"""Plug-ins found, enabled and in use; whatever is wrong with one is told, and the rest goes on."""

import os
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from lamphouse.nodes.apply import apply
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.host import load
from lamphouse.nodes.host.find import FOLDERS, SWITCHED_OFF, find_plugins
from lamphouse.nodes.host.plugins import State

MANIFEST = 'LAMPHOUSE = {"contract": 1, "nodes": {"tint": "Tints."}}\n'
CODE = """
from pathlib import Path
from lamphouse.nodes.contract import Node, Parameter, Reach, Signal
Path(__file__).with_suffix(".ran").touch()
GAIN = Parameter("gain", "A factor.", 1.0, high=2.0)
def body(picture, p):
    return picture * p.gain
NODES = (Node("tint", "Tints.", Signal.VIDEO, Reach.POINT, (GAIN,), body),)
"""


def _write(folder: Path, text: str, name: str = "tinting") -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.py"
    path.write_text(text)
    return path


def _catalogue(*folders: Path, off: str = "") -> Catalogue:
    environment = {FOLDERS: os.pathsep.join(map(str, folders)), SWITCHED_OFF: off}
    return Catalogue(NODES, lambda: find_plugins(environment))


def test_a_plugin_is_found_and_enabled_without_being_run_and_in_use_when_a_node_is_asked_for(tmp_path):
    path = _write(tmp_path, MANIFEST + CODE)
    catalogue = _catalogue(tmp_path)
    (plugin,) = catalogue.plugins
    assert "tint" in catalogue.names
    assert catalogue["primary"].name == "primary"
    assert "primry" not in catalogue
    assert catalogue.reason("tnit") == "no plug-in here has tnit (did you mean tint?)"
    assert (plugin.state, plugin.troubles) == (State.ENABLED, ())
    assert not path.with_suffix(".ran").exists()
    assert catalogue["tint"] is catalogue.find("tint")
    assert (plugin.state, plugin.troubles) == (State.IN_USE, ())
    assert path.with_suffix(".ran").exists()
    assert catalogue.source("tint") == str(path)
    assert catalogue.reason("zzzz") == "no plug-in here has zzzz"
    assert list(catalogue) == [*(node.name for node in NODES), "tint"]
    assert len(catalogue) == len(NODES) + 1


def test_a_catalogue_by_itself_holds_our_own_nodes_only(tmp_path, monkeypatch):
    _write(tmp_path, MANIFEST + CODE)
    monkeypatch.setenv(FOLDERS, str(tmp_path))
    assert list(Catalogue().values()) == list(NODES)


def test_plugins_are_not_looked_for_while_our_own_nodes_do():
    def find():
        raise AssertionError("looked for")

    assert Catalogue(NODES, find)["primary"].name == "primary"
    with pytest.raises(AssertionError):
        Catalogue(NODES, find).get("tint")


def test_a_plugin_that_is_switched_off_stays_found_and_is_not_run(tmp_path):
    path = _write(tmp_path, MANIFEST + CODE)
    catalogue = _catalogue(tmp_path, off=" tinting ,tintin")
    (plugin,) = catalogue.plugins
    assert "tint" not in catalogue
    assert plugin.state == State.FOUND
    reason = "its plug-in tinting is switched off by LAMPHOUSE_PLUGINS_OFF"
    assert catalogue.reason("tint") == reason
    with pytest.raises(BadInput, match=rf"^The node tint is not available, for {reason}\.$"):
        catalogue.find("tint")
    assert catalogue.plugins.troubles == (
        "LAMPHOUSE_PLUGINS_OFF names tintin, which is not found (did you mean tinting?).",
    )
    assert not path.with_suffix(".ran").exists()


BEFORE = {
    "syntax": ("x = (\n", r"tinting\.py, line 1 is not Python \('\(' was never closed\)\."),
    "nul": (
        MANIFEST + "\0",
        r"tinting\.py(, line \d+)? is not Python \(source code string cannot contain null",
    ),
    "no manifest": (CODE, r"tinting\.py has no manifest; write LAMPHOUSE = \{.* at its top\."),
    "computed": ("\nLAMPHOUSE = dict(contract=1)\n", r"tinting\.py, line 2: LAMPHOUSE must be written out"),
    "no contract": ('LAMPHOUSE = {"nodes": {"a": "A."}}', r"line 1: LAMPHOUSE names no contract"),
    "true": ('LAMPHOUSE = {"contract": True, "nodes": {}}', r"line 1: LAMPHOUSE names no contract"),
    "no nodes": ('LAMPHOUSE = {"contract": 1}', r"line 1: LAMPHOUSE names no nodes"),
    "name": ('LAMPHOUSE = {"contract": 1, "nodes": {"a.b": "A."}}', r"a node cannot be called 'a\.b'"),
    "no dict": ("LAMPHOUSE = 1", r"line 1: LAMPHOUSE names no contract"),
    "list of nodes": ('LAMPHOUSE = {"contract": 1, "nodes": ["a"]}', r"line 1: LAMPHOUSE names no nodes"),
    "keyword": ('LAMPHOUSE = {"contract": 1, "nodes": {"if": "A."}}', r"a node cannot be called 'if'"),
    "sentence": ('LAMPHOUSE = {"contract": 1, "nodes": {"a": ""}}', r"line 1: the node a has no sentence"),
}


def test_a_plugin_of_contract_1_works_by_its_older_names(tmp_path):
    stored = Path(__file__).parent / "contract_1.py"
    (tmp_path / "edges.py").write_bytes(stored.read_bytes())
    catalogue = _catalogue(tmp_path)
    node = catalogue.find("edge_tint")
    made = apply(node, np.full((1, 3), 0.8), settings={"key": 1.0}, places=np.array([[0.5, 0.25]]))
    np.testing.assert_allclose(made, 0.8 * (1 - 0.25 * 0.75))


@pytest.mark.parametrize("case", BEFORE)
def test_what_cannot_be_read_is_told_with_its_file_and_line_and_not_run(tmp_path, case):
    text, says = BEFORE[case]
    path = _write(tmp_path, text)
    catalogue = _catalogue(tmp_path)
    (plugin,) = catalogue.plugins
    assert plugin.state == State.FOUND
    (trouble,) = plugin.troubles
    assert re.search(says, trouble), trouble
    assert str(path) in trouble
    assert trouble.endswith(".")
    assert catalogue.reason("a").endswith("though tinting cannot be read (see `lamphouse nodes`)")
    assert list(catalogue) == [node.name for node in NODES]


def test_every_plugin_that_cannot_be_read_is_named_where_a_node_is_missing(tmp_path):
    for name in ("one", "two"):
        _write(tmp_path, CODE, name)
    says = "though one and two cannot be read (see `lamphouse nodes`)"
    assert _catalogue(tmp_path).reason("a").endswith(says)


def test_a_folder_with_the_name_of_a_plugin_is_told_and_a_manifest_may_have_its_type(tmp_path):
    (tmp_path / "a.py").mkdir()
    typed = MANIFEST.replace("LAMPHOUSE =", "OTHER = 1\nLAMPHOUSE: dict =") + CODE
    _write(tmp_path, typed, "b")
    _write(tmp_path, MANIFEST, ".hidden")
    folder, plugin = _catalogue(tmp_path).plugins
    assert folder.troubles == (f"{tmp_path / 'a.py'} cannot be read (Is a directory).",)
    assert plugin.nodes == {"tint": "Tints."}


def test_what_a_later_manifest_says_is_taken_as_far_as_it_can_be_read(tmp_path):
    _write(tmp_path, 'LAMPHOUSE = {"contract": 9, "nodes": {"a": "A.", "b": 3}}', "a")
    _write(tmp_path, 'LAMPHOUSE = {"contract": 9, "nodes": ["c"]}', "b")
    _write(tmp_path, 'LAMPHOUSE = {"contract": 9}', "c")
    assert [plugin.nodes for plugin in _catalogue(tmp_path).plugins] == [{"a": "A.", "b": "3"}, {}, {}]


def test_a_plugin_may_have_dataclasses_of_its_own(tmp_path):
    head = (
        "from __future__ import annotations\nfrom dataclasses import dataclass\nfrom typing import ClassVar\n"
    )
    own = "@dataclass\nclass Point:\n    x: float\n    at: ClassVar[int] = 0\n"
    _write(tmp_path, head + MANIFEST + own + CODE)
    assert "tint" in _catalogue(tmp_path)


def test_a_plugin_for_a_later_lamphouse_is_found_and_says_what_to_do(tmp_path):
    path = _write(tmp_path, MANIFEST.replace("1", "2") + CODE)
    catalogue = _catalogue(tmp_path)
    (plugin,) = catalogue.plugins
    needs = "needs contract 2, this Lamphouse has 1; update Lamphouse"
    assert "tint" not in catalogue
    assert catalogue.reason("tint") == f"its plug-in tinting {needs}"
    assert plugin.troubles == (f"{path} {needs}.",)
    assert plugin.state == State.FOUND
    assert not path.with_suffix(".ran").exists()


AFTER = {
    "module": ("import nowhere_at_all\n", "cannot be imported (ModuleNotFoundError: No module named 'no", 2),
    "raises": ("1 / 0\n", "cannot be imported (ZeroDivisionError: division by zero", 2),
    "exits": ("raise SystemExit(3)\n", "cannot be imported (SystemExit: 3", 2),
    "interrupts": ("raise KeyboardInterrupt\n", "cannot be imported (KeyboardInterrupt", 2),
    "no nodes": ("", "has no NODES; write NODES = (Node(...), ...)", None),
    "other thing": ('NODES = ("tint",)\n', "NODES holds str, not Node", None),
    "other name": (CODE.replace('"tint"', '"tnit"'), "NODES has no tint, which the manifest names", None),
    "twice": (CODE + "NODES += NODES\n", "NODES has two nodes called tint", None),
    "signature": (CODE.replace("(picture, p)", "(picture)"), "body is given (picture, p) and takes", 7),
    "declaration": (CODE.replace("1.0,", "3.0,"), "gain: its default = 3 is outside its range 0 to 2", None),
    "two faults": (
        CODE.replace('"A factor."', '""').replace("high=", 'source="", high='),
        "full stop; parameter gain: its source must say where its range comes from.",
        None,
    ),
    "traced": (CODE.replace("picture *", "abs(picture) *"), "cannot be traced (TypeError: bad operand", 8),
    "not neutral": (CODE.replace("gain\nN", "gain + 0.1\nN"), "its defaults it must change nothing", None),
    "not finite": (CODE.replace("p.gain\n", "(1 / p.gain)\n"), "are not finite with gain = 0.0", None),
}


@pytest.mark.parametrize("case", AFTER)
def test_what_is_wrong_with_code_is_told_and_stops_nothing(tmp_path, case):
    code, says, line = AFTER[case]
    path = _write(tmp_path, MANIFEST + code)
    _write(tmp_path, MANIFEST.replace("tint", "wash") + CODE.replace('"tint"', '"wash"'), "washing")
    reason = _catalogue(tmp_path).reason("tint")
    catalogue = _catalogue(tmp_path)
    plugin, other = catalogue.plugins
    assert ("tint" in catalogue) is (case == "twice")
    clause = reason.removeprefix("its plug-in tinting has trouble (").removesuffix(")")
    assert clause in [trouble.removeprefix(f"{path}: ").removesuffix(".") for trouble in plugin.troubles]
    text = " ".join(plugin.troubles)
    assert says in text
    assert line is None or f"{path} line {line}" in text
    assert text.startswith(str(path))
    assert text.endswith(".")
    if case != "twice":
        assert plugin.state == State.ENABLED
        assert catalogue.get("tint") is None
        with pytest.raises(BadInput, match=r"^The node tint is not available, for its plug-in tinting has"):
            catalogue.find("tint")
    assert catalogue["wash"].name == "wash"
    assert (other.state, other.troubles) == (State.IN_USE, ())


def test_a_plugin_that_does_not_come_back_is_left_alone(tmp_path, monkeypatch):
    monkeypatch.setattr(load, "LONGEST", 0.05)
    path = _write(tmp_path, MANIFEST + "import threading\nthreading.Event().wait(5)\n")
    catalogue = _catalogue(tmp_path)
    assert "tint" not in catalogue
    (plugin,) = catalogue.plugins
    assert plugin.troubles == (f"{path} is still being imported after 0.05 s.",)


def test_many_threads_that_ask_at_once_run_it_once(tmp_path):
    count = "with Path(__file__).with_suffix('.count').open('a') as file: file.write('1')\n"
    path = _write(tmp_path, MANIFEST + CODE + count + "import time\ntime.sleep(0.05)\n")
    catalogue = _catalogue(tmp_path)
    with ThreadPoolExecutor(4) as pool:
        nodes = set(map(id, pool.map(catalogue.get, ["tint"] * 4)))
    assert nodes == {id(catalogue["tint"])}
    assert path.with_suffix(".count").read_text() == "1"


def test_what_its_maths_raises_later_is_one_sentence(tmp_path):
    derive = (
        "def derive(values):\n    return {'factor': numpy.ones((1, 1)) * (1 // int(values['gain'] != 0.3))}\n"
    )
    code = CODE.replace("p.gain", "p.factor * p.gain").replace("body),", "body, derive=derive),")
    path = _write(tmp_path, MANIFEST + "import numpy\n" + derive + code)
    node = _catalogue(tmp_path)["tint"]
    apply(node, [0.1, 0.2, 0.3], settings={"gain": 0.4})
    says = rf"^The node tint failed \(ZeroDivisionError.*{path} line 4\); switch it off, or ask its author\.$"
    with pytest.raises(BadInput, match=says):
        apply(node, [0.1, 0.2, 0.3], settings={"gain": 0.3})


def test_a_slow_plugin_is_used_and_told(tmp_path, monkeypatch):
    monkeypatch.setattr(load, "SLOW", 0.0)
    path = _write(tmp_path, MANIFEST + CODE)
    catalogue = _catalogue(tmp_path)
    assert "tint" in catalogue
    (plugin,) = catalogue.plugins
    assert plugin.state == State.IN_USE
    assert plugin.troubles == (f"{path} took 0.0 s to import.",)


def test_what_a_plugin_prints_does_not_get_into_our_answers(tmp_path, capsys):
    _write(tmp_path, MANIFEST + CODE + "print('hello')\n")
    assert "tint" in _catalogue(tmp_path)
    assert capsys.readouterr() == ("", "hello\n")


def test_what_its_maths_prints_later_does_not_either(tmp_path, capsys):
    prints = """def body(picture, p):
    print("at", "work", sep="-", end=".")
    with open(__file__ + ".log", "w") as log:
        print("here", file=log)
"""
    path = _write(tmp_path, MANIFEST + CODE.replace("def body(picture, p):\n", prints))
    node = _catalogue(tmp_path)["tint"]
    capsys.readouterr()
    apply(node, [[0.5, 0.5, 0.5]])
    assert capsys.readouterr() == ("", "at-work.")
    assert path.with_name(f"{path.name}.log").read_text() == "here\n"


def test_a_name_that_is_taken_stays_with_whom_it_belongs_to(tmp_path):
    first = _write(tmp_path / "a", MANIFEST + CODE)
    both = MANIFEST.replace('{"tint"', '{"primary": "Ours.", "tint"')
    second = _write(tmp_path / "b", both + CODE)
    catalogue = _catalogue(tmp_path / "a", tmp_path / "b")
    assert catalogue.source("tint") == str(first)
    assert catalogue["primary"] in NODES
    assert catalogue["tint"].body.__wrapped__.__code__.co_filename == str(first)
    assert list(catalogue.plugins)[1].troubles == (
        f"{second}: the name primary is taken by a node that comes with Lamphouse.",
        f"{second}: the name tint is taken by the plug-in tinting ({first}).",
    )
    assert not second.with_suffix(".ran").exists()


def test_a_name_is_free_again_where_the_first_that_has_it_is_switched_off(tmp_path):
    _write(tmp_path / "a", MANIFEST + CODE, "first")
    second = _write(tmp_path / "b", MANIFEST + CODE, "second")
    catalogue = _catalogue(tmp_path / "a", tmp_path / "b", off="first")
    assert catalogue["tint"].body.__wrapped__.__code__.co_filename == str(second)


def test_two_plugins_do_not_see_each_other_though_their_files_have_one_name(tmp_path):
    counting = "SEEN = []\n" + CODE + "SEEN.append(NODES[0].name)\nNODES[0].body.seen = SEEN\n"
    _write(tmp_path / "a", MANIFEST + counting)
    _write(tmp_path / "b", (MANIFEST + counting).replace('"tint"', '"wash"'))
    catalogue = _catalogue(tmp_path / "a", tmp_path / "b")
    assert catalogue["tint"].body.seen == ["tint"]
    assert catalogue["wash"].body.seen == ["wash"]
    assert catalogue["tint"].body.__module__ != catalogue["wash"].body.__module__


def test_a_folder_that_is_not_there_is_told_and_files_with_an_underscore_are_not_plugins(tmp_path):
    _write(tmp_path, "not python at all", "_shared")
    _write(tmp_path, MANIFEST + CODE)
    catalogue = _catalogue(tmp_path / "gone", tmp_path)
    assert [plugin.found.name for plugin in catalogue.plugins] == ["tinting"]
    assert catalogue.plugins.troubles == (
        f"The plug-in folder {tmp_path / 'gone'} cannot be read (No such file or directory).",
    )
