"""Framing by the shapes of film: what is blanked at each edge so that only a film's picture is left."""

from __future__ import annotations

from dataclasses import replace

from lamphouse.graph.media.codes.framing import NEUTRAL
from lamphouse.graph.media.codes.placing import unplaced
from lamphouse.graph.reel.film_shapes import FilmShape, film_shape, usual_shape
from lamphouse.graph.reel.records import Reel
from lamphouse.nodes.framing import FRAMING

EDGES = ("left", "top", "right", "bottom")


def shape_of_film(reel: Reel) -> FilmShape:
    """Return the shape of the reel's film, or where it says none, that which its gauge has most often."""
    return film_shape(reel.shape) if reel.shape else usual_shape(reel.gauge)


def film_edges(reel: Reel, shape: FilmShape) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of a picture of that shape in the scan, in shares of it."""
    placing = replace(unplaced(reel), film=shape.ratio)
    left, top, right, bottom = map(float, placing.open_edges(NEUTRAL))
    wide, high = placing.scan.width, placing.scan.height
    return left / wide, top / high, right / wide, bottom / high


def gated_to(reel: Reel, shape: FilmShape) -> dict[str, float]:
    """Return the settings that blank what lies outside a picture of that shape in the middle of the scan."""
    placing = unplaced(reel)
    inner = replace(placing, film=shape.ratio).open_edges(NEUTRAL)
    own = placing.open_edges(NEUTRAL)
    aspect, high = placing.scan.pixel_aspect, placing.scan.height
    units = (aspect / high, 1 / high) * 2  # picture heights for a pixel
    by = (abs(a - b) * unit for a, b, unit in zip(inner, own, units, strict=True))
    return {f"{FRAMING}.gate_{edge}": float(share) for edge, share in zip(EDGES, by, strict=True)}
