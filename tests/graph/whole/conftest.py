"""Photographs moved like film, and the planes of decoded frames, for the tests of whole passes."""

from pathlib import Path

import av
import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
from scipy.ndimage import map_coordinates
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app

WIDTH, HEIGHT = 160, 120


def _moved(photograph, frames):
    """A pan and a zoom over a photograph: (frames, HEIGHT, WIDTH, 3), 0..1, between its pixels."""
    rows, columns = photograph.shape[:2]
    planes = np.moveaxis(photograph / 255.0, -1, 0)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    pictures = []
    for n in range(frames):
        share = n / (frames - 1)
        step = min(rows / HEIGHT, columns / WIDTH) * (0.95 - 0.45 * share)
        top, left = (rows - 1 - HEIGHT * step) * share, (columns - 1 - WIDTH * step) * (1 - share)
        places = [top + y * step, left + x * step]
        pictures.append(np.stack([map_coordinates(p, places, order=1, mode="nearest") for p in planes], -1))
    return np.clip(pictures, 0, 1)


@pytest.fixture(scope="session")
def film():
    """Three photographs that scikit-image brings, 24 frames of a pan and a zoom over each: (72, h, w, 3)."""
    photographs = (skimage.data.astronaut(), skimage.data.coffee(), skimage.data.chelsea())
    return np.concatenate([_moved(photograph, 24) for photograph in photographs])


@pytest.fixture(scope="session")
def lamphouse():
    """A function that runs the command with what is typed and returns what it says."""

    def run(*typed):
        result = CliRunner().invoke(_app(), [str(word) for word in typed])
        if result.exception:
            raise result.exception
        return result.output

    return run


@pytest.fixture(scope="session")
def write_stills():
    """A function that writes pictures (n, h, w, 3), 0..1, into a folder as 16-bit TIFF or 10-bit DPX."""
    return _write_stills


def _write_stills(folder: Path, pictures, suffix: str = "tif") -> Path:
    folder.mkdir()
    bits = {"tif": 16, "dpx": 10}[suffix]
    for number, picture in enumerate(pictures):
        height, width, _ = picture.shape
        spec = oiio.ImageSpec(width, height, 3, oiio.UINT16)
        spec.attribute("oiio:BitsPerSample", bits)
        codes = np.rint(picture * (2**bits - 1)).astype(np.uint16) << (16 - bits)
        file = oiio.ImageOutput.create(str(folder / f"film.{number:05}.{suffix}"))
        assert file.open(str(folder / f"film.{number:05}.{suffix}"), spec)
        assert file.write_image(np.ascontiguousarray(codes | codes >> bits if bits < 16 else codes))
        file.close()
    return folder


@pytest.fixture(scope="session")
def decode_planes():
    """A function that yields the planes of every frame of a movie, decoded in order, as they are stored."""

    def decode(path):
        with av.open(str(path)) as container:
            for frame in container.decode(video=0):
                yield [_plane(frame, part) for part in frame.format.components]

    return decode


def _plane(frame, part):
    plane = frame.planes[part.plane]
    kind = np.uint16 if part.bits > 8 else np.uint8
    lines = np.frombuffer(plane, kind).reshape(plane.height, -1)
    return lines[:, : plane.width].copy()


@pytest.fixture(scope="session")
def stored_codes():
    """A function from a still to its codes (3, h, w), read by OpenImageIO."""

    def read(path):
        file = oiio.ImageInput.open(str(path))
        bits = file.spec().get_int_attribute("oiio:BitsPerSample", 16)
        pixels = file.read_image(oiio.UINT16) >> (16 - bits)
        file.close()
        return np.moveaxis(pixels, -1, 0)

    return read


@pytest.fixture(scope="session")
def decode_sound():
    """A function from a movie to its samples as integers of 24 bits, (n, channels)."""

    def decode(path):
        with av.open(str(path)) as container:
            channels = container.streams.audio[0].codec_context.layout.nb_channels
            blocks = [frame.to_ndarray() for frame in container.decode(audio=0)]
        return np.concatenate([block.reshape(-1, channels) for block in blocks]) >> 8

    return decode
