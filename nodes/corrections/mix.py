"""Mix: two branches of the chain in one picture, by a share that a transition can move."""

from typing import Any

from lamphouse.nodes import maths
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.signals import light_from_video, video_from_light
from lamphouse.nodes.values import Travel


def mix(first: Any, second: Any, p: Any) -> Any:
    """The first picture at share 0, the second at 1, mixed in video or in light."""
    if p.mixing == "video":
        return maths.mix(first, second, p.share)
    return video_from_light(maths.mix(light_from_video(first), light_from_video(second), p.share))


MIX = Node(
    name="mix",
    sentence="Mixes two branches of the chain.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=mix,
    inputs=("first", "second"),
    parameters=(
        Parameter("share", "0 shows the first picture, 1 the second.", 0.0, low=0.0, high=1.0),
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
