"""What flashing pictures are held to: ITU-R BT.1702 and its national forms, as numbers with their source.

None of the documents was read whole: each number says where it was found. They are guidance on what is
likely to harm, and no promise that something else does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

AREA: Final = 0.25  # of the picture: what flashes over no more is accepted
RED: Final = 20.0  # of (R - G - B) * 320 in linear light, which a red flash exceeds
RED_SHARE: Final = 0.8  # of R in R + G + B from which a red is saturated
RUN: Final = 5  # seconds after which even a run of flashes that complies may harm
_ITU: Final = "ITU-R BT.1702-3 (2023), second-hand"
# For red BT.1702 gives no number; this is WCAG 2.0's working definition, after Harding and Binnie (2002).
RED_SOURCE: Final = "WCAG 2.0, definition of general flash and red flash thresholds, note"
STRIPES_SOURCE: Final = (
    f"{_ITU}: five pairs, a quarter, half a second; from memory: two fifths where they stand or drift, "
    "and 50 cd/m2 of the lighter stripes"
)


@dataclass(frozen=True, slots=True)
class Limit:
    """So many flashes in any one second are accepted of changes of `change` or more, in cd/m2.

    Where the form is relative `change` is a share of white. `seconds` is how long more may last.
    """

    change: float
    most: int
    seconds: int = 0


@dataclass(frozen=True, slots=True)
class Form:
    """One form of the rule. `darker` is the light from which on the darker picture makes it no flash."""

    rule: str
    source: str
    limits: tuple[Limit, ...]
    darker: float
    is_relative: bool = False

    def in_light(self, value: float, peak: float) -> float:
        """Return a limit as a share of white, which is at `peak` cd/m2."""
        return value if self.is_relative else value / peak


FORMS: Final[dict[str, Form]] = {
    "BT.1702": Form("ITU-R BT.1702", _ITU, (Limit(20, 3),), 160),
    "Ofcom": Form(
        "Ofcom Guidance Note, Section 2, Annex 1",
        "the same numbers as ITU-R BT.1702, second-hand",
        (Limit(20, 3),),
        160,
    ),
    # Five flashes a second are accepted of changes of a tenth to a fifth, for two seconds.
    "NAB-J": Form(
        "NHK and NAB guideline on picture techniques",
        "the standard of a Japanese broadcaster that quotes it (superdramatv.com), second-hand; that a "
        "darker picture from 80 % of white on makes no flash is taken from ITU-R BT.1702",
        (Limit(0.2, 3), Limit(0.1, 5), Limit(0.1, 3, 2)),
        0.8,
        is_relative=True,
    ),
}


def apart(rate: Fraction) -> Fraction:
    """Return the seconds from which on two flashes are no run: their leading edges' distance.

    Nine frames of 25 a second, ten of 30 (ITU-R BT.1702-3, second-hand), eight of film (the guideline of a
    Japanese broadcaster, tv-tokyo.co.jp); a third of a second at any other rate.
    """
    return Fraction(9, 25) if rate in (25, 50) else Fraction(1, 3)
