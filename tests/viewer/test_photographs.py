"""Photographs with a known cast, graded by pads alone, by one who sees the marks on them and no numbers.

The cast is a gain and an offset of each channel on the picture's codes, which leave the luma of greys (ITU-R
BT.709) as it is, so that balances are what undoes it. Where a photograph has something grey, the scopes are
made to count a dark and a bright patch of it, and each pad is pushed until its mark stands in the middle.
Where it has nothing grey, its marks are pushed to where those of the same scene without the cast stand, as a
shot is matched to the one before. Never is a pixel or a setting read. CIEDE2000 by colour-science: the mean
over all of the picture, its codes taken for sRGB.
"""

import numpy as np
import pytest
import skimage.data
from skimage.transform import resize

from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.viewer.models.area import area_of
from lamphouse.viewer.models.balance import REACH
from lamphouse.viewer.models.grips import HAND, PLANE

SEEN = 0.004  # of the plane: two thirds of a pixel of a pad
GOOD = 2.0  # CIEDE2000: what was asked for
HIGH, WIDE = 96, 128
PADS = {"shadows": "primary.lift_balance", "highlights": "primary.gain_balance"}
CASTS = {"warm": ((0.10, 0.0, -0.18), (0.02, 0.0, -0.03)), "green": ((-0.08, 0.0, -0.06), (-0.02, 0.0, 0.02))}


def photograph(name):
    picture = skimage.data.stereo_motorcycle()[0] if name == "motorcycle" else getattr(skimage.data, name)()
    small = np.moveaxis(resize(picture, (HIGH, WIDE), anti_aliasing=True), -1, 0)
    return np.float32(
        0.05 + 0.9 * small
    )  # a scan leaves room at both ends, so that the cast cuts nothing off


def spoilt(picture, cast):
    """The picture with gains and offsets beside 1 and 0, of which green's keep the luma of a grey."""
    weights = encode_matrix("bt709")[0]
    gain, offset = (np.array(part) for part in CASTS[cast])
    gain[1], offset[1] = (-(part @ weights) / weights[1] for part in (gain, offset))
    return np.float32(np.clip(picture * (1 + gain[:, None, None]) + offset[:, None, None], 0, 1))


def difference(one, other):
    """Mean CIEDE2000 of two pictures of sRGB codes, (3, h, w)."""
    colour = colour_science()
    lab = [colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.moveaxis(np.clip(p, 0, 1), 0, -1))) for p in (one, other)]
    return float(np.mean(colour.delta_E(*lab, method="CIE 2000")))


class Grader:
    """A hand that pushes pads, and eyes that see marks."""

    def __init__(self, hand, items):
        self.hand, self.items = hand, items
        self.ease = dict.fromkeys(PADS, 1.0)

    def count(self, region):
        """Let the scopes count a part of the picture, in shares, by the right button."""
        view = self.hand.panels.picture
        area, (left, top, *_) = area_of(self.hand.desk, view), self.items["picture"]
        corners = [
            (left + area.left + x * area.width, top + area.top + y * area.height)
            for x, y in (region[:2], region[2:])
        ]
        self.hand.move(*corners[0])
        self.hand.press(1)
        self.hand.move(*corners[1])
        self.hand.release(1)
        self.hand.frame(3)

    def mark(self, tones):
        """Where a mark stands on the pads."""
        self.hand.tick = 200_000_000  # the scopes are counted some times a second
        self.hand.frame(3)
        self.hand.tick = 16_000_000
        tone = getattr(self.hand.seen.scopes.tones, tones)
        return np.array([tone.cb, tone.cr]) / REACH

    def push(self, tones, toward):
        """Push a pad so far over the plane, once."""
        left, top, right, bottom = self.items[f"pad {PADS[tones]}"]
        x, y = (left + right) / 2, (top + bottom) / 2
        across, up = np.array(toward) * HAND / PLANE
        self.hand.rest()
        self.hand.drag((x, y), (x + across, y - up), steps=2)

    def bring(self, tones, goal=(0.0, 0.0), part="highlights"):
        """Push the pad of some tones until the mark of a part of them stands where it should.

        Where the mark went farther than the pad was pushed, the next push is as much shorter.
        """
        mark = self.mark(part)
        for _ in range(3):
            if np.hypot(*(goal - mark)) < SEEN:
                break
            push = self.ease[tones] * (goal - mark)
            self.push(tones, push)
            before, mark = mark, self.mark(part)
            went = np.hypot(*(mark - before))
            if went > 0.01:
                self.ease[tones] *= min(1.0, np.hypot(*push) / went)


@pytest.fixture
def grader(desk, hand_at, items, double):
    desk.rewire(lambda chain, catalogue: chain_preset("plain").chain)

    def of(picture):
        desk.go_to(0, 0)
        hand = hand_at(desk, display=double(desk, lambda frame: picture))
        hand.frame(3)
        return Grader(hand, items)

    return of


# A dark patch and a bright one, in rows and columns of 6 by 6 pixels from here: what whoever looks at the
# photograph takes for grey. Of the originals' chroma (CIE 1976 a*, b*) no more than 2.5 is in any of them.
GREYS = {"astronaut": ((81, 114), (15, 114)), "motorcycle": ((39, 45), (60, 57))}
SIDE = 6


@pytest.mark.slow
@pytest.mark.parametrize(("name", "cast"), [("astronaut", "warm"), ("motorcycle", "green")])
def test_a_photograph_with_something_grey_is_graded_by_that(name, cast, grader):
    original = photograph(name)
    before = spoilt(original, cast)
    work = grader(before)
    for _ in range(2):
        for tones, (row, column) in zip(PADS, GREYS[name], strict=True):
            work.count((column / WIDE, row / HIGH, (column + SIDE) / WIDE, (row + SIDE) / HIGH))
            work.bring(tones, part="middle")
    assert difference(work.hand.display.graded, original) < GOOD < 4 < difference(before, original)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "cast"), [("chelsea", "warm"), ("coffee", "green"), ("rocket", "warm")])
def test_a_photograph_with_nothing_grey_is_matched_to_the_shot_before(name, cast, grader):
    original = photograph(name)
    before = spoilt(original, cast)
    seen = grader(original)
    goals = {tones: seen.mark(tones) for tones in PADS}
    work = grader(before)
    for _ in range(2):
        for tones in PADS:
            work.bring(tones, goals[tones], tones)
    assert difference(work.hand.display.graded, original) < GOOD < 4 < difference(before, original)
