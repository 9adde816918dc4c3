"""Mutants of one room, and which of them its tests let live. It takes minutes and is no part of the suite.

    python -m pip install -e '.[mutation]'
    python tests/mutation/run.py graph/cues
    python tests/mutation/run.py viewer/models --sample 300 --seed 1

A mutant is a function with one thing in it changed. mutmut makes them and runs the tests of each, in a copy
under `build/mutation/` in which `lamphouse` is a plain folder, for it knows a module by its path. It leaves
out what is decorated, so in the copy a property is written as `name = property(function)`.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

import libcst as cst
from mutmut.mutation.diff_apply import get_diff_for_mutant
from mutmut.mutation.file_mutation import mutate_file_contents
from mutmut.stats import status_by_exit_code
from mutmut.utils.format_utils import get_mutant_name

ROOT = Path(__file__).parents[2]
PACKAGE = Path("src", "lamphouse")  # within the copy
ROOMS = ("nodes", "graph", "viewer", "presets")


def _files(room: str, names: str) -> list[str]:
    return [f"tests/{room}{name}.py" for name in names.split()]


EDITS = "test_edit test_marks test_start test_start_notes chain/test_rewire"
DESK = "comparison desk_commands desk_edits hands turn"
MODELS = "balance chain_map drags history keyboard neutral_and_meter points recovery snap transport_clock"
# Which tests are run: those of the room, and others that go through it quickly.
TESTS = {
    "graph/cues": ["tests/graph/cues"],
    "graph/edits": [*_files("graph/", EDITS), *_files("viewer/test_", "desk_commands desk_edits")],
    "nodes/host": ["tests/nodes/host", "tests/graph/chain/test_trial.py"],
    "viewer/models": _files("viewer/test_", f"{DESK} {MODELS} visibility_meter"),
    "viewer/turn": _files("viewer/test_", "compared counting hands turn turn_loop"),
}
# The longest test of those, a hand that drags at random, finds little that others do not.
LONGEST = "tests/viewer/test_drags.py::test_nothing_that_is_dragged_leaves_the_reel"
# Forked anew for each mutant from a process that has run nothing: threads do not outlive a fork.
SETTINGS = """
[tool.mutmut]
source_paths = ["src"]
only_mutate = ["src/lamphouse/{room}/*.py"]
pytest_add_cli_args_test_selection = {tests}
pytest_add_cli_args = ["--deselect", "{longest}"]
process_isolation = "forkserver"
timeout_multiplier = 5.0
use_git_change_detection = false
"""
# Heavy libraries, which the sources import where they are used, once and not for each mutant; and a failing
# example need not be made small.
CONFTEST = """
import av, llvmlite.binding, networkx, OpenImageIO, scipy.interpolate, skimage.data, soundfile  # noqa
skimage.data.chelsea()
from hypothesis import Phase  # noqa
as_always = settings.get_profile("lamphouse")
settings.register_profile("mutants", as_always, phases=(Phase.explicit, Phase.generate))
settings.load_profile("mutants")
"""


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("room", choices=sorted(TESTS))
    parser.add_argument("--tests", nargs="+", help="in place of those of the table above")
    parser.add_argument("--sample", type=int, help="try this many, drawn by chance")
    parser.add_argument("--seed", type=int, default=1, help="of the draw")
    parser.add_argument("--children", type=int, default=1, help="processes at once")
    given = parser.parse_args()
    copy = ROOT / "build" / "mutation" / given.room.replace("/", "-")
    shutil.rmtree(copy, ignore_errors=True)
    copy.mkdir(parents=True)
    os.chdir(copy)  # where mutmut looks for its settings
    copy_sources(given.room, given.tests or TESTS[given.room])
    names = mutants(given.room)
    if given.sample and given.sample < len(names):
        print(f"{given.sample} of {len(names)} mutants, seed {given.seed}")
        names = sorted(random.Random(given.seed).sample(names, given.sample))
    mutmut(given.children, names)
    tell(given.room, names)


def copy_sources(room: str, tests: list[str]) -> None:
    """Copy sources and tests to this folder, the room's properties as plain functions."""
    links = shutil.ignore_patterns(*ROOMS, "__pycache__")
    shutil.copytree(ROOT / ".pkg" / "lamphouse", PACKAGE, ignore=links)
    for name in ROOMS:
        shutil.copytree(ROOT / name, PACKAGE / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "tests", "tests", ignore=shutil.ignore_patterns("__pycache__"))
    with Path("tests", "conftest.py").open("a") as conftest:
        conftest.write(CONFTEST)
    for path in (PACKAGE / room).glob("*.py"):
        path.write_text(cst.parse_module(path.read_text()).visit(Undecorated()).code)
    project = (ROOT / "pyproject.toml").read_text().replace('pythonpath = [".pkg"]', 'pythonpath = ["src"]')
    Path("pyproject.toml").write_text(
        project + SETTINGS.format(room=room, tests=json.dumps(tests), longest=LONGEST)
    )


class Undecorated(cst.CSTTransformer):
    """Rewrite every property that has no setter as a plain function and a line that makes it one."""

    def leave_ClassDef(self, original_node: cst.ClassDef, updated_node: cst.ClassDef) -> cst.ClassDef:
        inner = updated_node.body
        if not isinstance(inner, cst.IndentedBlock):
            return updated_node
        body = [part for statement in inner.body for part in _undecorated(statement, inner)]
        return updated_node.with_changes(body=inner.with_changes(body=body))


def _undecorated(statement: cst.BaseStatement, inner: cst.IndentedBlock) -> list[cst.BaseStatement]:
    if not isinstance(statement, cst.FunctionDef) or len(statement.decorators) != 1:
        return [statement]
    kind, name = cst.Module([]).code_for_node(statement.decorators[0].decorator), statement.name.value
    has_setter = f"@{name}.setter" in cst.Module([]).code_for_node(inner)
    if kind not in {"property", "cached_property"} or has_setter:
        return [statement]
    plain = statement.with_changes(decorators=[], name=cst.Name(f"get_{name}"))
    return [plain, cst.parse_statement(f"{name} = {kind}(get_{name})\n")]


def mutants(room: str) -> list[str]:
    """Return the names of all mutants of a room."""
    paths = sorted((PACKAGE / room).glob("*.py"))
    made = {path: mutate_file_contents(str(path), path.read_text()).mutant_names for path in paths}
    return [get_mutant_name(path, name) for path, names in made.items() for name in names]


def mutmut(children: int, names: list[str]) -> None:
    """Run mutants; processes that tests start see the mutated sources too."""
    seen = Path("mutants", "src").absolute()
    seen.mkdir(parents=True)  # Python never looks again into a folder that was not there
    command = [sys.executable, "-m", "mutmut", "run", "--max-children", str(children), *names]
    if subprocess.run(command, check=False, env=os.environ | {"PYTHONPATH": str(seen)}).returncode:
        sys.exit("mutmut could not run; what it said stands above.")


def tell(room: str, names: list[str]) -> None:
    """Print what became of each mutant, and the change of those that lived."""
    folder = "mutants" / PACKAGE / room
    codes = {
        name: code
        for path in sorted(folder.glob("*.meta"))
        for name, code in json.loads(path.read_text())["exit_code_by_key"].items()
    }
    ends = {name: status_by_exit_code[codes[name]] for name in names}
    for name, end in ends.items():
        if end not in {"killed", "timeout"}:
            print(f"\n{end}\n{get_diff_for_mutant(name)}")
    counts = Counter(ends.values())
    dead = counts["killed"] + counts["timeout"]
    print(f"{room}: {dead / len(names):.1%} of {len(names)} killed; {dict(counts)}")


if __name__ == "__main__":
    main()
