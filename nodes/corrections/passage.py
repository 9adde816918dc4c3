"""Passage: one branch of the chain gives way to another by a key."""

from typing import Any

from lamphouse.nodes.declare import Node, Parameter, Reach, Signal, Travel
from lamphouse.nodes.maths import mix
from lamphouse.nodes.signals import light_from_video, video_from_light
from lamphouse.nodes.values import Kind


def passage(first: Any, second: Any, p: Any) -> Any:
    """The first picture at key 0, the second at 1, mixed in video or in light between."""
    if p.mixing == "video":
        return mix(first, second, p.key)
    return video_from_light(mix(light_from_video(first), light_from_video(second), p.key))


PASSAGE = Node(
    name="passage",
    sentence="Lets one branch of the chain give way to another.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=passage,
    inputs=("first", "second"),
    parameters=(
        Parameter("key", "0 shows the first picture, 1 the second.", 0.0, low=0.0, high=1.0),
        Parameter(
            "mixing",
            "The signal in which the two are mixed.",
            "video",
            kind=Kind.CHOICE,
            choices=("video", "light"),
            travel=Travel.STEP,
        ),
    ),
)
