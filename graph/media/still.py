"""One picture as a still file: what `frame` writes and what reports show."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import OpenImageIO as oiio
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput

# Depth of each kind of still: OpenImageIO clips and rounds integers, floats keep what lies beyond 0..1.
_DEPTHS: Final = {".png": "uint16", ".tif": "uint16", ".tiff": "uint16", ".exr": "half", ".jpg": "uint8"}


def write_still(path: Path, picture: NDArray[np.float32]) -> None:
    """Write `picture`, (3, height, width) video signal, at `path`, whole or not at all.

    16 bits in .png and .tif, 8 in .jpg, half float in .exr. Raises BadInput for another
    ending, and where it cannot be written.
    """
    depth = _DEPTHS.get(path.suffix.lower())
    if depth is None:
        raise BadInput(f"{path}: a still is written as .png, .tif, .jpg or .exr; give such a name.")
    pixels = np.ascontiguousarray(np.moveaxis(picture, 0, -1), np.float32)
    height, width, _ = pixels.shape
    buffer = oiio.ImageBuf(oiio.ImageSpec(width, height, 3, "float"))
    buffer.set_pixels(oiio.ROI(), pixels)
    part = path.with_name(f".part-{path.name}")
    if not buffer.write(str(part), depth):
        part.unlink(missing_ok=True)
        raise BadInput(f"{path} cannot be written ({buffer.geterror().strip()}); choose another place.")
    part.replace(path)
