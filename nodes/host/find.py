"""Where plug-ins come from: folders that are named, and installed distributions. Nothing of them is run.

To look never fails: what cannot be read is told, and the rest is used.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.host.manifest import Manifest, read_manifest

if TYPE_CHECKING:
    from importlib.metadata import EntryPoint

GROUP: Final = "lamphouse.nodes"  # the group of entry points; each names a module
FOLDERS: Final = "LAMPHOUSE_PLUGINS"  # folders of single files, divided as in PATH
SWITCHED_OFF: Final = "LAMPHOUSE_PLUGINS_OFF"  # names of plug-ins, divided by commas


@dataclass(frozen=True, slots=True)
class Found:
    """A plug-in as it is found: data alone.

    `origin` is what a person is told: a file, or a distribution and its version. `module` is the import
    name of an installed one and empty for a file. `trouble` says why no manifest could be read.
    """

    name: str
    origin: str
    source: Path | None
    module: str = ""
    manifest: Manifest | None = None
    trouble: str = ""
    is_off: bool = False

    @property
    def files(self) -> list[Path]:
        """The files of its code: one, or all of a package."""
        if self.source is None or self.source.name != "__init__.py":
            return [self.source] if self.source else []
        return sorted(self.source.parent.rglob("*.py"))


@dataclass(frozen=True, slots=True)
class Finds:
    """All that was found, in the order in which names are given, and what a person should know besides."""

    plugins: tuple[Found, ...] = ()
    troubles: tuple[str, ...] = ()


def find_plugins(environment: Mapping[str, str]) -> Finds:
    """Return the plug-ins of the folders that `environment` names, then the installed ones. Never raises."""
    off = {name.strip() for name in environment.get(SWITCHED_OFF, "").split(",")} - {""}
    troubles: list[str] = []
    folders = [Path(text) for text in environment.get(FOLDERS, "").split(os.pathsep) if text]
    files = _files(folders, troubles)
    found = [_found(path.stem, str(path), path, off) for path in files]
    found += [_installed(entry, off) for entry in _entries(troubles)]
    for name in sorted(off - {plugin.name for plugin in found}):
        hint = near_names(name, {plugin.name for plugin in found})
        troubles.append(f"{SWITCHED_OFF} names {name}, which is not found{hint}.")
    return Finds(tuple(found), tuple(troubles))


def _files(folders: Iterable[Path], troubles: list[str]) -> Iterator[Path]:
    for folder in dict.fromkeys(Path(os.path.realpath(folder)) for folder in folders):
        try:
            names = sorted(os.listdir(folder))  # noqa: PTH208  # iterdir gives paths, which sort by system
        except OSError as error:
            troubles.append(f"The plug-in folder {folder} cannot be read ({error.strerror or error}).")
            continue
        yield from (folder / n for n in names if n.endswith(".py") and not n.startswith(("_", ".")))


def _entries(troubles: list[str]) -> list[EntryPoint]:
    from importlib.metadata import entry_points

    try:
        return sorted(entry_points(group=GROUP), key=lambda entry: (entry.name, entry.value))
    except Exception as error:  # what installed packages say of themselves may be broken in any way
        troubles.append(f"The list of installed plug-ins cannot be read ({type(error).__name__}: {error}).")
        return []


def _found(name: str, origin: str, source: Path, off: set[str], module: str = "") -> Found:
    try:
        manifest, trouble = read_manifest(source), ""
    except BadInput as error:
        manifest, trouble = None, str(error)
    return Found(name, origin, source, module, manifest, trouble, is_off=name in off)


def _installed(entry: EntryPoint, off: set[str]) -> Found:
    origin = _distribution(entry)
    try:
        module = entry.module
        source = module_source(module)
    except Exception as error:  # finders of other packages may raise anything
        trouble = f"its entry point {entry.value} cannot be followed ({type(error).__name__}: {error})."
        return Found(entry.name, origin, None, trouble=f"{origin}: {trouble}")
    if source is None:
        trouble = f"the source of {module} is not there, and it holds the manifest."
        return Found(entry.name, origin, None, module, trouble=f"{origin}: {trouble}")
    return _found(entry.name, origin, source, off, module)


def _distribution(entry: EntryPoint) -> str:
    try:
        return f"{entry.dist.name} {entry.dist.version}" if entry.dist else entry.value
    except Exception:  # a distribution without its metadata still has its module
        return entry.value


def module_source(module: str) -> Path | None:
    """Return the source file of `module`, or None. No package is imported to find it."""
    top, *below = module.split(".")
    spec = find_spec(top)
    for start in _starts(spec) if spec else ():
        path = start.joinpath(*below)
        for source in (path / "__init__.py", path.with_name(f"{path.name}.py")):
            if source.is_file():
                return source
    if spec and spec.origin and not below and spec.origin.endswith(".py"):
        return Path(spec.origin)
    return None


def _starts(spec: ModuleSpec) -> list[Path]:
    return [Path(folder) for folder in spec.submodule_search_locations or ()]
