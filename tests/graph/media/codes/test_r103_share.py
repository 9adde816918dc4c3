"""The share of a picture beyond EBU R 103, where only squares that may be are judged: that of all of it.

Pictures are of chance, invented, with patches and specks beyond the limits.
"""

import numpy as np
import pytest

from lamphouse.graph.media.codes import r103_share
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.media.codes.r103 import judge
from lamphouse.graph.media.codes.r103_share import share_beyond
from lamphouse.nodes.corrections.limit import R103

FORMS = ["yuv422p10le", "yuv420p", "yuv444p12le", "yuv422p16le", "gbrp10le", "yuv420p10le"]


def by_chance(pixel_format, range_, size=(75, 101), seed=5):
    """A quiet picture with some patches far out, luma's and chroma's, at odd places."""
    chance = np.random.default_rng(seed)
    is_rgb = pixel_format.startswith("gbr")
    layout = plane_coding(pixel_format, "rgb" if is_rgb else "bt709", range_).layout
    over, down = layout.subsampling
    top, planes = 1 << layout.bits, []
    for index in range(3):
        shape = size if index == 0 or is_rgb else (-(-size[0] // down), -(-size[1] // over))
        plane = chance.normal(0.5, 0.03, shape)
        for _ in range(3):
            row, column = chance.integers(0, shape[0] - 4), chance.integers(0, shape[1] - 4)
            plane[row : row + chance.integers(1, 14), column : column + chance.integers(1, 9)] = (
                chance.choice([0, 1])
            )
        planes.append(np.clip(plane * top, 0, top - 1).astype(layout.dtype))
    return Coded(tuple(planes), layout, Coding(None if is_rgb else "bt709", range_))


@pytest.mark.parametrize("range_", ["video", "full"])
@pytest.mark.parametrize("pixel_format", FORMS)
@pytest.mark.parametrize("way", [(False, True), (True, True), (False, False)], ids=str)
def test_the_share_is_that_of_the_whole_picture_judged(pixel_format, range_, way):
    is_interlaced, is_filtered = way
    picture = by_chance(pixel_format, range_)
    meant = judge(picture, is_interlaced=is_interlaced, is_filtered=is_filtered)
    found = share_beyond(picture, R103, is_interlaced=is_interlaced, is_filtered=is_filtered)
    assert meant.share > 0 or range_ == "full"
    assert found == meant.share


def test_of_a_quiet_picture_and_of_one_beyond_throughout_nothing_is_judged(monkeypatch):
    picture = by_chance("yuv422p10le", "video")
    monkeypatch.setattr(r103_share, "judge", None)
    for plane in picture.planes:
        plane[:] = np.clip(plane, 400, 620)
    assert share_beyond(picture, R103, is_interlaced=False, is_filtered=True) == 0
    picture.planes[0][:] = 1010
    for plane in picture.planes[1:]:
        plane[:] = np.clip(plane, 510, 514)
    assert share_beyond(picture, R103, is_interlaced=False, is_filtered=True) == 1


def test_what_cannot_be_enough_is_not_looked_into(monkeypatch):
    picture = by_chance("yuv422p10le", "video", size=(400, 400))
    exact = share_beyond(picture, R103, is_interlaced=False, is_filtered=True)
    monkeypatch.setattr(r103_share, "judge", None)
    assert exact < share_beyond(picture, R103, is_interlaced=False, is_filtered=True, ignored=0.2) <= 0.2
