"""The colour of the light, by several published estimators: where they agree it can be believed.

Each takes display-linear light of pictures that were taken under one light and returns a colour (3,) of any
size. What is clipped says nothing of colour, so `usable` says which pixels count. Sources are from memory
where they are not said to have been read.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.signals import DISPLAY_GAMMA

Pixels = NDArray[np.float64]  # (3, n)
Light = NDArray[np.float64]  # (3, h, w)
Mask = NDArray[np.bool_]  # (h, w)
Pictures = Sequence[NDArray[Any]]  # of (3, h, w)

CLIPPED: Final = 0.985  # of video signal: from here on a channel may be clipped (our choice)
DARK: Final = 0.02  # of video signal: below it grain says more than light
# Minkowski's, found best by Finlayson and Trezzi, and used for edges by van de Weijer, Gevers and Gijsenij.
ORDER: Final = 6
SCALE: Final = 1.0  # of the derivatives, in pixels of a picture 96 wide
BRIGHT: Final = 99.0  # percentile of each channel that stands for white: one pixel alone may be a sparkle
ENDS: Final = 0.035  # share of the darkest and of the brightest pixels: Cheng, Prasad and Brown's
FEW: Final = 0.05  # of the pixels: fewer that are usable are no better than all
FLOOR: Final = 1e-6  # of light
LEAST: Final = 1e-4  # of light, where logarithms of single pixels are taken
CONTRAST: Final = 0.05  # of the logarithms of a pixel and of what lies around it: less is grain
GREYEST: Final = 0.03  # share of the pixels that are taken for grey
FEWEST: Final = 20  # pixels that are


def usable(video: NDArray[Any]) -> Mask:
    """Return which pixels of a picture (3, ...) in video signal count: all where hardly any are unclipped."""
    found = unclipped(video)
    return found if found.mean() > FEW else video.max(axis=0) >= 0


def unclipped(video: NDArray[Any]) -> Mask:
    """Return which pixels of a picture (3, ...) in video signal are neither clipped nor black."""
    top = video.max(axis=0)
    found: Mask = (top < CLIPPED) & (top > DARK)
    return found


def shades_of_grey(light: Pixels) -> Pixels:
    """Return the Minkowski mean: G. Finlayson and E. Trezzi, "Shades of gray and colour constancy" (2004)."""
    return np.asarray((light**ORDER).mean(axis=1) ** (1 / ORDER))


def white_patch(light: Pixels) -> Pixels:
    """Return the brightest of each channel: E. Land and J. McCann, "Lightness and retinex theory" (1971)."""
    return np.asarray(np.percentile(light, BRIGHT, axis=1))


def bright_and_dark(light: Pixels) -> Pixels:
    """Return the first principal axis of the brightest and darkest pixels.

    D. Cheng, D. Prasad and M. Brown, "Illuminant estimation for color constancy: why spatial-domain methods
    work and the role of the color distribution" (2014).
    """
    order = np.argsort(light.mean(axis=1) @ light)
    count = max(4, int(ENDS * len(order)))
    ends = light[:, np.concatenate([order[:count], order[-count:]])]
    _, axes = np.linalg.eigh(ends @ ends.T)
    return np.asarray(np.abs(axes[:, -1]))


def grey_edge(light: Light) -> Light:
    """Return the size of first derivatives of a picture.

    J. van de Weijer, T. Gevers and A. Gijsenij, "Edge-based color constancy" (2007), whose Minkowski mean
    over a picture is the colour.
    """
    from scipy.ndimage import gaussian_gradient_magnitude

    return np.stack([gaussian_gradient_magnitude(channel, SCALE) for channel in light])


def second_grey_edge(light: Light) -> Light:
    """Return the size of second derivatives of a picture: the same authors' second order."""
    from scipy.ndimage import gaussian_filter

    down, both, along = (
        np.stack([gaussian_filter(channel, SCALE, order) for channel in light])
        for order in ((2, 0), (1, 1), (0, 2))
    )
    return np.asarray(np.sqrt(down**2 + 4 * both**2 + along**2))


def grey_pixels(light: Light, mask: Mask) -> Pixels:
    """Return the middle colour of the pixels of a picture that differ from around them alike in all channels.

    Y. Qian et al., "On finding gray pixels" (2019), after K.-F. Yang, S.-B. Gao and Y.-J. Li, "Efficient
    illuminant estimation for color constancy using grey pixels" (2015): the logarithms of what is grey change
    by as much in each channel, whatever the light.
    """
    from scipy.ndimage import gaussian_laplace

    around = np.stack([gaussian_laplace(np.log(np.maximum(channel, LEAST)), SCALE) for channel in light])
    size = np.linalg.norm(around, axis=0)
    alike = np.where(mask & (size > CONTRAST), np.abs(around.sum(axis=0)) / np.maximum(size, FLOOR), -1.0)
    greyest = np.argsort(-alike.ravel())[: max(FEWEST, int(GREYEST * alike.size))]
    found = np.maximum(light.reshape(3, -1)[:, greyest], FLOOR)
    return np.asarray(np.median(found / found.mean(axis=0), axis=1))


OF_PIXELS: Final[dict[str, Callable[[Pixels], Pixels]]] = {
    "shades of grey": shades_of_grey,
    "white patch": white_patch,
    "bright and dark": bright_and_dark,
}
OF_EDGES: Final[dict[str, Callable[[Light], Light]]] = {
    "grey edge": grey_edge,
    "second grey edge": second_grey_edge,
}
GREY_PIXELS: Final = "grey pixels"


def colours_of_light(pictures: Pictures) -> dict[str, Pixels]:
    """Return what each estimator says of pictures (3, h, w) in video signal: log2 of light, about 0, (3,)."""
    lights = [np.clip(picture, 0, None).astype(np.float64) ** DISPLAY_GAMMA for picture in pictures]
    masks = [usable(picture) for picture in pictures]
    pixels = _joined(lights, masks)
    found = {name: estimate(pixels) for name, estimate in OF_PIXELS.items()}
    inner = _without_edges(masks)
    for name, edges in OF_EDGES.items():
        found[name] = shades_of_grey(_joined([edges(light) for light in lights], inner))
    greys = [grey_pixels(light, mask) for light, mask in zip(lights, masks, strict=True)]
    found[GREY_PIXELS] = np.exp2(np.median([np.log2(grey) for grey in greys], axis=0))
    return {name: centred(np.log2(np.maximum(colour, FLOOR))) for name, colour in found.items()}


def centred(logs: Pixels) -> Pixels:
    """Return logarithms of three channels about their mean: a colour without its size."""
    return np.asarray(logs - logs.mean())


def _without_edges(masks: Sequence[Mask]) -> list[Mask]:
    """Return masks without what lies beside a clipped pixel: that is no edge of the picture."""
    from scipy.ndimage import binary_erosion

    inner = [np.asarray(binary_erosion(mask, iterations=2)) for mask in masks]
    return inner if np.mean([mask.mean() for mask in inner]) > FEW else list(masks)


def _joined(pictures: Sequence[Light], masks: Sequence[Mask]) -> Pixels:
    return np.concatenate([p[:, mask] for p, mask in zip(pictures, masks, strict=True)], axis=1)
