"""The aims of the balances for the picture that is seen: found when asked for, kept until they may differ."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final

from numpy.typing import NDArray

from lamphouse.graph.chain.program import Program
from lamphouse.graph.grade.probe import SEEN, Probe, Sample, effect, sampled, slopes
from lamphouse.graph.reel.records import ChainRef, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Settings
from lamphouse.viewer.models.balance import Aim, aimed, by_sign
from lamphouse.viewer.models.seen import Seen

KEPT: Final = 1_000_000_000  # nanoseconds that an aim is kept while the film runs (our choice)


class Aims:
    """Says how each balance is aimed, by the chain and the tones of the picture seen last."""

    def __init__(self) -> None:
        self.sample: Sample | None = None
        self._picture: NDArray[Any] | None = None
        self._program: tuple[ChainRef, Program] | None = None
        self._probe: tuple[Program, Probe] | None = None
        self._known: dict[tuple[str, Any], Aim] = {}
        self.is_old = False  # whether the scopes have been counted of another frame since
        self._seen_at = -KEPT

    def follow(self, seen: Seen, scan: ScanRef, now: int, *, is_moving: bool) -> None:
        """See the frame that the scopes are of; of a film that runs one a second, so that no pad twitches."""
        if self.is_old and (not is_moving or now - self._seen_at >= KEPT):
            self.is_old, self._seen_at = False, now
            self.see(seen.scanned, scan)

    def see(self, picture: NDArray[Any] | None, scan: ScanRef) -> None:
        """Take the frame of the scan, (3, h, w), that the scopes are of; None where it cannot be read."""
        if picture is self._picture:
            return
        self._picture = picture
        aspect = float(Fraction(scan.pixel_aspect))
        self.sample = None if picture is None else sampled(picture, aspect)
        self._known.clear()

    def probe(self, opened: OpenedReel, settings: Settings) -> Probe:
        """Return the chain under `settings`, to be tried. Raises BadInput for one that is not whole."""
        chain = opened.reel.chain
        if self._program is None or self._program[0] is not chain:
            self._program = (chain, opened.program())
        program = self._program[1]
        if self._probe is None or self._probe[0] is not program or self._probe[1].settings != settings:
            self._probe = (program, Probe(program, settings))
            self._known.clear()
        return self._probe[1]

    def of(self, opened: OpenedReel, settings: Settings, key: str, parameter: Parameter, value: Any) -> Aim:
        """Return the aim of the balance `key` at `value`, also where a switch takes that out of `settings`.

        Where there is no picture, or no chain that can be run, it is that of its sign; in a picture that it
        does not move, as on black leader, that of a scale of greys.
        """
        sample = self.sample
        if sample is None:
            return by_sign(parameter)
        try:
            probe = self.probe(opened, settings)
            if (key, value) not in self._known:
                self._known[key, value] = _aimed(probe, sample, key, parameter, value)
        except BadInput:  # it stands where the picture would be
            return by_sign(parameter)
        return self._known[key, value]


def _aimed(probe: Probe, sample: Sample, key: str, parameter: Parameter, value: Any) -> Aim:
    found = slopes(lambda tried: probe.video(sample, key, tried), parameter, value)
    if effect(parameter, found) < SEEN:
        greys = sample.greys()
        found = slopes(lambda tried: probe.video(greys, key, tried), parameter, value)
    return aimed(parameter, found)
