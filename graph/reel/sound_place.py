"""Where the sound of a reel lies beside its film: exact, whatever the rates."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lamphouse.graph.reel.limits import exact_seconds
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.time.rate import parse_rate


@dataclass(frozen=True, slots=True)
class SoundPlace:
    """A sound beside film: `recorded` film frames pass in a second of it, from the place `begins` on.

    Places of the film are in frames, which may be parts of one: 12.5 is in the middle of frame 12.
    """

    begins: Fraction
    recorded: Fraction

    def frame(self, seconds: Fraction) -> Fraction:
        """Return the place of the film beside which lies what sounds after `seconds` of the sound."""
        return self.begins + seconds * self.recorded


def sound_place(reel: Reel) -> SoundPlace | None:
    """Return where the sound of `reel` lies, None where there is none. Raises BadInput for a bad rate."""
    ref = reel.sound
    if ref is None:
        return None
    recorded = parse_rate(ref.rate or reel.rate)
    return SoundPlace(ref.starts_at + exact_seconds(ref.offset) * recorded, recorded)
