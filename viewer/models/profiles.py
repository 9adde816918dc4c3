"""ICC profiles of monitors: LittleCMS, in Pillow, fills a table from sRGB codes to the monitor's own."""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.colour_encoding import ColourEncoding
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.maths import lattice
from lamphouse.nodes.one_line import one_line
from lamphouse.nodes.regular_file import MIB, read_regular
from lamphouse.viewer.models.monitors import Monitor

NODES: Final = 86  # an edge: every third of 256 codes, so that LittleCMS is asked for whole ones
TRIED: Final = 4096  # colours by which the table is held against LittleCMS
LARGEST: Final = 32 * MIB
ENDINGS: Final = (".icc", ".icm")
# Where systems keep the profiles of their devices: the freedesktop base directories, and those of the makers.
FOLDERS: Final = {
    "linux": ("~/.local/share/icc", "~/.color/icc", "/usr/local/share/color/icc", "/usr/share/color/icc"),
    "darwin": ("~/Library/ColorSync/Profiles", "/Library/ColorSync/Profiles"),
    "win32": (r"C:\Windows\System32\spool\drivers\color",),
}


def profile_monitor(path: Path) -> Monitor:
    """Return the monitor that an ICC profile describes; a tenth of a second.

    White is the monitor's white and black its black (ICC.1:2022, media-relative, with black point
    compensation). What the table differs by from LittleCMS, whose codes have 8 bits, is measured and stated.
    Raises BadInput for a file that cannot be read, and for a profile of something else than an RGB device.
    """
    from PIL.ImageCms import PyCMSError, getOpenProfile, getProfileDescription

    try:
        profile = getOpenProfile(BytesIO(read_regular(path, LARGEST)))
        name = one_line(getProfileDescription(profile).strip()) or path.name
        if profile.profile.xcolor_space.strip() != "RGB":
            raise BadInput(f"{path.name} is no profile of an RGB monitor; choose another.")
        convert = _conversion(profile)
        table = convert(_grid()).reshape(NODES, NODES, NODES, 3)
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror or error}).") from error
    except PyCMSError as error:
        raise BadInput(f"{path} is no ICC profile that can be used ({error}); choose another.") from error
    off = _largest_error(table, convert)
    stated = f"BT.1886, by the ICC profile {name}, within {off:.1f} of 255 codes"
    return Monitor(stated, ColourEncoding("srgb"), "ICC.1:2022", table)


def profiles_here() -> list[Path]:
    """Return the ICC profiles in the usual folders of this system, by name."""
    folders = (Path(folder).expanduser() for folder in FOLDERS.get(sys.platform, ()))
    found = (path for folder in folders if folder.is_dir() for path in folder.rglob("*"))
    return sorted(path for path in found if path.suffix.lower() in ENDINGS)


def _conversion(profile: Any) -> Any:
    """Return what gives the monitor's codes, (n, 3) from 0 to 1, of sRGB codes (n, 3) of 8 bits."""
    from PIL import Image
    from PIL.ImageCms import Flags, Intent, applyTransform, buildTransform, createProfile

    transform = buildTransform(
        createProfile("sRGB"),
        profile,
        "RGB",
        "RGB",
        renderingIntent=Intent.RELATIVE_COLORIMETRIC,
        flags=Flags.BLACKPOINTCOMPENSATION,
    )

    def convert(codes: NDArray[np.uint8]) -> NDArray[np.float32]:
        made = applyTransform(Image.fromarray(codes[None]), transform)
        shares: NDArray[np.float32] = np.asarray(made, np.float32)[0] / 255
        return shares

    return convert


def _grid() -> NDArray[np.uint8]:
    """Return the codes of the table's nodes, (n, 3), blue changing fastest."""
    along = np.linspace(0, 255, NODES).astype(np.uint8)
    return np.stack(np.meshgrid(along, along, along, indexing="ij"), -1).reshape(-1, 3)


def _largest_error(table: NDArray[np.float32], convert: Any) -> float:
    """Return by how many codes of 255 the table differs from LittleCMS at most, over colours by chance."""
    codes = np.random.default_rng(1).integers(0, 256, (TRIED, 3), np.uint8)
    made = lattice(codes.T.astype(np.float32) / 255, table).T
    return float(np.abs(made - convert(codes)).max() * 255)
