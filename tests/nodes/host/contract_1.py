"""A plug-in as those written to contract 1 are, with every name that has another one by now. Invented."""

from lamphouse.nodes.contract import Node, Parameter, Reach, Signal, mix

LAMPHOUSE = {"contract": 1, "nodes": {"edge_tint": "Darkens toward the right and the foot."}}


def edge_tint(picture, place, p):
    return mix(picture, picture * (1 - 0.25 * (place.across + place.down)), p.key)


KEY = Parameter("key", "How much of it.", 0.0, source="invented")
NODES = (
    Node("edge_tint", "Darkens to the right and the foot.", Signal.VIDEO, Reach.PLACE, (KEY,), edge_tint),
)
