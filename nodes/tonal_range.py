"""The tones of a picture that a control is made for, as a node declares them of its balances and masters."""

from enum import StrEnum


class TonalRange(StrEnum):
    """A third of the tones; its neighbours go along with it, the less the farther they are."""

    SHADOWS = "shadows"
    MIDDLE = "middle tones"
    HIGHLIGHTS = "highlights"
