"""Soft shots: no grade mends them, so they are told apart from shallow depth, and from a soft scan.

Where things have strong edges, the energy of differences over a short distance is held against that over a
longer one: a sharp edge has both, a wide one the latter alone (the edge width of P. Marziliano, F. Dufaux, S.
Winkler and T. Ebrahimi, "A no-reference perceptual blur metric", ICIP 2002, got from energies). Grain has
energy as well: what the flattest areas of the same shot and brightness have is taken off (J. Immerkaer, "Fast
noise variance estimation", Computer Vision and Image Understanding 64 (1996), takes noise where there is
least of anything else). Not the mean but the sharpest areas decide: some part in focus is enough. The numbers
are our choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.gauges.detail import AREAS, distances, energy_of
from lamphouse.graph.media.statistics.row import Rows
from lamphouse.graph.survey.alone import alone
from lamphouse.graph.survey.look import Look, Shot
from lamphouse.graph.survey.proposal import Proposal

SAMPLES: Final = 40  # frames of a shot
LEAST_FRAMES: Final = 6  # of a shot that is judged
BRIGHTNESSES: Final = 8  # classes of it, in each of which grain is measured
FLATTEST: Final = 0.05  # of the areas of a class: what they have is grain
FEW: Final = 40  # areas of a class, below which its neighbours' grain stands for it
STANDS_OUT: Final = 3.0  # times the energy of grain, over the longer distance, that an edge must have
FAINTEST: Final = 1e-4  # energy of an edge that can be judged: differences of 1 % of the range
UNSURE: Final = 0.5  # of the grain's energy, by which that of an edge may be too large
EDGES: Final = 8  # areas with edges, below which a shot is not judged
SHARPEST: Final = 0.15  # of these areas decide: a smaller part in focus is not what a shot is about
SOFT: Final = 0.126  # ratio of energies below which edges are soft: wider than some 4 lines of 480
APART: Final = 0.7  # of the usual ratio of the reel's other shots, above which it is as sharp as they
WIDER: Final = 1.5  # times the usual width that its edges must have: less is not seen as soft
SHARP_GRAIN: Final = 0.7  # of the fineness of the reel's grain: below it the scan is soft, and not the lens
CLIPPED: Final = 252  # of 255: a small cell that holds anything so bright
WIDEST: Final = 2.5  # times the longer distance: wider edges are not told apart
SHOWN_GRAIN: Final = 4e-6  # energy from which grain is seen, and not the steps of the codes


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Of a shot: energy over the shorter distance by that over the longer, where sharpest and on the whole.

    `grain` is that of grain, of one pixel by the shorter distance; 0 where none is seen.
    """

    ratio: float
    typical: float
    grain: float


def proposals(look: Look) -> Iterator[Proposal]:
    """Propose a mark on each shot that is soft all over."""
    rows = look.statistics.rows
    found = {shot: sharpness(rows[alone(look, shot)]) for shot in look.shots}
    known = {shot: measured for shot, measured in found.items() if measured is not None}
    high = look.opened.reel.scan.height
    for shot, measured in known.items():
        others = [other for at, other in known.items() if at != shot]
        if (sure := _sure(measured, others)) > 0 and _is_wider(measured, others, high):
            yield _proposal(shot, measured, others, sure, high)


def sharpness(rows: Rows) -> Sharpness | None:
    """Measure a shot, or return None where it has no edges to judge by: a cloudy sky, a night, black
    leader.
    """
    if len(rows) < LEAST_FRAMES:
        return None
    rows = rows[:: max(1, len(rows) // SAMPLES)]
    energy = energy_of(rows["detail"])[:, :, 1:-1, 1:-1]
    grain = _grain(energy, _brightness(rows)[:, 1:-1, 1:-1])
    signal, noise = np.median(energy - grain, axis=0), np.median(grain, axis=0)
    is_edge = (signal[2] > STANDS_OUT * noise[2]) & (signal[2] > FAINTEST)
    is_edge &= ~_cut_off(rows)[1:-1, 1:-1]
    edges = int(np.count_nonzero(is_edge))
    if edges < EDGES:
        return None
    ratios = np.sort((signal[1] - UNSURE * noise[1])[is_edge] / signal[2][is_edge])
    sharpest, typical = (float(ratios[-1 - int(share * edges)]) for share in (SHARPEST, 0.5))
    return Sharpness(sharpest, typical, _fineness(noise))


def edge_width(ratio: float, height: int) -> float:
    """Return how wide, in lines of a raster, the edge is that has this ratio of energies.

    Differences of an even slope of width w over a distance a have the energy a^2 (w - a / 3) / w^2 where a is
    less
    than w, else a - w / 3.
    """
    _, near, far = distances(height)
    widths = np.geomspace(1, WIDEST * far, 200)

    def energy(distance: int) -> NDArray[np.float64]:
        within = distance**2 * (widths - distance / 3) / widths**2
        return np.asarray(np.where(distance < widths, within, distance - widths / 3))

    ratios = energy(near) / energy(far)
    return float(np.interp(-ratio, -ratios, widths))


def _brightness(rows: Rows) -> NDArray[np.float32]:
    """Return the mean of each area, (frames, 12, 16), from 0 to 1."""
    small = rows["small"].mean(axis=1, dtype=np.float32)
    high, wide = (side // count for side, count in zip(small.shape[1:], AREAS, strict=True))
    cells = small.reshape(len(rows), AREAS[0], high, AREAS[1], wide)
    return np.asarray(cells.mean(axis=(2, 4)) / 255, np.float32)


def _cut_off(rows: Rows) -> NDArray[np.bool_]:
    """Return the areas in which something is clipped, (12, 16): a soft edge gets a sharp one there."""
    most = np.median(rows["small"].max(axis=1), axis=0)
    high, wide = (side // count for side, count in zip(most.shape, AREAS, strict=True))
    return np.asarray(most.reshape(AREAS[0], high, AREAS[1], wide).max(axis=(1, 3)) >= CLIPPED)


def _grain(energy: NDArray[np.float32], brightness: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the energy of the grain in each area, as that of the flattest of its brightness: (frames, 3,
    ...).
    """
    of = np.clip(brightness * BRIGHTNESSES, 0, BRIGHTNESSES - 1).astype(np.intp)
    table = np.full((3, BRIGHTNESSES), np.nan, np.float32)
    for level in range(BRIGHTNESSES):
        found = energy.transpose(1, 0, 2, 3)[:, of == level]
        if found.shape[1] >= FEW:
            table[:, level] = np.quantile(found, FLATTEST, axis=1)
    known = np.flatnonzero(~np.isnan(table[0]))
    if not known.size:
        return np.zeros_like(energy)
    whole = np.stack([np.interp(np.arange(BRIGHTNESSES), known, grain[known]) for grain in table])
    return np.asarray(whole[:, of].transpose(1, 0, 2, 3), np.float32)


def _fineness(noise: NDArray[np.float32]) -> float:
    """Return the energy of grain over one pixel by that over the shorter distance, where it is seen."""
    is_seen = noise[1] > SHOWN_GRAIN
    return float(np.median(noise[0][is_seen] / noise[1][is_seen])) if is_seen.any() else 0.0


def _sure(shot: Sharpness, others: list[Sharpness]) -> float:
    """Return how sure it is that a shot is soft, 0 where it is not."""
    usual = float(np.median([other.ratio for other in others])) if others else SOFT / APART
    least = min(SOFT, APART * usual)
    if shot.ratio >= least:
        return 0.0
    return float(np.clip(1.35 - 0.6 * shot.ratio / least, 0.5, 0.95 if len(others) > 1 else 0.7))


def _is_wider(shot: Sharpness, others: list[Sharpness], height: int) -> bool:
    """Return whether a shot's edges are clearly wider than those of the reel's other shots."""
    widths = [edge_width(other.typical, height) for other in others]
    return not widths or edge_width(shot.typical, height) >= WIDER * float(np.median(widths))


def _proposal(shot: Shot, measured: Sharpness, others: list[Sharpness], sure: float, height: int) -> Proposal:
    edges = edge_width(measured.typical, height)
    why = f"Its edges are some {edges:.0f} lines wide"
    if others:
        usual = edge_width(float(np.median([other.typical for other in others])), height)
        why += f", against {usual:.0f} in the reel's other shots{_source(measured, others, height)}"
    return Proposal(
        kind="faults",
        what="soft shot",
        frame=shot.first,
        frames=shot.stop - shot.first,
        sure=round(sure, 2),
        why=why + ".",
        amount=round(edges, 1),
        unit="lines",
    )


def _source(measured: Sharpness, others: list[Sharpness], height: int) -> str:
    """Return what made it soft, the lens or the scanner, where its grain tells."""
    least, near, _ = distances(height)
    grains = [other.grain for other in others if other.grain]
    if not measured.grain or not grains or least == near:
        return ""
    if measured.grain < SHARP_GRAIN * float(np.median(grains)):
        return ", and its grain is soft as well: it was not in focus in the scanner, so scan it again"
    return ", while its grain is as sharp as theirs: it was the lens of the camera"
