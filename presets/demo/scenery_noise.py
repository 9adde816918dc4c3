"""Layered noise: what keeps drawn skies, hills and water from looking drawn.

Every field is spun from a small lattice of random numbers whose size does not depend
on the raster, so that a reel of postage-stamp pictures shows the same landscape.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Plane = NDArray[np.float32]

# Standard deviation of a cubic B-spline through unit-variance lattice values, per axis.
_SPLINE_SPREAD = 0.479**0.5


def _spline_weights(cells: int, samples: int) -> Plane:
    """Return the (samples, cells + 3) weights of the uniform cubic B-spline."""
    at = (np.arange(samples) + 0.5) * (cells / samples)
    whole = np.minimum(at.astype(np.intp), cells - 1)
    t = at - whole
    parts = ((1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3)
    weights = np.zeros((samples, cells + 3), np.float32)
    for offset, part in enumerate(parts):
        weights[np.arange(samples), whole + offset] = part / 6
    return weights


def smooth_noise(throw: int, shape: tuple[int, int], cells: tuple[int, int]) -> Plane:
    """Return one octave of smooth noise, mean 0 and spread about 1, `cells` bumps down and across."""
    lattice = np.random.default_rng(throw).standard_normal((cells[0] + 3, cells[1] + 3))
    down = _spline_weights(cells[0], shape[0])
    across = _spline_weights(cells[1], shape[1])
    field = down @ lattice.astype(np.float32) @ across.T
    return np.asarray(field / _SPLINE_SPREAD**2, np.float32)


def layered_noise(
    throw: int, shape: tuple[int, int], cells: tuple[int, int], octaves: int = 5, gain: float = 0.5
) -> Plane:
    """Return noise of several octaves, each twice as fine and `gain` times as strong; spread about 1."""
    total = np.zeros(shape, np.float32)
    for octave in range(octaves):
        fine = (cells[0] << octave, cells[1] << octave)
        if octave and (fine[0] > shape[0] or fine[1] > shape[1]):
            break
        total += gain**octave * smooth_noise(throw + octave, shape, fine)
    power = sum(gain ** (2 * octave) for octave in range(octaves))
    return total / np.float32(power**0.5)


def ridge_noise(throw: int, samples: int, cells: int, octaves: int = 6, gain: float = 0.5) -> Plane:
    """Return a line of layered noise, spread about 1: the outline of hills or of a tree line."""
    total = np.zeros(samples, np.float32)
    for octave in range(octaves):
        fine = cells << octave
        if octave and fine > samples:
            break
        lattice = np.random.default_rng(throw + octave).standard_normal(fine + 3)
        total += gain**octave * (_spline_weights(fine, samples) @ lattice.astype(np.float32))
    return total / np.float32(_SPLINE_SPREAD)


def endless_tile(throw: int, size: int, cells: int, octaves: int = 5, gain: float = 0.5) -> Plane:
    """Return a square field of layered noise that joins itself at its edges; spread 1."""
    total = np.zeros((size, size), np.float32)
    for octave in range(octaves):
        fine = min(cells << octave, size)
        lattice = np.random.default_rng(throw + octave).standard_normal((fine, fine))
        weights = _spline_weights(fine, size)
        wrapped = weights[:, :fine].copy()
        wrapped[:, :3] += weights[:, fine:]
        total += np.float32(gain**octave) * (wrapped @ lattice.astype(np.float32) @ wrapped.T)
    return np.asarray(total / total.std(), np.float32)


def sample_tile(tile: Plane, y: Plane, x: Plane) -> Plane:
    """Return the endless tile at (y, x), one tile per unit."""
    size = np.float32(len(tile))
    places = np.broadcast_arrays(y * size, x * size)
    return np.asarray(ndimage.map_coordinates(tile, places, order=1, mode="grid-wrap"), np.float32)


def smoothstep(low: float, high: float, value: Plane) -> Plane:
    """Return 0 below `low`, 1 above `high`, and 3t^2 - 2t^3 between."""
    t = np.clip((value - np.float32(low)) / np.float32(high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), np.float32)
