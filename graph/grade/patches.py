"""What a patch of the scan says of the film: the density of its base, and what its dyes have lost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.decode_planes import Coded
from lamphouse.graph.reel.records import ChainRef, NodeRef, Reel
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.signals import density_from_light, light_from_video

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Density = NDArray[np.float64]  # (3,) of red, green, blue

# Two patches nearer than this in density say nothing of contrast: five codes of a printing-density scan.
LEAST_DIFFERENCE: Final = 0.01


@dataclass(frozen=True, slots=True)
class Patch:
    """A rectangle of the scan, in its pixels from the top left."""

    left: int
    top: int
    width: int
    height: int

    def of(self, picture: NDArray[Any]) -> NDArray[Any]:
        """Return the patch's part of `picture` (3, h, w). Raises BadInput where it lies outside."""
        _, height, width = picture.shape
        right, bottom = self.left + self.width, self.top + self.height
        if (
            min(self.left, self.top) < 0
            or min(self.width, self.height) < 1
            or right > width
            or bottom > height
        ):
            raise BadInput(
                f"The patch {self.left},{self.top},{self.width},{self.height} does not lie within the scan, "
                f"which is {width}x{height}; give X,Y,WIDTH,HEIGHT in its pixels."
            )
        return picture[:, self.top : bottom, self.left : right]


def share_at_ends(picture: Source, patch: Patch) -> float:
    """Return the share, 0..1, of a patch's pixels that lie at an end of their codes, where film was clipped.

    Of Y'CbCr luma alone is asked. In video range the ends lie inside the codes kept for timing (ITU-R BT.709,
    section 4). What comes as floats has no ends.
    """
    if not isinstance(picture, Coded):
        return 0.0
    layout = picture.layout
    count = 1 if layout.family == "ycbcr" else 3
    codes = patch.of(np.stack(picture.planes[:count]) >> layout.shift)
    kept = 1 << (layout.bits - 8) if picture.coding.range_ == "video" else 0
    low, high = kept, (1 << layout.bits) - 1 - kept
    return float(((codes <= low) | (codes >= high)).any(axis=0).mean())


def parse_patch(text: str) -> Patch:
    """Return the patch typed as X,Y,WIDTH,HEIGHT."""
    try:
        left, top, width, height = (int(part) for part in text.split(","))
    except ValueError:
        raise BadInput(
            f"The patch {text} cannot be read; give X,Y,WIDTH,HEIGHT, such as 20,10,64,48."
        ) from None
    return Patch(left, top, width, height)


def reel_up_to(node: NodeRef, reel: Reel) -> Reel:
    """Return `reel` with the chain that ends where the first input of `node` begins."""
    chain = ChainRef(nodes=reel.chain.nodes, output=node.inputs[0])
    return msgspec.structs.replace(reel, chain=chain)


def density(grade: Grade, frame: int, picture: NDArray[Any]) -> NDArray[np.float64]:
    """Return what `grade` makes of a `picture` of `frame`, (3, h, w) of 0..1, as density, in float64."""
    video = grade.correct(frame, picture.astype(np.float64))
    return np.asarray(density_from_light(light_from_video(video)), np.float64)


def density_of(patch: NDArray[np.float64]) -> Density:
    """Return the density of a patch (3, h, w): its median, which no speck of dust or scratch moves."""
    return np.asarray(np.median(patch.reshape(3, -1), axis=1), np.float64)


def fading(dark: Density, light: Density, dyes: NDArray[np.float64]) -> tuple[Density, Density]:
    """Return the share of each dye that was kept, and the stain, from two patches that were neutral.

    `dyes` is A of the dye fade: D' = A K c + s. The dye that kept most is taken to have kept all, and its
    own layer to have no stain: contrast and density as a whole are for the primary to set.
    Raises BadInput for patches that do not differ.
    """
    neutral = np.linalg.solve(dyes, np.ones(3))  # dye amounts of a neutral of density 1
    spread = np.linalg.solve(dyes, dark - light) / neutral
    if spread.min() < LEAST_DIFFERENCE:
        raise BadInput(
            "The two patches do not differ enough in every layer; give a dark patch and then a light one."
        )
    most = int(np.argmax(spread))
    kept = spread / spread[most]
    faded = dyes @ (kept * neutral)  # density of what is left of a neutral of density 1
    stain = light - faded * (light[most] / faded[most])
    return kept, stain
