"""A neutral picked at the desk: the balance of the cue that holds there is set so that it comes out so."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.neutral import Picked, picked_balance
from lamphouse.graph.grade.probe import COLUMNS, ROWS, sampled
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk


def make_neutral(
    desk: Desk, colour: NDArray[np.float32], point: tuple[float, float] = (0.5, 0.5), node: str = ""
) -> None:
    """Set a balance so that a colour of the scan, (3,), comes out neutral where it was picked.

    `point` is that place in shares of the picture, for mattes; of which balance, see `picked_balance`.
    """
    sample = desk.aims.sample or sampled(np.zeros((3, ROWS, COLUMNS)))
    cue = desk.holding
    try:
        probe = desk.aims.probe(desk.opened, desk.cues.held(desk.cues.holding(desk.frame)))
        picked = Picked(probe, sample, colour, point)
        made = picked_balance(desk.opened, cue.settings if cue else {}, picked, node=node)
    except BadInput as error:
        desk.message = str(error)
        return
    desk.set(made)
