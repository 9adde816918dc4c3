"""The balance that makes a picked colour neutral, found on the chain as it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.desk import Desk

TURNS: Final = 12
CLOSE: Final = 2e-4  # of signal: a fifth of a 10-bit code
LEAST: Final = 0.02  # of signal: nearer to black a colour says nothing of the light


def neutral_gain(
    corrected: Callable[[Mapping[str, Any]], NDArray[np.float64]],
    settings: Settings,
    node: str,
    limits: tuple[float, float],
) -> tuple[float, float, float]:
    """Return the gain balance of `node` that makes what `corrected(settings)` gives, (3,), equal channels.

    Its luma (ITU-R BT.709) stays about what it is. Raises BadInput for a colour that is too dark or that no
    balance within `limits` makes neutral.
    """
    key = f"{node}.gain_balance"
    gains = np.array(settings[key], float)
    for _ in range(TURNS):
        found = np.asarray(corrected({**settings, key: tuple(gains)}), float)
        if found.min() < LEAST:
            raise BadInput("What was picked is too dark to say what is neutral; pick something lighter.")
        luma = float(found @ np.array(LUMA["bt709"]))
        if np.abs(found - luma).max() < CLOSE:
            red, green, blue = gains.tolist()
            return red, green, blue
        gains = np.clip(gains * luma / found, *limits)
    raise BadInput("No balance makes what was picked neutral; pick something that was grey or white.")


def make_neutral(desk: Desk, colour: NDArray[np.float32]) -> None:
    """Set the first gain balance of the chain so that a colour of the scan, (3,), comes out neutral."""
    nodes = (ref.name for ref in desk.reel.chain.nodes)
    node = next((n for n in nodes if f"{n}.gain_balance" in desk.controls.parameters), "")
    if not node:
        desk.message = "No node of this chain has a gain balance; add a primary."
        return
    parameter = desk.controls.parameters[f"{node}.gain_balance"]
    settings = desk.cues.held(desk.cues.holding(desk.frame))

    def corrected(tried: Mapping[str, Any]) -> NDArray[np.float64]:
        bound = bind(program.expression(tried), program.numbers(tried))
        made = run.run(bound, {SCAN: np.asarray(colour, np.float64).reshape(3, 1)})
        return np.asarray(made[:, 0], np.float64)

    try:
        program = desk.opened.program()
        with NumpyRun(1) as run:
            gains = neutral_gain(corrected, settings, node, (parameter.low, parameter.high))
    except BadInput as error:
        desk.message = str(error)
        return
    desk.set({f"{node}.gain_balance": gains})
