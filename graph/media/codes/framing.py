"""How a frame is framed, read from its settings: see `nodes/framing.py` for what each of them means."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.raster import Shape
from lamphouse.nodes.framing import ACROSS, DOWN, FRAMING, PARAMETERS, QUARTERS, UNMIRRORED
from lamphouse.nodes.values import Settings

Picture = NDArray[np.float32]
Edges = tuple[Any, Any, Any, Any]  # left, top, right, bottom
Gate = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Framing:
    """Where the picture of one frame lies: positions in picture heights, degrees clockwise.

    `gate` is what is blanked at the left, top, right and bottom of the picture as it was scanned.
    """

    position_x: float = 0.0
    position_y: float = 0.0
    size: float = 1.0
    turn: float = 0.0
    quarters: int = 0
    mirror: str = UNMIRRORED
    gate: Gate = (0.0, 0.0, 0.0, 0.0)

    @property
    def words(self) -> str:
        """All of it as one text, numbers as far as the work is exact: libraries differ in the last bit."""
        numbers = (self.position_x, self.position_y, self.size, self.turn, *self.gate)
        return " ".join([*(f"{number:.7g}" for number in numbers), str(self.quarters), self.mirror])

    def turned(self, picture: Picture) -> Picture:
        """Return a picture (3, h, w) mirrored and turned by quarters: a view, no value changed."""
        if self.mirror != UNMIRRORED:
            picture = picture[:, :, ::-1] if self.mirror == ACROSS else picture[:, ::-1]
        return np.rot90(picture, -self.quarters, (1, 2)) if self.quarters else picture

    def turned_shape(self, shape: Shape) -> Shape:
        """Return the shape of a picture once it is turned."""
        return Shape(shape.height, shape.width, 1 / shape.pixel_aspect) if self.quarters % 2 else shape

    def unturned(self, point: tuple[Any, Any], width: int, height: int) -> tuple[Any, Any]:
        """Return where in a picture of that raster a point lies that is given in the turned one."""
        x, y = point
        for quarter in reversed(range(self.quarters)):
            x, y = y, (width if quarter % 2 else height) - x
        if self.mirror == ACROSS:
            x = width - x
        return (x, height - y) if self.mirror == DOWN else (x, y)

    def turned_edges(self, edges: Edges, width: int, height: int) -> Edges:
        """Return where `edges` within a picture of that raster lie once it is mirrored and turned."""
        left, top, right, bottom = edges
        if self.mirror == ACROSS:
            left, right = width - right, width - left
        if self.mirror == DOWN:
            top, bottom = height - bottom, height - top
        for _ in range(self.quarters):
            left, top, right, bottom = height - bottom, left, height - top, right
            width, height = height, width
        return left, top, right, bottom


NEUTRAL: Final = Framing()


def framing_of(settings: Settings) -> Framing:
    """Return the framing that the settings of a frame say, neutral in what they leave out."""

    def value(name: str) -> Any:
        return settings.get(f"{FRAMING}.{name}", _DEFAULTS[name])

    return Framing(
        value("position_x"),
        value("position_y"),
        value("size"),
        value("turn"),
        QUARTERS.index(value("quarter_turns")),
        value("mirror"),
        (value("gate_left"), value("gate_top"), value("gate_right"), value("gate_bottom")),
    )


_DEFAULTS: Final = {parameter.name: parameter.default for parameter in PARAMETERS}
