"""One frame as a pass would write it, in its codes: to be judged before there is a master."""

from __future__ import annotations

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import SITING
from lamphouse.graph.media.codes.placing import placing_of
from lamphouse.graph.media.master.blanks import blanks_of
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.notes import PassNotes
from lamphouse.graph.transfer.pictures import Pictures
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.stages import Stages


def delivered(opened: OpenedReel, delivery: Delivery, scan: Scan, frame: int) -> Coded:
    """Return a film frame in the codes of a master of `delivery`, before its encoder may lose some.

    In two fields it stands in both. Raises BadInput where the frame cannot be read or made.
    """
    pass_ = plan(opened, delivery, frame, frame + 1)
    blanks = blanks_of(delivery, placing_of(delivery, opened.reel).outer)
    with Grade(opened) as grade:
        pictures = Pictures(pass_, scan, grade, blanks.blank, stages=Stages(), notes=PassNotes())
        filled = pictures.corrected(frame, scan.read_coded(frame))
    coding = filled.coding
    return Coded(tuple(filled.planes), coding.layout, Coding(coding.matrix, coding.range_, SITING))
