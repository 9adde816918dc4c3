"""Starting points by name: chains and stocks, kept as data that anybody can read."""

from __future__ import annotations

from importlib.resources import files
from typing import Any, Final, TypeVar

import msgspec

from lamphouse.graph.files.record import Record
from lamphouse.graph.reel.records import ChainRef, Encoding
from lamphouse.nodes.errors import BadInput, near_names

DEFAULT_CHAIN: Final = "everyday"


class ChainPreset(Record, frozen=True, kw_only=True):
    """A chain to begin with."""

    sentence: str
    chain: ChainRef


class StockPreset(Record, frozen=True, kw_only=True):
    """Settings to begin with for one kind of film, their chain, and the encoding where it matters."""

    sentence: str
    chain: str = DEFAULT_CHAIN
    encoding: Encoding | None = None
    settings: dict[str, Any]


Preset = TypeVar("Preset", bound=Record)


def chain_preset(name: str) -> ChainPreset:
    """Return the chain preset `name`, or raise BadInput with near names."""
    return read_preset("chains", name, ChainPreset)


def stock_preset(name: str) -> StockPreset:
    """Return the stock preset `name`, or raise BadInput with near names."""
    return read_preset("stocks", name, StockPreset)


def preset_names(folder: str) -> list[str]:
    """Return the names of the presets in one folder of `lamphouse.presets`."""
    found = (files("lamphouse.presets") / folder).iterdir()
    return sorted(f.name.removesuffix(".json") for f in found if f.name.endswith(".json"))


def read_preset(folder: str, name: str, kind: type[Preset]) -> Preset:
    """Return the preset `name` of that folder as a record of `kind`."""
    names = preset_names(folder)
    if name not in names:
        raise BadInput(f"There is no preset called {name} among the {folder}{near_names(name, names)}.")
    text = (files("lamphouse.presets") / folder / f"{name}.json").read_bytes()
    return msgspec.json.decode(text, type=kind)
