"""The code of a plug-in, imported when a node of it is first asked for.

It is somebody else's: it may hang, end the process, or not be there. None of that reaches the tool.
"""

from __future__ import annotations

import sys
import threading
import time
import zlib
from collections.abc import Mapping
from contextlib import redirect_stdout
from dataclasses import dataclass, field, replace
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any, Final

from lamphouse.nodes.declare import Node
from lamphouse.nodes.host.cause import cause
from lamphouse.nodes.host.check import Check
from lamphouse.nodes.host.find import Found
from lamphouse.nodes.host.guard import guarded

LONGEST: Final = 10.0  # seconds: a person at the desk has long lost patience
SLOW: Final = 1.0  # seconds: worth saying, for it is waited for at every start


@dataclass(frozen=True, slots=True)
class Loaded:
    """The nodes of a plug-in that can be used, why others by name cannot, and all trouble in sentences."""

    nodes: Mapping[str, Node] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)
    troubles: tuple[str, ...] = ()

    def reason(self, name: str) -> str:
        """Return why the node `name` is not among them, as a clause."""
        return self.refused.get(name) or " ".join(self.troubles).rstrip(".")


def _nothing(trouble: str) -> Loaded:
    return Loaded(troubles=(f"{trouble}.",))


class _Work:
    """What the importing thread has done so far."""

    def __init__(self, found: Found, check: Check) -> None:
        self.found, self.check = found, check
        self.stage = "imported"
        self.result: Loaded | None = None

    def run(self) -> None:
        try:
            start = time.perf_counter()
            module = _imported(self.found)
            seconds = time.perf_counter() - start
            self.stage = "checked"
            loaded = _registered(self.found, module, self.check)
            slow = (f"{self.found.source} took {seconds:.1f} s to import.",) if seconds > SLOW else ()
            self.result = replace(loaded, troubles=loaded.troubles + slow)
        except BaseException as error:  # whatever it raises, SystemExit too, is the plug-in's own end only
            reason = cause(error, self.found.source)
            self.result = _nothing(f"{self.found.source} cannot be {self.stage} ({reason})")


def load(found: Found, check: Check) -> Loaded:
    """Return what the code of `found` brings, but for nodes in which `check` finds faults.

    Never raises, and waits no longer than LONGEST.
    """
    work = _Work(found, check)
    thread = threading.Thread(target=work.run, name=f"plug-in {found.name}", daemon=True)
    with redirect_stdout(sys.stderr):  # what it prints must not get into our JSON
        thread.start()
        thread.join(LONGEST)
    if work.result is None:
        return _nothing(f"{found.source} is still being {work.stage} after {LONGEST:g} s")
    return work.result


def _imported(found: Found) -> ModuleType:
    if found.module:
        installed = import_module(found.module)
        installed.__dict__.setdefault("print", _print_aside)
        return installed
    path = found.source or Path()
    # Two folders may hold files of one name: neither may find the other's module.
    name = f"lamphouse_plugin_{path.stem}_{zlib.crc32(str(path).encode()):08x}"
    spec = spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise ImportError(f"{path} is not a module")
    module = module_from_spec(spec)
    sys.modules[name] = module  # dataclasses look their module up
    module.__dict__["print"] = _print_aside
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[name]
        raise
    return module


def _print_aside(*values: object, file: Any = None, **how: Any) -> None:
    """Print where it does not get into our answers: a plug-in's own `print`, whenever its code runs."""
    print(*values, file=file or sys.stderr, **how)


def _registered(found: Found, module: ModuleType, check: Check) -> Loaded:
    if not isinstance(brought := getattr(module, "NODES", None), tuple | list):
        return _nothing(f"{found.source} has no NODES; write NODES = (Node(...), ...)")
    promised = found.manifest.nodes if found.manifest else {}
    nodes: dict[str, Node] = {}
    refused = {name: f"NODES has no {name}, which the manifest names" for name in promised}
    for node in brought:
        name = str(getattr(node, "name", ""))
        refused.pop(name, None)
        if trouble := _trouble(node, promised, nodes) or _refusal(node, check):
            refused[name] = trouble
        else:
            nodes[node.name] = guarded(node)
    troubles = tuple(f"{found.source}: {trouble}." for trouble in refused.values())
    return Loaded(nodes, refused, troubles)


def _trouble(node: Any, promised: Mapping[str, str], nodes: Mapping[str, Node]) -> str:
    if not isinstance(node, Node):
        return f"NODES holds {type(node).__name__}, not Node"
    if node.name not in promised:
        return f"the manifest does not name {node.name}, which NODES has"
    if node.name in nodes:
        return f"NODES has two nodes called {node.name}"
    return ""


def _refusal(node: Node, check: Check) -> str:
    wrong = check(node)
    return f"the node {node.name} is not used, for {'; '.join(wrong)}" if wrong else ""
