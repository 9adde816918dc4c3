"""The picture source: frames by number, and the facts that a reel keeps about them.

Everything above reads pictures through `Scan` and never learns what kind of file they come from.
"""

from abc import ABC, abstractmethod
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.scan.stated import Stated
from lamphouse.nodes.errors import BadInput

if TYPE_CHECKING:
    from lamphouse.graph.media.codes.decode_planes import Coded
    from lamphouse.graph.progress import Step

    Source = Coded | NDArray[np.float32]

STILLS: Final = frozenset(
    {".dpx", ".tif", ".tiff", ".exr", ".png", ".jpg", ".jpeg", ".jp2", ".j2c", ".tga", ".bmp"}
)


class Scan(ABC):
    """Frames 0 to `frames - 1` of one picture source, for use by one thread at a time.

    `rate` is what the file states, or None; `bits` the depth of its codes; `timecode` that of frame 0;
    `is_stills` says that each frame is a file, `is_all_keys` that none leans on
    others; `stated` is what its tags say of its colour; `notes` are
    sentences about what is irregular or was assumed.
    """

    path: Path
    frames: int
    width: int
    height: int
    rate: Fraction | None
    bits: int
    pixel_aspect: Fraction
    timecode: str | None
    has_sound: bool
    is_stills: bool = False
    is_all_keys: bool = True
    stated: Stated
    notes: tuple[str, ...]

    @abstractmethod
    def read_coded(self, frame: int) -> "Source":
        """Return a frame as the file holds it: codes and how they are meant, or float R'G'B'.

        Raises BadInput for a frame that is outside the scan, missing, damaged or of another size.
        """

    def read(self, frame: int) -> NDArray[np.float32]:
        """Return a frame as float32, shape (3, height, width), 0 reference black, 1 reference white.

        Raises BadInput as `read_coded` does.
        """
        from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb

        found = self.read_coded(frame)
        return to_rgb(found) if isinstance(found, Coded) else found

    def check_all(self, step: "Step | None" = None) -> tuple[str, ...]:
        """Look at every frame as far as that costs no decoding, and return notes on what was found.

        `step` is told how far it has come, in place of the terminal.

        Raises BadInput for what no pass could get through, such as stills of several sizes.
        """
        return ()

    @abstractmethod
    def close(self) -> None:
        """Release the file. Closing twice does nothing."""

    def check_frame(self, frame: int) -> None:
        """Raise BadInput where `frame` is outside the scan."""
        if not 0 <= frame < self.frames:
            raise BadInput(f"Frame {frame} is outside {self.path}, which has frames 0 to {self.frames - 1}.")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
