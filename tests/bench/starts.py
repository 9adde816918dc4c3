"""What the starts of the survey are worth on photographs that nobody made for this.

    .venv/bin/python tests/bench/starts.py [--casts 5] [--picture before-and-after.png]

scikit-image's photographs, whole and in cuts of our own, are laid on stocks of the product, with casts of
known size: by light (0.6 to 2 stops between channels), by density (0.1 to 0.35 between channels, and 8 to
25 % of contrast, as a faded film has), by too little light (1 to 2 stops, and a cast of 0.4 to 0.8). Each
becomes the scan of a reel; the survey proposes, the proposal is taken, the reel's own chain makes the
picture. Patches that are near neutral in the photograph are asked how far they are from neutral, in
CIEDE2000. All of it by chance, from fixed numbers, invented.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import skimage.data
from skimage.transform import resize

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset, stock_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.survey import survey
from lamphouse.graph.survey.take import take
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.lab import lab_of_video
from lamphouse.nodes.luma import LUMA_ROWS
from lamphouse.nodes.signals import light_from_srgb, light_from_video, video_from_light

ROWS, COLUMNS = 144, 192
PATCH = 12  # pixels of a side
# Patches near neutral, neither black nor white: C*, C* by L* (a dark blue has little C*), and L*.
NEAR, PALE, DARK, LIGHT = 6.0, 0.12, 25.0, 96.0
ENOUGH = 4  # patches: a cut without is left out
SEEN = 2.0  # CIEDE2000: less than this before is no cast
PHOTOGRAPHS = ("astronaut", "chelsea", "coffee", "rocket", "stereo_motorcycle")
STOCKS = (
    "colour-print",
    "daylight-colour-negative",
    "tungsten-colour-negative",
    "daylight-colour-reversal",
)
KINDS = ("light", "light", "density", "density", "exposure")


@dataclass(frozen=True)
class Case:
    """A cast on a cut of a photograph, what the survey says of it, and how far its patches are from neutral.

    `before` and `after` are of colour alone, each patch brought to the light that it had in the photograph;
    `whole` is from what the photograph showed, with its light.
    """

    photograph: str
    kind: str
    stock: str
    proposal: Proposal
    before: float
    after: float
    whole: tuple[float, float]
    pictures: tuple[np.ndarray, np.ndarray, np.ndarray]

    @property
    def ratio(self):
        """What is left of the cast."""
        return self.after / max(self.before, 0.5)


def cases(photographs=PHOTOGRAPHS, cuts=6, casts=5, stocks=STOCKS, seed=0) -> Iterator[Case]:
    """Yield every cast on every cut, and each cut as it is; stocks take turns."""
    turn = 0
    for name in photographs:
        dice = np.random.default_rng((seed, *name.encode()))
        for number in range(cuts):
            meant = cut(photograph(name), dice, whole=number == 0)
            if neutral(meant).sum() < ENOUGH:
                continue
            for kind in ("none", *(KINDS[n % len(KINDS)] for n in range(casts))):
                yield case(name, kind, stocks[turn % len(stocks)], meant, dice)
                turn += 1


def case(name, kind, stock, meant, dice) -> Case:
    """Lay a picture on a stock, with a cast, and take what the survey proposes for it."""
    reel = reel_of(stock)
    codes = scan(reel, meant, kind, dice)
    (proposal,) = survey(reel, measured([codes], 1), only=("balance",), changes=()).proposals
    now, then = shown(reel, codes), shown(reel.with_reel(take(reel, [proposal])), codes)
    patches = neutral(meant)
    before, after = (from_neutral(picture, meant, patches) for picture in (now, then))
    whole = tuple(from_meant(picture, meant, patches) for picture in (now, then))
    return Case(name, kind, stock, proposal, before, after, whole, (meant, now, then))


@lru_cache(maxsize=len(PHOTOGRAPHS))
def photograph(name):
    """A photograph of scikit-image as light, (h, w, 3)."""
    found = getattr(skimage.data, name)()
    return light_from_srgb((found[0] if isinstance(found, tuple) else found)[..., :3] / 255)


def cut(light, dice, *, whole):
    """A part of a photograph, 0.4 to 0.85 of it either way, as video (3, 144, 192)."""
    size = 1.0 if whole else dice.uniform(0.4, 0.85)
    height, width, _ = light.shape
    top, left = (int(at) for at in dice.uniform(0, 1 - size, 2) * (height, width))
    part = light[top : top + int(size * height), left : left + int(size * width)]
    made = resize(part, (ROWS, COLUMNS), order=1, anti_aliasing=True)
    return np.moveaxis(video_from_light(np.clip(made, 0, 1)), -1, 0)


@lru_cache(maxsize=len(STOCKS))
def reel_of(stock):
    """A reel of one frame on a stock, as `new --stock` begins it."""
    preset = stock_preset(stock)
    ref = ScanRef(path="scan", frames=1, width=COLUMNS, height=ROWS, encoding=preset.encoding or "video")
    cue = Cue(frame=0, name="start", settings=preset.settings)
    reel = Reel(scan=ref, chain=chain_preset(preset.chain).chain, cues=(cue,))
    return OpenedReel(Path("a.reel"), reel, installed())


def scan(reel, meant, kind, dice):
    """The codes, of ten bits, that the chain makes `meant` of but for a cast."""
    light = light_from_video(meant)
    by, size = apart(dice), dice.uniform(-1, 1)
    if kind == "light":
        stops = (1.3 + 0.7 * size) * by
        light = light * 2 ** (stops - stops.max())[:, None, None]
    if kind == "exposure":
        stops = (0.6 + 0.2 * size) * by
        light = light * 2 ** (stops - stops.max() - dice.uniform(1, 2))[:, None, None]
    if kind == "density":
        density = -np.log10(np.clip(light, 1e-4, None))
        slopes, offsets = (0.165 + 0.085 * size) * apart(dice), (0.225 + 0.125 * size) * by
        lost, stain = 1 - (slopes - slopes.min()), offsets - offsets.min()
        light = 10 ** -(density * lost[:, None, None] + stain[:, None, None])
    return developed(reel, video_from_light(light))


def apart(dice):
    """Three numbers about 0, the largest by 1 above the least."""
    found = dice.uniform(-1, 1, 3)
    return (found - found.mean()) / np.ptp(found)


def developed(reel, video):
    """The codes of a scan, channel by channel, that the reel's chain shows as `video`."""
    ramp = np.linspace(0, 1, 1024)
    made = shown(reel, np.tile(ramp, (3, 1))[:, None])[:, 0]
    back = [np.interp(v, *ordered(row, ramp)) for v, row in zip(video, made, strict=True)]
    return np.asarray(np.rint(np.stack(back) * 1023) / 1023, np.float32)


def ordered(made, ramp):
    """A rising table: that of a negative falls."""
    return (made, ramp) if made[-1] > made[0] else (made[::-1], ramp[::-1])


def shown(reel, codes):
    """What the reel's chain makes of codes."""
    return Probe(reel.program(), reel.settings(0)).changed(Sample(np.asarray(codes, np.float64)), {})


def patches_of(video):
    """Light of patches, (3, n)."""
    light = light_from_video(np.clip(video, 0, 1))
    return light.reshape(3, ROWS // PATCH, PATCH, COLUMNS // PATCH, PATCH).mean(axis=(2, 4)).reshape(3, -1)


def neutral(meant):
    """Which patches are near neutral, (n,)."""
    lab = lab_of_video(video_from_light(patches_of(meant)).T)
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    lightness = lab[:, 0]
    return (chroma < np.minimum(NEAR, PALE * lightness)) & (lightness > DARK) & (lightness < LIGHT)


def from_neutral(video, meant, which):
    """The mean CIEDE2000 of patches from grey, each at the luminance that it has in `meant`."""
    patches, aims = patches_of(video)[:, which], patches_of(meant)[:, which]
    patches = patches * (LUMA_ROWS[0] @ aims) / np.maximum(LUMA_ROWS[0] @ patches, 1e-6)
    lab = lab_of_video(video_from_light(patches).T)
    return apart_by(lab, lab * (1, 0, 0))


def from_meant(video, meant, which):
    """The mean CIEDE2000 of patches from what they are in `meant`."""
    return apart_by(*(lab_of_video(video_from_light(patches_of(v)[:, which]).T) for v in (video, meant)))


def apart_by(lab, other):
    """The mean CIEDE2000 of colours, (n, 3)."""
    return float(colour_science().delta_E(lab, other, method="CIE 2000").mean())


def lines(found) -> Iterator[str]:
    """Yield what came of cases, all and by what they have in common."""
    cast = [one for one in found if one.kind != "none" and one.before > SEEN]
    yield line("all", cast)
    for of in ("photograph", "stock", "kind"):
        for name in dict.fromkeys(getattr(one, of) for one in cast):
            yield line(name, [one for one in cast if getattr(one, of) == name])
    yield line("sure", [one for one in cast if one.proposal.is_sure])
    untouched = [one.after - one.before for one in found if one.kind == "none"]
    yield f"without a cast: {len(untouched)}, moved by at most {max(untouched):+.2f} CIEDE2000"


def line(name, some) -> str:
    """What came of some cases, in a line."""
    if not some:
        return f"{name:28} none"
    ratios = np.array([one.ratio for one in some])
    before, after = (np.median([getattr(one, of) for one in some]) for of in ("before", "after"))
    whole = np.median([one.whole[1] / one.whole[0] for one in some])
    return (
        f"{name:25} {len(some):4d}  colour {before:5.1f} -> {after:5.1f}, ratio {np.median(ratios):.2f}, "
        f"worst {ratios.max():.2f}, better {np.mean(ratios < 1):.1%}; ratio with light {whole:.2f}"
    )


def sheet(found, path):
    """Write meant, before and after of some cases beside one another."""
    from PIL import Image

    rows = [np.concatenate(one.pictures, axis=2) for one in found]
    made = np.moveaxis(np.concatenate(rows, axis=1), 0, -1)
    Image.fromarray((np.clip(made, 0, 1) * 255).astype(np.uint8)).save(path)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--casts", type=int, default=5, help="on each cut")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--picture", help="write some cases as a picture: meant, before, after")
    asked = parser.parse_args()
    os.environ.setdefault("LAMPHOUSE_BACK_END", "numpy")  # each reel is of one picture
    found = list(cases(casts=asked.casts, seed=asked.seed))
    print(*lines(found), sep="\n")
    if asked.picture:
        cast = [one for one in found if one.kind != "none"]
        sheet(cast[:: max(1, len(cast) // 10)], asked.picture)


if __name__ == "__main__":
    main()
