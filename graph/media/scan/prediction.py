"""Which pictures a broken packet takes with it.

A picture is predicted from those decoded before it, so what follows a broken one is as broken as the packet,
up to the next picture that stands on its own. Decoders paint over the first and say nothing of the rest.
"""

from typing import Final

from av import VideoFrame
from av.video.frame import PictureType

from lamphouse.graph.media.scan.packet_index import PacketIndex

WHOLE: Final = (PictureType.I, PictureType.SI, PictureType.BI)
REMEMBERED: Final = 64  # pictures that have come out; no reordering reaches as far


def stands_alone(picture: VideoFrame) -> bool:
    """Say whether a picture is predicted from no other, as far as its decoder tells."""
    if picture.pict_type == PictureType.NONE:
        return bool(picture.key_frame)
    return picture.pict_type in WHOLE


class Prediction:
    """What was found broken in one run of decoding from packet `start`, and what is predicted from it.

    Packets are counted in the order of decoding, so that the order of show does not matter. A picture shown
    ahead of a key but decoded after it may lean on the group before: until the key's own picture has
    come out, the key ends nothing.
    """

    def __init__(self, index: PacketIndex, start: int):
        self._index, self._start = index, start
        self._has_entered = start == 0 or start in index.hidden
        self._key = start  # the last whose whole picture has come out
        self._keys_of: dict[int, int] = {}  # pictures that have come out, and the key of that time
        self._broken: list[tuple[int, int]] = []

    def break_at(self, first: int, last: int) -> None:
        """Take note that one of the packets `first` to `last` is broken."""
        self._broken.append((first, last))

    @property
    def is_unbroken(self) -> bool:
        """Whether nothing was found broken so far."""
        return not self._broken

    def pass_out(self, ordinal: int, picture: VideoFrame) -> None:
        """Take note of the next picture that comes out, of packet `ordinal`."""
        # What comes out ahead of the first key lacks the group before, and nobody asks for it.
        self._has_entered = self._has_entered or ordinal == self._start
        if picture.is_corrupt and self._has_entered:
            self.break_at(ordinal, ordinal)
        if self._index.key_before(ordinal) == ordinal and stands_alone(picture):
            self._key = max(self._key, ordinal)
        self._keys_of[ordinal] = self._key if ordinal >= self._key else self._start
        if len(self._keys_of) > REMEMBERED:
            del self._keys_of[next(iter(self._keys_of))]

    def is_damaged(self, ordinal: int) -> bool:
        """Say whether the picture of packet `ordinal`, which has come out, is broken or leans on one that is.

        Of pictures decoded before it and shown after it, this is known only once they have come out too.
        """
        key = ordinal if self._index.intra else self._keys_of.get(ordinal, self._start)
        return any(first <= ordinal and last >= key for first, last in self._broken)
