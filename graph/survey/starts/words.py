"""Why a shot starts as it is proposed, or is left neutral, in one sentence with the measure in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log2
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.ends import NIGHT
from lamphouse.graph.survey.starts.estimate import Estimate, greys_speak_for_it
from lamphouse.nodes.luma import LUMA_ROWS
from lamphouse.nodes.signals import DISPLAY_GAMMA

FLAT: Final = 0.02  # of video: a flatter picture has no light and shade to judge by
NAMES: Final = {  # by which of red, green and blue there is more of than of their mean
    (True, False, False): "red",
    (True, True, False): "yellow",
    (False, True, False): "green",
    (False, True, True): "cyan",
    (False, False, True): "blue",
    (True, False, True): "magenta",
}


def unsaid(pictures: Sequence[NDArray[Any]]) -> str:
    """Return why pictures (3, h, w) in video signal say nothing of how they should look, or nothing."""
    if not pictures:
        return "Left neutral: none of its frames can be read."
    lumas = np.concatenate([np.tensordot(LUMA_ROWS[0], picture, 1).ravel() for picture in pictures])
    if not np.isfinite(lumas).all():
        return "Left neutral: the chain makes of it what is no picture."
    if np.percentile(lumas, 99) < NIGHT:
        return f"Left neutral: nothing in it is brighter than {NIGHT:.2f} of the signal."
    if lumas.std() < FLAT:
        return f"Left neutral: the picture is flat, its luma spreads by {lumas.std():.3f} of the signal."
    return ""


def joined(*clauses: str) -> str:
    """Return clauses, each as a sentence begins, as one sentence."""
    first, *others = clauses
    return "; ".join((first, *(f"{clause[0].lower()}{clause[1:]}" for clause in others)))


def words(found: Estimate, lift: NDArray[np.float64], like: int | None) -> str:
    """Return the reason of a start; `like` is the frame of the set-up that it is one with."""
    start = " and ".join(_done(found, lift)) or "left neutral"
    same = f", one set-up with frame {like}" if like is not None else ""
    return f"{start[0].upper()}{start[1:]}: {_seen(found)}{same}."


def _done(found: Estimate, lift: NDArray[np.float64]) -> Iterator[str]:
    if found.share > 0:
        yield f"{found.share:.0%} of the balance to neutral"
    if found.exposure != 1:
        yield f"{DISPLAY_GAMMA * log2(found.exposure):+.1f} stops, for its highlights are dim"
    if lift.any():
        yield "lift, for no shot of the reel comes down to black"


def _seen(found: Estimate) -> str:
    if found.is_of_one_hue:
        return "all of it is of one hue, which may be its own, such as a tint"
    name = NAMES.get(tuple((found.cast > 0).tolist()), "no colour")
    quarters = (
        "" if found.seen is None else f", each quarter sees {np.clip(found.seen, 0, 1):.0%} of it or more"
    )
    now, then = found.greys
    greys = (
        "" if greys_speak_for_it(now, then) == 1 else f", {then:.0%} would be near grey where {now:.0%} is"
    )
    return (
        f"six estimates of the light see {np.ptp(found.cast):.2f} stops toward {name} and differ "
        f"by {found.spread:.2f}{quarters}{greys}; to neutral it is {found.size:.1f} in CIEDE2000, "
        f"and may be off by {found.off:.1f}"
    )
