"""The sound of a master, frame by frame."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.sound.read import Places, SoundSource, open_sound, sample_at
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.graph.reel.span import Span
from lamphouse.graph.transfer.lead_in import has_tone, lead_in_sound
from lamphouse.graph.transfer.plan import Plan

_MXF: Final = "mxf"
STEREO: Final = 2  # channels of the tone where a reel has no sound of its own


class MasterSound:
    """Sound by frame of the master: tone under bars, silence under black, the reel's own beside film."""

    def __init__(self, pass_: Plan) -> None:
        self._pass, self._rate = pass_, pass_.span.rate
        place, path, delivery = sound_place(pass_.reel), pass_.opened.sound_path, pass_.delivery
        self._samples = delivery.sound.rate if delivery.sound else 0
        self._source: SoundSource | None = None
        if place is not None and path is not None and delivery.sound is not None:
            running = pass_.span.cadence.running
            speed, pitch = running / place.recorded, delivery.sound.pitch
            self._source = open_sound(path, self._samples, speed, pitch)
            # One offset for the whole pass: sound never drifts, at any frame rate.
            first = Places(place.begins, running, self._samples).at(pass_.start)
            self._offset = first - self._at(pass_.span.before)
        self.is_wanted = delivery.sound is not None and (self._source is not None or has_tone(delivery))
        self._channels = self._source.channels if self._source else STEREO

    def close(self) -> None:
        """Release the sound file."""
        if self._source is not None:
            self._source.close()

    def block(self, number: int) -> NDArray[np.float32]:
        """Return the samples (channels, n) of frame `number` of the master."""
        start, stop = self._at(number), self._at(number + 1)
        silence = np.zeros((self._channels, stop - start), np.float32)
        if number not in self._pass.span.film:
            sound = lead_in_sound(self._pass.span, number, start, stop, channels=self._channels)
            return silence if sound is None else sound
        if self._source is None:
            return silence
        return self._source.block(start + self._offset, stop + self._offset)

    def _at(self, frame: int) -> int:
        return beside(self._pass.span, frame, self._samples)


def beside(span: Span, frame: int, rate: int) -> int:
    """Return the sample at which `frame` of the master begins, or all of it ends, of `rate` a second.

    MXF holds its sound by whole frames. Its writer would end the last with a sample of silence where that has
    room for one more; so that it is the sound's own, it is counted here.
    """
    if frame == span.frames and span.delivery.container == _MXF:
        return round(frame * rate / span.rate)
    return sample_at(frame, span.rate, rate)
