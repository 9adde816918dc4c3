"""Tables that have to have a row for every kind of parameter: who forgets one is told at import."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from lamphouse.nodes.parameter import KINDS, Kind

Row = TypeVar("Row")


def of_every_kind(table: Mapping[Kind, Row], where: str) -> Mapping[Kind, Row]:
    """Return a `table` by kind; raise LookupError where a kind has no row in it."""
    if lacking := ", ".join(kind.name for kind in KINDS.values() if kind not in table):
        raise LookupError(f"{where} has no row for the kinds of nodes/parameter.py called {lacking}.")
    return table
