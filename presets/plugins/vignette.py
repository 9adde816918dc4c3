"""Vignette: evens out a lens that leaves its corners dark, or draws the eye to the middle."""

from typing import Any

from lamphouse.nodes.contract import Node, Parameter, Reach, Signal

LAMPHOUSE = {"contract": 1, "nodes": {"vignette": "Lightens or darkens the picture toward its corners."}}


def vignette(picture: Any, place: Any, p: Any) -> Any:
    """Light over or by cos^4 of the angle from the lens's axis, where cos^2 = 1 / (1 + (r / f)^2)."""
    squared = place.x * place.x + place.y * place.y
    share = (1 + squared * p.lighten) / (1 + squared * p.darken)
    return picture * (share * share)


SENTENCE = "Lightens or darkens the picture toward its corners, as lenses do."
CONTROLS = (
    Parameter("lighten", "Undoes a lens of this (picture height / focal length) squared.", 0.0, high=2.0),
    Parameter("darken", "Darkens as a lens of this (picture height / focal length) squared.", 0.0, high=2.0),
)
NODES = (Node("vignette", SENTENCE, Signal.LIGHT, Reach.PLACE, CONTROLS, vignette, source="cos^4 law"),)
