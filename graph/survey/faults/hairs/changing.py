"""How often the picture changes under what stays: at a cut, or while the camera moves.

Pictures are held against each other by what they show and not by how bright it is: the light of each is
measured by its own mean, and only shapes of some cells count, neither its grain nor a vignette. The numbers
are our choice.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

FINE, WIDE = 2, 8  # cells: shapes between these spreads count
EVERY: Final = 4  # cells, of which one is looked at
ANOTHER: Final = 0.5  # of what both show, by which another picture differs at least
NOISE: Final = 0.03  # of the mean light, by which it does so too: less is grain
DARKEST: Final = 0.02  # of the range, for which a darker mean is taken
BESIDE: Final = 0.04  # of the range, that the light beside a hair has changed where the picture has

Light = NDArray[np.float32]


def shapes(light: Light) -> Light:
    """Return what is compared of pictures (n, rows, columns): (n, m)."""
    spread: Any = gaussian_filter(light, (0, FINE, FINE)) - gaussian_filter(light, (0, WIDE, WIDE))
    spread /= np.maximum(light.mean(axis=(1, 2), keepdims=True), np.float32(DARKEST))
    inner = spread[:, EVERY // 2 : -EVERY // 2 : EVERY, EVERY // 2 : -EVERY // 2 : EVERY]
    return np.asarray(inner.reshape(len(light), -1), np.float32)


def is_another(one: Light, other: Light) -> bool:
    """Return whether two pictures, each (m,), show something else."""
    apart = float(np.mean((one - other) ** 2))
    return apart > NOISE**2 and apart > ANOTHER * float(np.mean(one**2) + np.mean(other**2))


def beginnings(shown: Light) -> NDArray[np.intp]:
    """Return with which samples another picture begins: a shot, or what a moving camera comes to."""
    found = [0]
    for at in range(1, len(shown)):
        if is_another(shown[at], shown[found[-1]]):
            found.append(at)
    return np.array(found, np.intp)


def different(shown: Light, beside: Light, at: NDArray[np.intp]) -> int:
    """Return how many different pictures there are among samples, by all that is shown and by the light
    beside a place, (n, cells): a return to the same one counts once.
    """
    kept: list[int] = []
    for sample in at.tolist():
        if all(
            is_another(shown[sample], shown[other])
            and float(np.sqrt(np.mean((beside[sample] - beside[other]) ** 2))) > BESIDE
            for other in kept
        ):
            kept.append(sample)
    return len(kept)
