"""A start from pictures: what the estimators say, how far they agree, and how far it is moved for that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.agreement import agreed
from lamphouse.graph.survey.starts.axis import Axis, followed
from lamphouse.graph.survey.starts.correction import LUMA, Correction, undoing
from lamphouse.graph.survey.starts.ends import AIM, SURE, exposure_of
from lamphouse.graph.survey.starts.light import CLIPPED, Pictures, colours_of_light
from lamphouse.graph.survey.starts.quarters import least_seen
from lamphouse.graph.survey.starts.trust import trust
from lamphouse.nodes.signals import DISPLAY_GAMMA

Array = NDArray[np.float64]

HIGHLIGHTS: Final = 95.0  # percentile of tones that stands for them
# What estimators differ by up to which dim pictures come up whole, and from which they stay: a night of lamps
# is dim by itself, and lit by several lights (our choice).
NIGHTS: Final = (0.4, 0.6)

# How far a start may be off, in CIEDE2000 of greys: what pictures that are right already are off by where all
# agree, and what it rises by with what the estimators differ by (log2 of light, root mean square) and with
# the square of that, with what the greys that were followed lie off their line (log2 of video), with the
# share of the pixels that is clipped, and with the stops by which the light is warm: dusk and lamps are so
# too, and all estimators agree on them. Found on photographs and on painted scenes of a day and a night, and
# tried on others; tests/bench/starts.py and survey_starts.py show what comes of it.
OFF_AT_BEST: Final = 2.9
OFF_BY_SPREAD: Final = (10.0, 30.0)
OFF_BY_LINE: Final = 20.0
OFF_BY_CLIPPED: Final = 4.0
OFF_BY_WARMTH: Final = 8.0
# What they differ by up to which half of that is enough, and from which it is not: a sky is of many colours.
AS_ONE: Final = (0.06, 0.14)
# The way from daylight to lamps: log2 of CIE standard illuminant A in ITU-R BT.709's red, green and blue,
# whose white is D65, about its mean and of length 1.
WARM: Final = np.array([0.649, 0.104, -0.753])
LINE: Final = 0.04  # log2 of video: as near a line as greys lie in any photograph
NO_LINE: Final = (
    0.2  # taken for what they lie off it where they were not found, and where they lie farther off
)
WHOLE: Final = 1.45  # times what it may be off: as large a balance is made whole, and none that is no larger

LEAST: Final = 2.5  # CIEDE2000 of greys: less is left as it is

# Of the line's slope all is taken up to the first number and nothing from the second on.
LINE_OFF: Final = (0.07, 0.14)
LINE_STEEP: Final = (0.2, 0.4)  # of a dye that kept less than two thirds it is not told from an object's
LINE_TONES: Final = (2.0, 1.0)  # log2 of video
LINE_CLIPPED: Final = (0.1, 0.3)  # share of the pixels: the line begins in highlights, and these say nothing
# A cast as strong as this, in stops between its channels, is rather the picture's own: a fire, a sunset.
STRONG: Final = (1.75, 2.75)
# Share of it that every quarter of the picture sees: what a part does not see is another part's own colour.
QUARTERS: Final = (0.2, 0.0)
# Stops about its mean colour: a picture without more of other colours may be tinted, toned, or of one thing.
ONE_HUE: Final = (0.22, 0.12)


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A start: its correction, the share of it that is proposed, and how sure that is, 0..1.

    `correction` is made of that share of the balance, of the reel's `lift` and of an `exposure`, a factor.
    `cast` is the colour of the light, log2 about 0, (3,); `spread` what the estimators differ by; `seen` the
    share of the cast that every quarter of the picture sees, None where nothing hangs on it; `size` how far
    the whole balance would move greys and `off` how far it may be wrong, both in CIEDE2000.
    `is_of_one_hue`: the picture has no other colours by which a cast could be told from its own.
    """

    correction: Correction
    exposure: float
    share: float
    sure: float
    cast: Array
    spread: float
    seen: float | None
    size: float
    off: float
    is_of_one_hue: bool = False


def estimated(pictures: Pictures, lift: Array | None = None, aim: float = AIM) -> Estimate:
    """Return the start for pictures (3, h, w) in video signal that were taken under one light.

    `lift` (3,) is the reel's, and comes before all else; `aim` is how far below white, in stops, the
    highlights of its shots lie.
    """
    if lift is None or not lift.any():
        return _estimated(pictures, aim)
    lifted = Correction(np.ones(3), np.ones(3), lift)
    found = _estimated([lifted.apply(picture) for picture in pictures], aim)
    correction = replace(found.correction, lift=lift)
    return replace(found, correction=correction, sure=min(found.sure or SURE, SURE))


def _estimated(pictures: Pictures, aim: float) -> Estimate:
    pixels = np.concatenate([p.reshape(3, -1) for p in pictures], axis=1).astype(np.float64)
    cast, spread = agreed(colours_of_light(pictures))
    axis = followed(pixels, cast / DISPLAY_GAMMA)
    tone = float(np.percentile(_logs(pixels).mean(axis=0), HIGHLIGHTS))
    clipped = float((pixels.max(axis=0) >= CLIPPED).mean())
    at, slope = _line(cast, axis, tone, clipped)
    size, off = undoing(at, slope, tone).size, _off(cast, spread, axis, clipped)
    hues = trust(_hues(pixels), ONE_HUE)
    likely = trust(float(np.ptp(cast)), STRONG) * hues
    seen = least_seen(pictures, cast) if size > off and likely > 0 else None
    likely *= 0.0 if seen is None else trust(seen, QUARTERS)
    share = trust(size / off, (WHOLE, 1.0)) * likely
    share = share if share * size > LEAST else 0.0
    sure = max(0.0, 1 - off / (2 * size)) * likely if share > 0 else 0.0
    part = undoing(share * at, share * slope, tone).brighter(_taken(share * (at + slope * tone)))
    exposure = exposure_of(part.apply(pixels), aim) ** trust(spread, NIGHTS)
    if exposure != 1:
        part, sure = part.brighter(exposure), min(sure or SURE, SURE)
    return Estimate(part, exposure, share, sure, cast, spread, seen, size, off, hues == 0)


def _logs(pixels: Array) -> Array:
    return np.log2(np.clip(pixels, 0.02, None))


def _hues(pixels: Array) -> float:
    """Return by how many stops of light colours differ from the mean colour of their tone."""
    logs = DISPLAY_GAMMA * _logs(pixels[:, pixels.min(axis=0) > 0.05])
    if logs.shape[1] < 2:
        return 0.0
    colours, tones = logs - logs.mean(axis=0), logs.mean(axis=0)
    about = np.stack([np.ones_like(tones), tones, tones**2])
    line, *_ = np.linalg.lstsq(about.T, colours.T, rcond=None)
    return float(np.sqrt(((colours - (about.T @ line).T) ** 2).mean(axis=1).sum()))


def _line(cast: Array, axis: Axis | None, tone: float, clipped: float) -> tuple[Array, Array]:
    """Return the line of greys, `at` and `slope`, as far as it can be trusted, about the highlights."""
    flat = cast / DISPLAY_GAMMA
    if axis is None:
        return flat, np.zeros(3)
    trusted = (
        trust(axis.off, LINE_OFF)
        * trust(float(np.abs(axis.slope).max()), LINE_STEEP)
        * trust(axis.tones, LINE_TONES)
        * trust(clipped, LINE_CLIPPED)
    )
    slope = trusted * axis.slope
    highlights = axis.at + axis.slope * tone
    return trusted * (highlights - slope * tone) + (1 - trusted) * flat, slope


def _off(cast: Array, spread: float, axis: Axis | None, clipped: float) -> float:
    once, squared = OFF_BY_SPREAD
    warmth = max(0.0, float(cast @ WARM)) * (1 - trust(spread, AS_ONE) / 2)
    beside = NO_LINE if axis is None else min(axis.off, NO_LINE)
    return (
        OFF_AT_BEST
        + once * spread
        + squared * spread**2
        + OFF_BY_LINE * max(0.0, beside - LINE)
        + OFF_BY_CLIPPED * clipped
        + OFF_BY_WARMTH * warmth
    )


def _taken(grey: Array) -> float:
    """Return the brightest channel of a grey, in log2 about its tone, over its luma.

    A filter, a dye and a stain take light and give none: the channel with the most is left as it is.
    """
    return float(2 ** grey.max() / (LUMA @ 2**grey))
