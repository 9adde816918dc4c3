"""A reader of the Common LUT Format of its own: parsed by an open library, computed here from the formulae.

Formulae: Academy S-2014-006 v3.0. None of the program's own maths is used.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lamphouse.nodes.colorimetry import colour_science

Colours = np.ndarray


@pytest.fixture(scope="session")
def read_clf() -> Callable[[Path], Any]:
    """A function from a file to the library's record of it."""
    colour_science()  # the library brings it in, and it warns where an optional part is missing
    import colour_clf_io

    return lambda path: colour_clf_io.read_clf(path.read_bytes())


@pytest.fixture(scope="session")
def run_clf() -> Callable[[Any, Colours], Colours]:
    """A function that puts colours (3, n) through a record, in the precision they have."""

    def run(process_list: Any, rgb: Colours) -> Colours:
        with np.errstate(all="ignore"):
            for node in process_list.process_nodes:
                rgb = NODES[type(node).__name__](node, rgb).astype(rgb.dtype)
        return rgb

    return run


def _matrix(node, rgb):
    array = np.array(node.array.values, rgb.dtype).reshape(node.array.dim)
    moved = array[:, 3:] if array.shape[1] == 4 else 0
    return array[:, :3] @ rgb + moved


def _by_channel(parameters, rgb, compute):
    if len(parameters) == 1 and parameters[0].channel is None:
        return compute(parameters[0], rgb)
    given = {p.channel.value: p for p in parameters}
    assert sorted(given) == ["B", "G", "R"]
    return np.stack([compute(given[c], rgb[i]) for i, c in enumerate("RGB")])


def _exponent(node, rgb):
    return _by_channel(node.exponent_params, rgb, EXPONENTS[node.style.value])


def _mirror(p, x):
    return np.sign(x) * np.abs(x) ** x.dtype.type(p.exponent)


def _pass_through(p, x):
    return np.where(x > 0, np.maximum(x, 0) ** x.dtype.type(p.exponent), x)


def _monitor(p):
    g, k = p.exponent, p.offset
    slope = ((g - 1) / k) * (k * g / ((g - 1) * (1 + k))) ** g
    return g, k, slope, k / (g - 1)


def _monitor_forward(p, x):
    g, k, slope, bend = _monitor(p)
    size = np.abs(x)
    return np.sign(x) * np.where(size >= bend, ((size + k) / (1 + k)) ** g, size * slope)


def _monitor_reverse(p, x):
    g, k, slope, bend = _monitor(p)
    size = np.abs(x)
    return np.sign(x) * np.where(size >= bend * slope, (1 + k) * size ** (1 / g) - k, size / slope)


EXPONENTS = {
    "basicMirrorFwd": _mirror,
    "basicPassThruFwd": _pass_through,
    "monCurveMirrorFwd": _monitor_forward,
    "monCurveMirrorRev": _monitor_reverse,
}


def _log(node, rgb):
    style = node.style.value
    if style == "log10":
        return np.log10(np.maximum(rgb, rgb.dtype.type(1.175494e-38)))
    if style == "antiLog10":
        return rgb.dtype.type(10) ** rgb
    return _by_channel(node.log_params, rgb, {"cameraLinToLog": _to_log, "cameraLogToLin": _to_lin}[style])


def _camera(p, kind):
    at = p.lin_side_slope * p.lin_side_break + p.lin_side_offset
    slope = p.log_side_slope * p.lin_side_slope / (at * np.log(p.base))
    height = p.log_side_slope * np.log(at) / np.log(p.base) + p.log_side_offset
    return kind(slope), kind(height - slope * p.lin_side_break), kind(height)


def _to_log(p, x):
    slope, moved, _ = _camera(p, x.dtype.type)
    inner = np.maximum(p.lin_side_slope * x + p.lin_side_offset, x.dtype.type(1.175494e-38))
    curved = p.log_side_slope * np.log(inner) / np.log(x.dtype.type(p.base)) + p.log_side_offset
    return np.where(x <= p.lin_side_break, slope * x + moved, curved)


def _to_lin(p, x):
    slope, moved, height = _camera(p, x.dtype.type)
    raised = x.dtype.type(p.base) ** ((x - p.log_side_offset) / p.log_side_slope)
    return np.where(x <= height, (x - moved) / slope, (raised - p.lin_side_offset) / p.lin_side_slope)


def _range(node, rgb):
    assert node.style.value == "Clamp"
    assert (node.min_in_value, node.max_in_value) == (node.min_out_value, node.max_out_value)
    low = -np.inf if node.min_out_value is None else node.min_out_value
    return np.clip(rgb, low, np.inf if node.max_out_value is None else node.max_out_value)


def _cdl(node, rgb):
    held = {"Fwd": lambda x: np.clip(x, 0, 1), "FwdNoClamp": lambda x: x}[node.style.value]
    sop = node.sopnode
    slope, offset, power = (np.array(v, rgb.dtype)[:, None] for v in (sop.slope, sop.offset, sop.power))
    moved = held(rgb * slope + offset)
    raised = np.where(moved < 0, moved, np.abs(moved) ** power)
    luma = np.array([[0.2126, 0.7152, 0.0722]], rgb.dtype) @ raised
    return held(luma + node.sat_node.saturation * (raised - luma))


def _lut_1d(node, rgb):
    assert node.interpolation.value == "linear"
    assert not node.half_domain
    assert not node.raw_halfs
    table = np.array(node.array.values, rgb.dtype).reshape(node.array.dim)
    table = np.broadcast_to(table, (len(table), 3))
    places = np.clip(rgb, 0, 1) * rgb.dtype.type(len(table) - 1)
    return np.stack([np.interp(places[c], np.arange(len(table)), table[:, c]) for c in range(3)])


def _lut_3d(node, rgb):
    assert node.interpolation.value == "tetrahedral"
    size = node.array.dim[0]
    # Third component, blue, fastest: entry (r, g, b) is line (r N + g) N + b.
    lines = np.array(node.array.values, rgb.dtype).reshape(-1, 3)
    place = np.clip(rgb, 0, 1) * (size - 1)
    cell = np.minimum(place.astype(int), size - 2)
    r, g, b = place - cell

    def corner(*steps):
        red, green, blue = (cell[axis] + step for axis, step in enumerate(steps))
        return lines[(red * size + green) * size + blue].T

    near, far = corner(0, 0, 0), corner(1, 1, 1)

    def path(largest, middle, smallest, first, second):
        one, two = corner(*first), corner(*second)
        return near * (1 - largest) + one * (largest - middle) + two * (middle - smallest) + far * smallest

    return np.select(
        [
            (r >= g) & (g >= b),
            (r >= b) & (b >= g),
            (b >= r) & (r >= g),
            (g >= r) & (r >= b),
            (g >= b) & (b >= r),
        ],
        [
            path(r, g, b, (1, 0, 0), (1, 1, 0)),
            path(r, b, g, (1, 0, 0), (1, 0, 1)),
            path(b, r, g, (0, 0, 1), (1, 0, 1)),
            path(g, r, b, (0, 1, 0), (1, 1, 0)),
            path(g, b, r, (0, 1, 0), (0, 1, 1)),
        ],
        path(b, g, r, (0, 0, 1), (0, 1, 1)),
    )


NODES = {
    "Matrix": _matrix,
    "Exponent": _exponent,
    "Log": _log,
    "Range": _range,
    "ASC_CDL": _cdl,
    "LUT1D": _lut_1d,
    "LUT3D": _lut_3d,
}
