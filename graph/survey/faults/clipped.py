"""A clipped scan: what the scanner cut off at an end of its range has no shape that a grade could bring back.

Whatever film shows is spread by its grain; so many pixels at one and the same end are the scanner's (common
practice of reading histograms: a spike at the end that does not continue what is beside it). How much less or
more light it would take is read off what lies beside the end: as many stops as the tail would reach on, were
it as thick beyond (our choice). Small bright lamps, the lab's hole and clear or black leader are not a
clipped scan, and a dissolve or a fade is not asked: what it blends is judged where it is seen alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.gauges.ends import AT, EDGE, LEAST, MOST, NEAR
from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.faults.light import light_of
from lamphouse.graph.survey.look import Look
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.nodes.colour_encoding import ColourEncoding

SMALL: Final = 0.03  # share of the picture below which it may be a lamp, or its reflection (our choice)
LARGE: Final = 0.06  # from which it is sure
LEADER: Final = 0.95  # share at an end, or near it, above which there is no picture: leader, or a fade
SPIKE: Final = 4.0  # times as thick as beside it, at which an end is cut off
SAME_END: Final = 0.01  # of the range, within which an end is the scan's own
DARKEST: Final = 0.1  # an end below that is black, one above it is what a dark picture happens to reach
BRIGHTEST: Final = 0.9
UNLIT: Final = 2  # of 255, which a small cell never exceeds where no light comes through
LASTS: Final = 8  # frames, and that part of a shot at least
PART: Final = 1 / 4
WHOLE: Final = 3 / 4  # part of a shot from which it is the shot that is clipped
STOPS: Final = (1 / 3, 2.0)  # within which an advice is given
CHANNELS: Final = ("red", "green", "blue")


class Clipped(NamedTuple):
    """Which frames have what at an end: the largest share of the picture, in which channels, stops to hold
    it.
    """

    first: int
    stop: int
    share: float
    channels: tuple[str, ...]
    stops: float


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each shot of which the scan cut off the lights or the shadows."""
    rows, colour = look.statistics.rows, look.opened.reel.scan.colour
    levels = rows["ends"]["level"]
    reach = float(levels[:, MOST].max(initial=0)), float(levels[:, LEAST].min(initial=1))
    bare = 0.0, never_lit(rows)
    for seen in (alone(look, shot) for shot in look.shots):
        for end in (MOST, LEAST):
            found = clipped(rows[seen], end, reach[end], colour, bare[end])
            if found is not None:
                yield Proposal(
                    kind="faults",
                    what="clipped lights" if end == MOST else "clipped shadows",
                    frame=seen.start + found.first,
                    frames=found.stop - found.first,
                    sure=0.9 if found.share >= LARGE else 0.7,
                    why=_why(found, end, colour),
                    amount=round(100 * found.share, 1),
                    unit="%",
                )


def never_lit(rows: Rows) -> float:
    """Return the share of the picture that is black in every frame: a mask or a frame line, and no film."""
    most = rows["small"].max(axis=(0, 1), initial=0)
    edges = [max(1, side // EDGE) for side in most.shape]
    inner = most[edges[0] : -edges[0], edges[1] : -edges[1]]
    return float((inner <= UNLIT).mean())


def clipped(rows: Rows, end: int, reach: float, colour: ColourEncoding, bare: float = 0.0) -> Clipped | None:
    """Return what of a shot is cut off at an end, or None.

    `reach` is the end of the whole scan, `bare` the share of the picture that is there without being film.
    """
    if not (reach > BRIGHTEST if end == MOST else reach < DARKEST):
        return None
    level, at, near = (rows["ends"][name][:, end] for name in ("level", "at", "near"))
    at = at - np.float32(bare)
    is_cut = (np.abs(level - reach) < SAME_END) & (at > SPIKE * near * AT / (NEAR - AT)) & (at >= SMALL)
    frames = np.flatnonzero(is_cut.any(axis=1) & ((at + near).min(axis=1) < LEADER))
    if len(frames) < max(LASTS, PART * len(rows)):
        return None
    often = is_cut[frames].mean(axis=0) > 0.5
    if not often.any():
        return None
    is_whole = len(frames) >= WHOLE * len(rows)
    first, stop = (0, len(rows)) if is_whole else (int(frames[0]), int(frames[-1]) + 1)
    at, near = (np.median(share[frames], axis=0)[often] for share in (at, near))
    channels = tuple(name for name, cut in zip(CHANNELS, often, strict=True) if cut)
    return Clipped(first, stop, float(at.max()), channels, _stops(at, near, end, reach, colour))


def _stops(
    at: NDArray[np.float32], near: NDArray[np.float32], end: int, reach: float, colour: ColourEncoding
) -> float:
    """Return how far what was cut off would reach on, were it as thick as what lies beside the end."""
    inward = -1 if end == MOST else 1
    beside = light_of(np.array([reach + inward * NEAR, reach + inward * AT]), colour)
    with np.errstate(divide="ignore", invalid="ignore"):
        wide = abs(float(np.log2(beside[1] / beside[0])))
    by = float(at.sum() / max(float(near.sum()), 1e-3))
    stops = by * wide if end == MOST else by * (NEAR - AT) / NEAR
    return float(np.clip(stops, *STOPS)) if np.isfinite(stops) else STOPS[0]


def _why(found: Clipped, end: int, colour: ColourEncoding) -> str:
    dark, bright = light_of(np.array([0.2, 0.8]), colour)
    is_less = (end == MOST) == (bright > dark)  # a scan in density is highest where least light came through
    where = "highest" if end == MOST else "lowest"
    channels = "" if len(found.channels) == 3 else f" in {' and '.join(found.channels)}"
    black = ", or its black set lower" if end == LEAST else ""
    return (
        f"{100 * found.share:.0f} % of the picture lies at the {where} codes of the scan{channels} and has "
        f"no shape there: scan it again with about {_thirds(found.stops)} "
        f"{'less' if is_less else 'more'} light{black}."
    )


def _thirds(stops: float) -> str:
    """Return stops in thirds: `1 1/3 stops`."""
    whole, part = divmod(round(3 * stops), 3)
    numbers = [str(whole)] * (whole > 0) + [f"{part}/3"] * (part > 0)
    return f"{' '.join(numbers)} stop{'s' if (whole, part) > (1, 0) else ''}"
