"""What the starts of the survey do to reels of chance: python tests/bench/survey_starts.py [FIRST STOP]

Reels 1 to 10, 160 wide, or those of two numbers. Each shot of a steady light is shown as it was scanned, as
the start that is proposed for it shows it, and as the truth's settings do; its colour, each pixel brought to
the luminance that it has in the last, is so many CIEDE2000 from that before and after; its light is so many
stops from that.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lamphouse.graph.demo.seeds.records import TrueShot, Truth
from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.media.statistics.statistics import Statistics, measured
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.look import Change
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.lab import lab_of_video
from lamphouse.nodes.luma import LUMA_ROWS
from lamphouse.nodes.signals import light_from_video, video_from_light

SEEN = 2.0  # CIEDE2000: less than this before is no cast
DIM = 0.5  # stops
DARK = 0.01  # of light: what is darker in the truth has no colour to speak of


@dataclass(frozen=True)
class Shown:
    """A shot, how sure its start is, and by how much its colour is off before and after, in CIEDE2000."""

    number: int
    name: str
    sure: float
    before: float
    after: float
    light: tuple[float, float]  # before and after, in stops: below 0 it is too dark


def shots(number: int, statistics: Statistics, truth: Truth) -> Iterator[Shown]:
    """Yield the shots of a reel of chance whose light is steady."""
    scan = ScanRef(path="scan", frames=truth.frames, width=160, height=120)
    opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue())
    changes = tuple(_changes(truth))
    found = survey(opened, statistics, only=("balance",), changes=changes).proposals
    started = opened.with_reel(take(opened, [one for one in found if one.settings]))
    sure = {one.frame: one.sure for one in found}
    for shot in truth.shots:
        if not shot.is_leader and not any(_meets(shot, drift.first, drift.stop) for drift in truth.drifts):
            frame, codes = statistics.pictures(shot.first, shot.stop, 1)[0]
            meant = shown(opened, opened.settings(frame) | _values(shot), codes)
            now, then = (shown(reel, reel.settings(frame), codes) for reel in (opened, started))
            if lit(meant).any():
                off = (from_meant(picture, meant) for picture in (now, then))
                light = (too_light(picture, meant) for picture in (now, then))
                yield Shown(number, shot.name, sure.get(shot.first, 0.0), *off, tuple(light))


def _changes(truth: Truth) -> Iterator[Change]:
    lasting = {change.frame: change for change in truth.changes if change.what != "fade out"}
    for shot in truth.shots[1:]:
        change = lasting.get(shot.first)
        yield Change(shot.first, change.what if change else "cut", 1.0, change.frames if change else 0)


def _meets(shot: TrueShot, first: int, stop: int) -> bool:
    return shot.first < stop and first < shot.stop


def _values(shot: TrueShot) -> dict:
    return {key: tuple(v) if isinstance(v, list) else v for key, v in shot.settings.items()}


def shown(opened, settings, codes):
    """What a reel's chain makes of codes under some settings, as light, (3, n)."""
    made = Probe(opened.program(), settings).changed(Sample(np.asarray(codes, np.float64)), {})
    return light_from_video(np.clip(made, 0, 1)).reshape(3, -1)


def lit(light):
    """Which pixels are neither black nor near clipping, (n,)."""
    return (LUMA_ROWS[0] @ light > DARK) & (light.max(axis=0) < 1)


def from_meant(light, meant):
    """The mean CIEDE2000 between the colours of two pictures, at the luminance of `meant`."""
    kept = lit(meant)
    light, meant = light[:, kept], meant[:, kept]
    light = light * (LUMA_ROWS[0] @ meant) / np.maximum(LUMA_ROWS[0] @ light, 1e-6)
    pair = (lab_of_video(video_from_light(one).T) for one in (light, meant))
    return float(colour_science().delta_E(*pair, method="CIE 2000").mean())


def too_light(light, meant):
    """By how many stops a picture is lighter than another."""
    kept = lit(meant)
    now, then = (np.maximum(LUMA_ROWS[0] @ one[:, kept], 1e-6) for one in (light, meant))
    return float(np.median(np.log2(now / then)))


def lines(found: list[Shown]) -> Iterator[str]:
    """Yield what came of shots with a cast, of sure ones, of those without a cast, and each that is worse."""
    cast = [one for one in found if one.before > SEEN]
    for name, some in (("with a cast", cast), ("called sure", [one for one in cast if one.sure >= 0.8])):
        if some:
            before, after = (np.median([getattr(one, of) for one in some]) for of in ("before", "after"))
            ratios = np.array([one.after / one.before for one in some])
            yield (
                f"{name}: {len(some)}, colour {before:.1f} -> {after:.1f}, ratio {np.median(ratios):.2f}, "
                f"worst {ratios.max():.2f}, better {np.mean(ratios < 1):.0%}"
            )
    rest = [one.after - one.before for one in found if one.before <= SEEN]
    yield f"without a cast: {len(rest)}, moved by at most {max(rest, default=0):+.1f}"
    yield from of_light(found)
    for one in found:
        if one.after > 1.1 * max(one.before, 0.5):
            moved = f"{one.before:.1f} -> {one.after:.1f}, sure {one.sure}"
            yield f"worse: reel {one.number}, {one.name}: {moved}"


def of_light(found: list[Shown]) -> Iterator[str]:
    """Yield how far the light of dark shots is off, and how many shots are farther off after than before."""
    for name, some in (
        ("too dark", [one.light for one in found if one.light[0] < -DIM]),
        ("not too dark", [one.light for one in found if one.light[0] >= -DIM]),
    ):
        before, after = np.abs(some).T if some else np.zeros((2, 1))
        farther = int(np.sum(after > before + 0.3))
        yield (
            f"{name}: {len(some)}, light off by {before.mean():.2f} -> {after.mean():.2f} stops, "
            f"{farther} of them farther off by more than 0.3"
        )


def main() -> None:
    """Print what came of the reels."""
    os.environ.setdefault(
        "LAMPHOUSE_BACK_END", "numpy"
    )  # small pictures, for which code would be made in vain
    found: list[Shown] = []
    for number in range(*(map(int, sys.argv[1:3]) if len(sys.argv) > 2 else (1, 11))):
        reel = seeded(number, 160)
        codes = (frame.astype(np.float32) / 1023 for frame in reel.frames())
        found += shots(number, measured(codes, reel.truth.frames), reel.truth)
    print(*lines(found), sep="\n")


if __name__ == "__main__":
    main()
