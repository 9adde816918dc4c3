"""Soften: each pixel with a share of the mean around it, to hold coarse grain or a harsh lens."""

from typing import Any

import numpy as np

from lamphouse.nodes.contract import Node, Parameter, Reach, Signal

LAMPHOUSE = {"contract": 1, "nodes": {"soften": "Blends each pixel with the mean of those around it."}}


def soften(picture: Any, p: Any) -> Any:
    """A picture of shape (height, width, 3) to one of the same shape."""
    held = np.pad(picture, ((1, 1), (1, 1), (0, 0)), mode="edge")
    rows = held[:-2] + held[1:-1] + held[2:]
    mean = (rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:]) / 9
    return picture + p.amount * (mean - picture)


SENTENCE = "Blends each pixel with the mean of the nine around it."
AMOUNT = Parameter("amount", "The share of the mean.", 0.0, source="invented")
NODES = (Node("soften", SENTENCE, Signal.LIGHT, Reach.AREA, (AMOUNT,), soften, is_array=True),)
