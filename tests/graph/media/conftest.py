"""Movies whose pictures carry their own number, so that a test can tell which one it was given."""

from fractions import Fraction

import av
import numpy as np
import pytest

COLUMNS, ROWS = 6, 2  # bits of the number, as blocks


@pytest.fixture(scope="session")
def numbered_movie():
    """A function that writes a movie of `count` pictures; each shows its number in black and white blocks."""
    return _write


@pytest.fixture(scope="session")
def number_in():
    """A function from a picture (3, h, w) to the number that it shows."""
    return _number


def _write(path, codec, pixel_format="yuv420p", *, count=60, options=None, stamps=None, **shape):
    size, rate, form = shape.get("size", (160, 96)), shape.get("rate", Fraction(25)), shape.get("form")
    tick = Fraction(1, 75) if stamps else 1 / rate
    with av.open(str(path), "w", format=form) as container:
        stream = container.add_stream(codec, rate=rate, options=options or {})
        stream.width, stream.height = size
        stream.pix_fmt = pixel_format
        stream.bit_rate = 4_000_000
        stream.codec_context.time_base = tick
        for number in range(count):
            frame = av.VideoFrame.from_ndarray(_blocks(number, *size), "gray").reformat(format=pixel_format)
            frame.pts, frame.time_base = (stamps[number] if stamps else number), tick
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def _blocks(number, width, height):
    bits = [number >> bit & 1 for bit in range(COLUMNS * ROWS)]
    cells = np.array(bits, np.uint8).reshape(ROWS, COLUMNS) * 255
    rows, columns = np.arange(height) * ROWS // height, np.arange(width) * COLUMNS // width
    return np.ascontiguousarray(cells[np.ix_(rows, columns)])


def _number(picture):
    _, height, width = picture.shape
    rows = (np.arange(ROWS) * 2 + 1) * height // (ROWS * 2)
    columns = (np.arange(COLUMNS) * 2 + 1) * width // (COLUMNS * 2)
    lit = picture.mean(axis=0)[np.ix_(rows, columns)].ravel() > 0.5
    return int((lit * 2 ** np.arange(lit.size)).sum())
