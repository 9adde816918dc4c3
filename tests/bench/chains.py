"""The chains that are measured, their settings invented: nothing in them is neutral."""

from __future__ import annotations

from typing import Any

import colour
import numpy as np

from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.reel.records import ChainRef, Cue, NodeRef, Reel, ScanRef
from lamphouse.nodes.apply import frame_values
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.trace import Expression

CATALOGUE = Catalogue()
PRIMARY = {"primary.lift": 0.02, "primary.gamma": 1.2, "primary.gain_balance": [1.1, 1.0, 0.9]}
LOOK = {"curves.master": [[0, 0], [0.3, 0.25], [0.7, 0.8], [1, 1]], "saturation.amount": 1.2}
FILM = {
    "printer_lights.points": [1, 0, -2],
    "film_base.contrast": 1.5,
    "curves.master": [[0, 0], [0.3, 0.25], [0.7, 0.8], [1, 1]],
    "secondary.saturation": 1.4,
    "secondary.hue": 20.0,
}
MATTE = {"line.full": 0.2, "line.clear": 0.6, "sky.gain": 0.8, "sky.gamma": 0.9, "blend.amount": 1.0}
NEGATIVE = ("printer_lights", "film_base", "primary", "curves", "secondary")

ONE, EVERYDAY, FILMED, MATTED = (
    "primary",
    "primary, curves, saturation",
    "negative with secondary",
    "the same with an area matte",
)


def reel(name: str, width: int, height: int, frames: int = 100, cues: tuple[Cue, ...] = ()) -> Reel:
    """Return a reel with the chain called `name`, one cue holding its settings where none are given."""
    nodes, settings, encoding = _CHAINS[name]
    return Reel(
        scan=ScanRef(path="scan.mkv", encoding=encoding, frames=frames, width=width, height=height),
        chain=ChainRef(nodes=nodes, output=nodes[-1].name),
        cues=cues or (Cue(frame=0, settings=settings),),
    )


def settings_of(name: str) -> dict[str, Any]:
    """Return the settings of the chain called `name`."""
    return _CHAINS[name][1]


def program_of(name: str) -> Expression:
    """Return the bound program of the chain called `name`."""
    made = reel(name, 16, 16)
    controls = Controls(made.chain, CATALOGUE)
    settings = controls.effective(controls.check(settings_of(name), ""))
    program = Program(made.chain, made.scan.encoding, CATALOGUE)
    return bind(program.expression(settings), program.numbers(settings))


def _line(*kinds: str) -> tuple[NodeRef, ...]:
    sources = (SCAN, *kinds)
    return tuple(
        NodeRef(name=kind, kind=kind, inputs=(source,)) for kind, source in zip(kinds, sources, strict=False)
    )


def _matted() -> tuple[NodeRef, ...]:
    return (
        *_line(*NEGATIVE),
        NodeRef(name="line", kind="graduated", inputs=()),
        NodeRef(name="sky", kind="primary", inputs=(NEGATIVE[-1],)),
        NodeRef(name="blend", kind="blend", inputs=(NEGATIVE[-1], "sky", "line")),
    )


_CHAINS: dict[str, tuple[tuple[NodeRef, ...], dict[str, Any], Any]] = {
    ONE: (_line("primary"), PRIMARY, "video"),
    EVERYDAY: (_line("primary", "curves", "saturation"), PRIMARY | LOOK, "video"),
    FILMED: (_line(*NEGATIVE), PRIMARY | FILM, "density"),
    MATTED: (_matted(), PRIMARY | FILM | MATTE, "density"),
}


def by_colour_science(rgb: np.ndarray) -> np.ndarray:
    """Return primary, curves and saturation of (..., 3), by colour-science's own functions."""
    values = {
        name: frame_values(CATALOGUE.find(name), _effective(name))
        for name in ("primary", "curves", "saturation")
    }
    gamma = 1 / 1.2
    gain, lift = np.array([1.1, 1.0, 0.9]), 0.02
    raised = colour.algebra.spow(gain * (rgb + lift * (1 - rgb)), gamma)
    table = colour.LUT3x1D(values["curves"]["table"].T)
    drawn = table.apply(raised)
    weights = np.array([0.2126, 0.7152, 0.0722])  # ITU-R BT.709-6
    return colour.algebra.vecmul(np.eye(3) * 1.2 + (1 - 1.2) * np.tile(weights, (3, 1)), drawn)


def _effective(name: str) -> dict[str, Any]:
    controls = Controls(reel(EVERYDAY, 16, 16).chain, CATALOGUE)
    settings = controls.effective(controls.check(settings_of(EVERYDAY), ""))
    return {key.split(".", 1)[1]: value for key, value in settings.items() if key.startswith(f"{name}.")}
