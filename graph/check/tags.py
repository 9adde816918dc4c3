"""Whether what a movie says of its colours and its raster makes sense: against each other, and at all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Final

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.check.stated import Stated, stated
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.media.codes.colour_tags import PRIMARIES, TRANSFERS, UNSTATED
from lamphouse.graph.media.master.encoder import RANGE_TAGS
from lamphouse.graph.media.master.encoder_options import VIDEO_RANGE
from lamphouse.graph.media.scan.movie_facts import MATRICES, SD
from lamphouse.nodes.one_line import sentence

RULE: Final = "ITU-T H.273"
SOURCE: Final = "code points of ITU-T H.273, which numbers go with which by ITU-R BT.601, BT.709, BT.2020"
RGB: Final = 0  # ITU-T H.273, MatrixCoefficients: the pictures are R'G'B'
GO_WITH: Final = {
    "bt601": ("bt601-525", "bt601-625"),
    "bt709": ("bt709", "p3-d65"),
    "bt2020": ("bt2020", "p3-d65"),
}
BRIGHT: Final = ("pq", "hlg")  # ITU-R BT.2100, whose primaries are those of BT.2020
NARROW: Final = {
    (720, 576),
    (720, 480),
    (720, 486),
    (704, 576),
    (704, 480),
}  # pixels of BT.601 are no squares


def of_tags(subject: Subject) -> Findings:
    """Return what makes no sense in the tags of a master, and a sentence where all of it does."""
    if subject.master.is_dir():
        return Findings()  # a still's header is looked at for what the delivery wants
    file, delivery = stated(subject.master), subject.delivery
    if delivery is not None and delivery.codec in VIDEO_RANGE:
        file = replace(file, range=RANGE_TAGS["video"])  # it has no other, nor a place for it
    found = tag_faults(file, is_meant=delivery is not None)
    return Findings.of(found, ["What the file states of its colours goes together."])


def tag_faults(file: Stated, *, is_meant: bool = False) -> Iterator[Finding]:
    """Yield what the tags lack, and where one contradicts another.

    Where a delivery `is_meant` to be so, nothing is said of what is only unusual.
    """
    unusual = () if is_meant else _of_raster(file)
    for text in (*_unstated(file), *_contradictions(file), *unusual):
        yield Finding("tags", sentence(text), rule=RULE, source=SOURCE, weight="caution")


def _unstated(file: Stated) -> Iterator[str]:
    names = zip(("primaries", "transfer", "matrix"), file.colour, strict=True)
    lacking = [name for name, code in names if code in UNSTATED and (name != "matrix" or file.is_ycbcr)]
    lacking += ["range"] if file.range == 0 else []
    if lacking:
        *some, last = lacking
        what = f"{', '.join(some)} and {last}" if some else last
        yield f"The file does not state its {what}, so that whoever shows it has to guess."


def _contradictions(file: Stated) -> Iterator[str]:
    primaries, transfer, matrix = file.colour
    name, words, curve = MATRICES.get(matrix), PRIMARIES.get(primaries), TRANSFERS.get(transfer)
    if matrix == RGB and file.is_ycbcr:
        yield f"The matrix tag says R'G'B', and the pictures are {file.pixel_format}."
    if name and file.is_rgb:
        yield f"The matrix tag is {name}, and the pictures are R'G'B' ({file.pixel_format})."
    if name and words and words not in GO_WITH[name]:
        yield f"The matrix is that of {name} and the primaries are {words}, which do not go together."
    if curve in BRIGHT and words not in (None, "bt2020"):
        yield f"The transfer is {curve} and the primaries are {words}, where ITU-R BT.2100 has bt2020."


def _of_raster(file: Stated) -> Iterator[str]:
    width, height = file.raster
    name, is_small = MATRICES.get(file.colour[2]), width <= SD[0] and height <= SD[1]
    if file.is_ycbcr and name == ("bt709" if is_small else "bt601"):
        usual = "bt601" if is_small else "bt709"
        yield f"The matrix is {name} at {width}x{height}, where {usual} is usual: see that it is meant."
    if file.raster in NARROW and file.aspect in (None, Fraction(1)):
        how = "not stated" if file.aspect is None else "1"
        yield f"The pixel aspect is {how} at {width}x{height}, whose pixels are no squares (ITU-R BT.601)."
