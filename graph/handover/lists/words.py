"""Words that stand in event lists as we write them and are known again when one comes back."""

from __future__ import annotations

from typing import Final

# Comments of our own. `FROM CLIP NAME`, `LOC`, `ASC_SOP`, `ASC_SAT` and the line `M2` are the trade's.
CUE: Final = "CUE"  # the name of the cue whose settings hold
CUE_NUMBER: Final = "CUE NUMBER"
TRANSITION: Final = "TRANSITION OF SETTINGS"  # `60 FRAMES, soft`, which end on the first frame
RECORD_RATE: Final = "RECORD RATE"  # frames a second, as the form has no place for it
SOURCE_RATE: Final = "SOURCE RATE"
NO_CDL: Final = "NO CDL"
CDL: Final = "CDL"  # how exact it is
NOT_SHOWN: Final = "NOT SHOWN"
OURS: Final = (CUE_NUMBER, CUE, TRANSITION, RECORD_RATE, SOURCE_RATE, NO_CDL, CDL, NOT_SHOWN)

MARK_COLOUR: Final = "WHITE"  # a locator has to name one
REEL_LENGTH: Final = 8  # characters of a reel's name in the form
