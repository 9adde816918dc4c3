"""What the starts of the survey are worth on photographs that nobody made for this.

    .venv/bin/python tests/bench/starts.py [--casts 5] [--pictures DIR] [--sheet before-and-after.png]

scikit-image's photographs, whole and in cuts of our own, are laid on stocks of the product, with casts of
known size: by light (0.6 to 2 stops between channels), by density (0.1 to 0.35 between channels, and 8 to
25 % of contrast, as a faded film has), by too little light (1 to 2 stops, and a cast of 0.4 to 0.8). Each
becomes the scan of a reel; the survey proposes, the proposal is taken, the reel's own chain makes the
picture. Patches that are near neutral in the photograph are asked how far they are from neutral, in
CIEDE2000. All of it by chance, from fixed numbers, invented. `--faded` asks of whole reels instead, in which
each cut is a shot and all of them have faded alike. `--pictures` asks of a folder of photographs of your own;
what has no patches near neutral is left out, and what was given a colour by hand tells nothing.
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
import skimage.io
from skimage.transform import resize

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.grade.probe import Probe, Sample
from lamphouse.graph.media.statistics.statistics import measured
from lamphouse.graph.reel.presets import chain_preset, stock_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.look import Change
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
WORSE = 1.1  # times the cast that was there: more than that is harm
PHOTOGRAPHS = ("astronaut", "chelsea", "coffee", "rocket", "stereo_motorcycle")
STOCKS = (
    "colour-print",
    "daylight-colour-negative",
    "tungsten-colour-negative",
    "daylight-colour-reversal",
)
# What a faded print keeps of cyan, magenta, yellow, least and most, and the most of its stain: invented.
KEPT = ((0.6, 0.85, 0.72), (0.8, 0.96, 0.9))
STAIN = (0.02, 0.04, 0.06)
SHOT = 12  # frames
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
        dice = np.random.default_rng((seed, *Path(name).name.encode()))
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


@lru_cache(maxsize=1)
def photograph(name):
    """A photograph of scikit-image, or a file, as light, (h, w, 3)."""
    found = skimage.io.imread(name) if Path(name).exists() else getattr(skimage.data, name)()
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


def faded(photographs=PHOTOGRAPHS, cuts=4, reels=6, seed=0) -> Iterator[tuple]:
    """Yield reels of cuts on the chain for faded prints, the first of them as it was and the others faded.

    Of each what was kept of its dyes, the proposals, and the shots' distances from neutral, before and after.
    """
    dice = np.random.default_rng((seed, 1))
    meant = [cut(photograph(name), dice, whole=n == 0) for name in photographs for n in range(cuts)]
    meant = [one for one in meant if neutral(one).sum() >= ENOUGH]
    for number in range(reels):
        kept, stain = dice.uniform(*KEPT), dice.uniform(0, STAIN)
        kept, stain = (kept, stain) if number else (np.ones(3), np.zeros(3))
        yield kept, *_faded(meant, kept, stain)


def _faded(meant, kept, stain):
    first = np.arange(len(meant)) * SHOT
    ref = ScanRef(path="scan", frames=len(meant) * SHOT, width=COLUMNS, height=ROWS, encoding="video")
    reel = OpenedReel(Path("a.reel"), Reel(scan=ref, chain=chain_preset("faded-print").chain), installed())
    codes = [developed(reel, _of_less_dye(one, kept, stain)) for one in meant]
    films = (one for one in codes for _ in range(SHOT))
    changes = tuple(Change(int(frame), "cut", 1.0) for frame in first[1:])
    found = survey(reel, measured(films, ref.frames), only=("balance",), changes=changes).proposals
    then = reel.with_reel(take(reel, [one for one in found if one.settings]))
    pairs = []
    for frame, picture, one in zip(first, codes, meant, strict=True):
        made = (
            Probe(r.program(), r.settings(int(frame))).changed(Sample(np.float64(picture)), {})
            for r in (reel, then)
        )
        pairs.append([from_neutral(video, one, neutral(one)) for video in made])
    return found, pairs


def _of_less_dye(video, kept, stain):
    density = -np.log10(np.clip(light_from_video(video), 1e-4, None))
    return video_from_light(10 ** -(density * kept[:, None, None] + stain[:, None, None]))


def lines_of_faded(photographs, seed) -> Iterator[str]:
    """Yield what came of reels, one a line."""
    for kept, found, pairs in faded(photographs, seed=seed):
        before, after = np.transpose(pairs)
        seen = {key: value for one in found for key, value in one.settings.items() if key == "dye_fade.kept"}
        yield (
            f"kept {np.round(kept / kept.max(), 2)}, found {np.round(seen.get('dye_fade.kept', np.nan), 2)}: "
            f"colour {np.median(before):.1f} -> {np.median(after):.1f}, "
            f"ratio {np.median(after / before):.2f}, worst {np.max(after / before):.2f}"
        )


def lines(found) -> Iterator[str]:
    """Yield what came of cases, by what they have in common, and then of all."""
    cast = [one for one in found if one.kind != "none" and one.before > SEEN]
    for of in ("photograph", "stock", "kind"):
        for name in dict.fromkeys(getattr(one, of) for one in cast):
            yield line(Path(name).stem, [one for one in cast if getattr(one, of) == name])
    yield line("called sure", [one for one in cast if one.proposal.is_sure])
    yield line("all", cast)
    for one in cast:
        if one.ratio > WORSE:
            yield f"worse: {Path(one.photograph).stem}, {one.kind}, {one.ratio:.2f}: {one.proposal.why}"
    moved = np.array([one.after - one.before for one in found if one.kind == "none"])
    most = max(moved, default=0.0)
    yield (
        f"without a cast: {len(moved)}, moved from neutral by at most {most:+.2f} CIEDE2000, "
        f"{np.sum(moved > 1)} by more than 1"
    )


def line(name, some) -> str:
    """What came of some cases, in a line."""
    if not some:
        return f"{name:24} none"
    ratios = np.array([one.ratio for one in some])
    before, after = (np.median([getattr(one, of) for one in some]) for of in ("before", "after"))
    whole = np.median([one.whole[1] / one.whole[0] for one in some])
    return (
        f"{name:24.24} {len(some):4d}  colour {before:4.1f} -> {after:4.1f}, "
        f"median {np.median(ratios):.2f} of before, worst {ratios.max():.2f}, "
        f"{np.sum(ratios > WORSE)} above {WORSE}, better {np.mean(ratios < 1):.1%}; "
        f"with its light {whole:.2f}"
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
    parser.add_argument("--faded", action="store_true", help="reels that have faded")
    parser.add_argument("--pictures", type=Path, metavar="DIR", help="photographs of your own")
    parser.add_argument("--sheet", help="write some cases as a picture: meant, before, after")
    asked = parser.parse_args()
    os.environ.setdefault("LAMPHOUSE_BACK_END", "numpy")  # each reel is of one picture
    names = [str(path) for path in sorted(asked.pictures.iterdir())] if asked.pictures else PHOTOGRAPHS
    if asked.faded:
        print(*lines_of_faded(names, asked.seed), sep="\n")
        return
    found = list(cases(names, casts=asked.casts, seed=asked.seed))
    print(*lines(found), sep="\n")
    if asked.sheet:
        cast = [one for one in found if one.kind != "none"]
        sheet(cast[:: max(1, len(cast) // 10)], asked.sheet)


if __name__ == "__main__":
    main()
