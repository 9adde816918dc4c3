"""A picture at a half or a quarter of its raster: the means of squares of its signal.

Codes are averaged before they are decoded, which is the same, as decoding is straight, and less work.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.chroma import ITSELF, Sited, mean_weights, weighted_rows
from lamphouse.graph.media.codes.decode_planes import Coded, bands, to_rgb

Picture = NDArray[np.float32]


def shrunk(picture: Coded | Picture, divide: int) -> Picture:
    """Return R'G'B' (3, h // divide, w // divide) of a picture; what is left over at the edges goes."""
    if not isinstance(picture, Coded):
        return np.stack([means(channel, divide, divide) for channel in picture])
    if divide == 1:
        return to_rgb(picture)
    over, down = picture.layout.subsampling
    if divide % over or divide % down:
        return shrunk(to_rgb(picture), divide)
    _, height, width = picture.shape
    luma, *chroma = picture.planes
    planes = [means(luma, divide, divide), *(_chroma(plane, picture, divide) for plane in chroma)]
    cut = tuple(plane[: height // divide, : width // divide] for plane in planes)
    return to_rgb(replace(picture, planes=cut, layout=replace(picture.layout, subsampling=(1, 1))))


def _chroma(plane: NDArray[Any], picture: Coded, divide: int) -> Picture:
    """Return a plane of chroma as the means of squares of pixels: rows first, which leaves less to filter."""
    siting, (over, down) = picture.coding.siting, picture.layout.subsampling
    tall = means(_over_pixels(plane.T, down, siting.down).T, 1, divide // down)
    return means(_over_pixels(tall, over, siting.across), divide // over, 1)


def _over_pixels(plane: NDArray[Any], factor: int, sited: Sited) -> NDArray[Any]:
    """Return the means of chroma, along each row, over the pixels that each of its samples covers."""
    by = mean_weights(factor, sited)
    if factor == 1 or by == ITSELF:  # as where each of two rows lies off it by as much
        return plane
    found = np.empty(plane.shape, np.float32)
    for band in bands(len(plane)):
        part = np.ascontiguousarray(plane[band], np.float32)
        found[band] = weighted_rows(part, by)
    return found


def means(plane: NDArray[Any], over: int, down: int) -> Picture:
    """Return the means of squares of `over` columns and `down` rows of a plane, as float32."""
    if over == down == 1:
        return plane.astype(np.float32)
    height, width = plane.shape[0] // down, plane.shape[1] // over
    cut = plane[: height * down, : width * over]
    rows = cut[::down].astype(np.float32)  # which hold sums of 256 codes of 16 bits exactly
    for row in range(1, down):
        rows += cut[row::down]
    total = rows.reshape(height, width, over) @ np.ones(over, np.float32)
    return np.asarray(total / np.float32(over * down))
