"""A start from pictures: what the estimators say, how far they agree, and how far it is moved for that."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.agreement import SETTLED, agreed
from lamphouse.graph.survey.starts.axis import Axis, followed, greys_near
from lamphouse.graph.survey.starts.correction import LUMA, Correction, undoing
from lamphouse.graph.survey.starts.ends import AIM, SURE, exposure_of
from lamphouse.graph.survey.starts.light import CLIPPED, Pictures, colours_of_light
from lamphouse.graph.survey.starts.quarters import least_seen
from lamphouse.graph.survey.starts.trust import trust
from lamphouse.graph.survey.starts.uncertainty import may_be_off, safe_share
from lamphouse.nodes.signals import DISPLAY_GAMMA

Array = NDArray[np.float64]

HIGHLIGHTS: Final = 95.0  # percentile of tones that stands for them
# What estimators differ by up to which dim pictures come up whole, and from which they stay: a night of lamps
# is dim by itself, and lit by several lights (our choice).
NIGHTS: Final = (0.4, 0.6)

LEAST: Final = 3.0  # CIEDE2000 of greys: less is left as it is

# Of the line's slope all is taken up to the first number and nothing from the second on.
LINE_OFF: Final = (0.07, 0.14)
LINE_STEEP: Final = (0.2, 0.4)  # of a dye that kept less than two thirds it is not told from an object's
LINE_TONES: Final = (2.0, 1.0)  # log2 of video
LINE_CLIPPED: Final = (0.1, 0.3)  # share of the pixels: the line begins in highlights, and these say nothing
# Times what the estimators differ by: as far may its highlights lie from the light that they see. What lies
# farther is no grey that they missed but a sky or a wall that was followed instead.
LINE_BESIDE: Final = (1.0, 2.0)
# A cast as strong as this, in stops between its channels, is rather the picture's own: a fire, a sunset.
STRONG: Final = (1.75, 2.75)
# Share of it that every quarter of the picture sees: what a part does not see is another part's own colour.
QUARTERS: Final = (0.2, 0.0)
# Share of the pixels that would be near grey: where fewer would be, no grey is there to be made neutral.
GREYS: Final = (0.25, 0.15)
# Times as many as are near grey already: what takes greys from a picture is not its light.
MORE_GREYS: Final = (0.6, 0.4)
# Stops about its mean colour: a picture without more of other colours may be tinted, toned, or of one thing.
ONE_HUE: Final = (0.22, 0.12)


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A start: its correction, the share of it that is proposed, and how sure that is, 0..1.

    `correction` is made of that share of the balance, of the reel's `lift` and of an `exposure`, a factor.
    `cast` is the colour of the light, log2 about 0, (3,); `spread` what the estimators differ by; `seen` the
    share of the cast that every quarter of the picture sees, None where nothing hangs on it; `size` how far
    the whole balance would move greys and `off` how far it may be wrong, both in CIEDE2000; `greys` the
    shares of the pixels that are near grey now and would be then. `is_of_one_hue`: the picture has no other
    colours by which a cast could be told from its own.
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
    greys: tuple[float, float]
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


def greys_speak_for_it(now: float, then: float) -> float:
    """Return how far the shares of a picture that are near grey, now and once corrected, bear a cast out."""
    return trust(then, GREYS) * (trust(then / now, MORE_GREYS) if now > 0 else 1.0)


def _estimated(pictures: Pictures, aim: float) -> Estimate:
    pixels = np.concatenate([p.reshape(3, -1) for p in pictures], axis=1).astype(np.float64)
    cast, spread = agreed(colours_of_light(pictures))
    axis = followed(pixels, cast / DISPLAY_GAMMA)
    tone = float(np.percentile(_logs(pixels).mean(axis=0), HIGHLIGHTS))
    at, slope = _line(cast, axis, tone, _line_trust(pixels, cast, spread, axis, tone))
    size, off = undoing(at, slope, tone).size, may_be_off(cast, spread, axis)
    hues = trust(_hues(pixels), ONE_HUE)
    greys = greys_near(pixels, np.zeros(3), np.zeros(3)), greys_near(pixels, at, slope)
    likely = trust(float(np.ptp(cast)), STRONG) * hues * greys_speak_for_it(*greys)
    seen = least_seen(pictures, cast) if size > off and likely > 0 else None
    likely *= 0.0 if seen is None else trust(seen, QUARTERS)
    share = safe_share(size, off) * likely
    share = share if share * size > LEAST else 0.0
    sure = max(0.0, 1 - off / (2 * size)) * likely if share > 0 else 0.0
    part = undoing(share * at, share * slope, tone).brighter(_taken(share * (at + slope * tone)))
    exposure = exposure_of(part.apply(pixels), aim) ** trust(spread, NIGHTS)
    if exposure != 1:
        part, sure = part.brighter(exposure), min(sure or SURE, SURE)
    return Estimate(part, exposure, share, sure, cast, spread, seen, size, off, greys, hues == 0)


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


def _line(cast: Array, axis: Axis | None, tone: float, trusted: float) -> tuple[Array, Array]:
    """Return the line of greys, `at` and `slope`, as far as it is trusted, about the highlights."""
    flat = cast / DISPLAY_GAMMA
    if axis is None:
        return flat, np.zeros(3)
    slope = trusted * axis.slope
    return trusted * (_highlights(axis, tone) - slope * tone) + (1 - trusted) * flat, slope


def _line_trust(pixels: Array, cast: Array, spread: float, axis: Axis | None, tone: float) -> float:
    if axis is None:
        return 0.0
    clipped = float((pixels.max(axis=0) >= CLIPPED).mean())
    beside = float(np.linalg.norm(DISPLAY_GAMMA * _highlights(axis, tone) - cast))
    return (
        trust(axis.off, LINE_OFF)
        * trust(float(np.abs(axis.slope).max()), LINE_STEEP)
        * trust(axis.tones, LINE_TONES)
        * trust(clipped, LINE_CLIPPED)
        * trust(beside / (spread + SETTLED), LINE_BESIDE)
    )


def _highlights(axis: Axis, tone: float) -> Array:
    return axis.at + axis.slope * tone


def _taken(grey: Array) -> float:
    """Return the brightest channel of a grey, in log2 about its tone, over its luma.

    A filter, a dye and a stain take light and give none: the channel with the most is left as it is.
    """
    return float(2 ** grey.max() / (LUMA @ 2**grey))
