"""Limit: no channel of the look leaves its limits, and none meets them with a corner.

Scaling and subsampling come after it; what a delivery holds is kept by its levels.
"""

from typing import Any, Final

from lamphouse.nodes.corrections.bend import bent_above, bent_below
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.maths import maximum, minimum
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.values import Travel

# Video signal of the codes that may not be passed, (code - 64) / 876 in 10 bits. EBU R 103 v3.0 (May 2020),
# second-hand: 20 to 984 for R'G'B' and luma alike. Nominal range: ITU-R BT.709-6 clause 3.4, 64 to 940.
R103: Final = ((20 - 64) / 876, (984 - 64) / 876)
LIMITS: Final = {"EBU R 103": R103, "nominal": (0.0, 1.0)}


def limit(picture: Any, p: Any) -> Any:
    """Each channel bent into its limits over the last `knee` of signal before either."""
    if p.to == "none":
        return picture
    low, high = LIMITS[p.to]
    bent = bent_below(bent_above(picture, high - p.knee, high), low + p.knee, low)
    # The bend ends on the limit; this takes off what rounding may have added.
    return minimum(maximum(bent, low), high)


LIMIT = Node(
    name="limit",
    sentence="Keeps every channel within limits before the picture is scaled, softly at either end.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=limit,
    source="EBU R 103 v3.0 (2020), second-hand; ITU-R BT.709-6",
    parameters=(
        Parameter(
            "to",
            "The limits: -5 to 105 per cent, or 0 to 100.",
            "none",
            kind=Kind.CHOICE,
            choices=("none", *LIMITS),
            travel=Travel.STEP,
            source="EBU R 103 v3.0 (2020), second-hand; ITU-R BT.709-6 clause 3.4",
        ),
        Parameter(
            "knee",
            "Signal before either limit from which it bends; the limit itself moves in by a quarter.",
            0.05,
            low=0.005,
            high=0.3,
            step=0.005,
        ),
    ),
)
