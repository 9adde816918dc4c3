"""Plug-ins at work: which node comes from which, and in what state each of them is."""

from __future__ import annotations

import threading
from collections.abc import Collection, Iterator, Mapping
from enum import StrEnum

from lamphouse.nodes.declare import Node
from lamphouse.nodes.errors import near_names
from lamphouse.nodes.host.check import Check
from lamphouse.nodes.host.find import SWITCHED_OFF, Finds, Found
from lamphouse.nodes.host.load import Loaded, load


class State(StrEnum):
    """How far a plug-in has come."""

    FOUND = "found"  # its manifest is read, or was looked for
    ENABLED = "enabled"  # and it may be used: not switched off, and written for this Lamphouse
    IN_USE = "in use"  # and its code runs here, with a node of it at least


class Plugin:
    """One plug-in. Its code is imported when a node is first asked for, once, whichever thread asks.

    `taken` are names of nodes that others have already, and whose they are.
    """

    def __init__(self, found: Found, taken: Mapping[str, str], check: Check) -> None:
        self.found, self._check = found, check
        promised = found.manifest.nodes if found.manifest else {}
        self.nodes = {name: sentence for name, sentence in promised.items() if name not in taken}
        self._taken = {name: taken[name] for name in promised if name in taken}
        self._lock = threading.Lock()
        self._loaded: Loaded | None = None

    @property
    def hindrance(self) -> str:
        """Why it is not enabled, as a clause, or nothing."""
        if self.found.is_off:
            return f"is switched off by {SWITCHED_OFF}"
        return self.found.manifest.misfit if self.found.manifest else "has no manifest that can be read"

    @property
    def state(self) -> State:
        """How far it has come. No plug-in is imported for it."""
        if self.hindrance:
            return State.FOUND
        return State.IN_USE if self._loaded and self._loaded.nodes else State.ENABLED

    @property
    def troubles(self) -> tuple[str, ...]:
        """What is wrong with it as far as is known by now, in sentences. No plug-in is imported for it."""
        found = self.found
        where = found.source or found.origin
        troubles = [found.trouble] if found.trouble else []
        if found.manifest and found.manifest.misfit:
            troubles.append(f"{where} {found.manifest.misfit}.")
        if not self.hindrance:
            troubles += [f"{where}: the name {name} is taken {by}." for name, by in self._taken.items()]
        return (*troubles, *(self._loaded.troubles if self._loaded else ()))

    def node(self, name: str) -> Node | None:
        """Return the node `name`, importing the code if need be; None where it is not available."""
        if self.hindrance or name not in self.nodes:
            return None
        with self._lock:
            if self._loaded is None:
                self._loaded = load(self.found, self._check)
        return self._loaded.nodes.get(name)

    def reason(self, name: str) -> str:
        """Return why the node `name` of it is not available, as a clause."""
        if self.hindrance:
            return f"its plug-in {self.found.name} {self.hindrance}"
        self.node(name)
        trouble = self._loaded.reason(name) if self._loaded else ""
        return f"its plug-in {self.found.name} has trouble ({trouble})"


class Plugins:
    """All plug-ins that were found, and what a person should know besides. A name goes to the first."""

    def __init__(self, finds: Finds, built_in: Collection[str], check: Check) -> None:
        self.troubles = finds.troubles
        self._of: dict[str, Plugin] = {}
        self._all: list[Plugin] = []
        taken = dict.fromkeys(built_in, "by a node that comes with Lamphouse")
        for found in finds.plugins:
            plugin = Plugin(found, taken, check)
            self._all.append(plugin)
            self._of |= dict.fromkeys(plugin.nodes, plugin)
            if not plugin.hindrance:
                taken |= dict.fromkeys(plugin.nodes, f"by the plug-in {found.name} ({found.origin})")

    def __iter__(self) -> Iterator[Plugin]:
        return iter(self._all)

    @property
    def names(self) -> list[str]:
        """The nodes that manifests name, whether or not they are available."""
        return list(self._of)

    def of(self, name: str) -> Plugin | None:
        """Return the plug-in whose node `name` is."""
        return self._of.get(name)

    def reason(self, name: str, known: Collection[str]) -> str:
        """Return why the node `name` is not available, as a clause, with near names among `known`."""
        if plugin := self.of(name):
            return plugin.reason(name)
        unread = [plugin.found.name for plugin in self._all if plugin.found.manifest is None]
        but = f", though {' and '.join(unread)} cannot be read (see `lamphouse nodes`)" if unread else ""
        return f"no plug-in here has {name}{near_names(name, known, or_all=False)}{but}"
