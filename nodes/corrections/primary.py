"""Primary: lift, gamma and gain, master and balance. The first and often the only correction."""

from typing import Any

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import offset, power, scale
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.tonal_range import TonalRange
from lamphouse.nodes.values import Travel


def primary(picture: Any, p: Any) -> Any:
    """(gain * (x + lift * (1 - x))) ** (1 / gamma), mirrored about zero, in each channel."""
    lift = p.lift + p.lift_balance
    lifted = offset(scale(picture, 1 - lift), lift)
    gained = scale(lifted, p.gain * p.gain_balance)
    return power(gained, 1 / (p.gamma * p.gamma_balance))


PRIMARY = Node(
    name="primary",
    sentence="Lift, gamma and gain of the whole picture and of each colour.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=primary,
    source="equals ASC CDL v1.2 with slope gain (1 - lift), offset gain lift, power 1 / gamma",
    parameters=(
        Parameter(
            "lift",
            "Raises or lowers the shadows.",
            0.0,
            low=-0.5,
            high=0.5,
            step=0.002,
            acts_on=TonalRange.SHADOWS,
        ),
        Parameter(
            "lift_balance",
            "Lift of red, green and blue beside the master.",
            (0.0, 0.0, 0.0),
            kind=Kind.TRIPLE,
            low=-0.5,
            high=0.5,
            step=0.002,
            acts_on=TonalRange.SHADOWS,
        ),
        Parameter(
            "gamma",
            "Brightens or darkens the middle tones.",
            1.0,
            low=0.2,
            high=5.0,
            travel=Travel.LOG,
            acts_on=TonalRange.MIDDLE,
        ),
        Parameter(
            "gamma_balance",
            "Gamma of red, green and blue beside the master.",
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            low=0.5,
            high=2.0,
            travel=Travel.LOG,
            acts_on=TonalRange.MIDDLE,
        ),
        Parameter(
            "gain",
            "Brightens or darkens the highlights.",
            1.0,
            low=0.1,
            high=8.0,
            travel=Travel.LOG,
            acts_on=TonalRange.HIGHLIGHTS,
        ),
        Parameter(
            "gain_balance",
            "Gain of red, green and blue beside the master.",
            (1.0, 1.0, 1.0),
            kind=Kind.TRIPLE,
            low=0.1,
            high=8.0,
            travel=Travel.LOG,
            acts_on=TonalRange.HIGHLIGHTS,
        ),
    ),
)
