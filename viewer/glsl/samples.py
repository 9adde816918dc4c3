"""How the components of a frame are given to GL: as they lie in memory, so that nothing is copied."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from lamphouse.graph.media.codes.pixel_layout import Part

Plane = NDArray[Any]


def laid_out(planes: Sequence[Plane], widest: int) -> tuple[tuple[Plane, ...], tuple[Part, ...]]:
    """Return arrays of samples, (h, n), and in which of them and where each of the planes, (h, w), lies.

    What is woven together lies in one array. All are views, but for planes whose lines run from the bottom
    up, or would be longer than `widest` samples: those are copied.
    """
    if not all(_fits(plane, widest) for plane in planes):
        planes = [np.ascontiguousarray(plane) for plane in planes]
    groups: list[list[Plane]] = []
    for plane in sorted(planes, key=_address):
        if groups and _is_woven(groups[-1][0], plane):
            groups[-1].append(plane)
        else:
            groups.append([plane])
    return tuple(map(_lines, groups)), tuple(_part(groups, plane) for plane in planes)


def _fits(plane: Plane, widest: int) -> bool:
    step, width = plane.strides[1], plane.shape[1]
    is_forward = 0 < step * (width - 1) < plane.strides[0] or width == 1
    is_whole = not plane.strides[0] % plane.itemsize and not step % plane.itemsize
    return is_forward and is_whole and step * width <= widest * plane.itemsize


def _is_woven(first: Plane, plane: Plane) -> bool:
    apart = _address(plane) - _address(first)
    return plane.strides[0] == first.strides[0] and apart < max(first.strides[1], plane.strides[1])


def _lines(group: Sequence[Plane]) -> Plane:
    """Return all samples of a group, from the first of it on."""
    first = group[0]
    ends = [_address(p) - _address(first) + p.strides[1] * (p.shape[1] - 1) for p in group]
    size = len(first), max(ends) // first.itemsize + 1
    return as_strided(first, size, (first.strides[0], first.itemsize), writeable=False)


def _part(groups: Sequence[Sequence[Plane]], plane: Plane) -> Part:
    index = next(n for n, group in enumerate(groups) if any(member is plane for member in group))
    first = (_address(plane) - _address(groups[index][0])) // plane.itemsize
    return Part(index, first, plane.strides[1] // plane.itemsize)


def _address(plane: Plane) -> int:
    return int(plane.__array_interface__["data"][0])
