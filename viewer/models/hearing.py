"""What is heard, or why nothing is: muted, no device, no sound, a speed at which it would be noise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SOUNDING: Final = "sound"
MUTED: Final = "muted"
NO_DEVICE: Final = "no device"
NO_SOUND: Final = "no sound"
SILENT: Final = "silent"  # at this speed


@dataclass(frozen=True, slots=True)
class Hearing:
    """One word for it, and the sentence on why nothing is heard, or nothing."""

    word: str = SOUNDING
    reason: str = ""


HEARD: Final = Hearing()
