"""What a pass meets in its scan and its sound that a person should know of."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

CAUTION: Final = (
    "This is no certificate: the master was not checked for flashing pictures, for which the rules of the "
    "place where it is shown decide, and licensed testing."
)


class PassNotes:
    """Counts, and tells in sentences. Pictures and samples may come from a thread each."""

    def __init__(self) -> None:
        self._frames: list[int] = []  # of the scan, that hold values that are not finite
        self._cut = self._no_numbers = 0
        self._first_cut = self._first_no_number = 0

    def see(self, frame: int, picture: Any) -> None:
        """Look at a picture as the scan gives it; codes are always numbers."""
        if isinstance(picture, np.ndarray) and not np.isfinite(picture).all():
            self._frames.append(frame)

    def hear(self, number: int, block: NDArray[np.float32]) -> None:
        """Look at the samples (channels, n), full scale 1, of frame `number` of the master."""
        cut, no_numbers = int((np.abs(block) > 1).sum()), int(np.isnan(block).sum())
        self._first_cut = number if cut and not self._cut else self._first_cut
        self._first_no_number = number if no_numbers and not self._no_numbers else self._first_no_number
        self._cut += cut
        self._no_numbers += no_numbers

    def sentences(self) -> tuple[str, ...]:
        """Return what was met, each kind once."""
        notes = []
        if self._frames:
            notes.append(
                f"{len(self._frames)} frames of the scan hold values that are not finite numbers, the first "
                f"frame {self._frames[0]}; look at them in the master."
            )
        if self._cut:
            notes.append(
                f"{self._cut} samples of the sound lie beyond full scale and are clipped, the first in frame "
                f"{self._first_cut} of the master; lower the sound before the transfer."
            )
        if self._no_numbers:
            notes.append(
                f"{self._no_numbers} samples of the sound are not numbers, the first in frame "
                f"{self._first_no_number} of the master; mend the sound file."
            )
        return tuple(notes)
