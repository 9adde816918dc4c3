"""The segments of a pass, made by a farm; the pass that goes on with them copies what they hold."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.master import check_name
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.graph.transfer.farm.farm import open_farm
from lamphouse.graph.transfer.farm.order import Order, encode_order, engines
from lamphouse.graph.transfer.insert_plan import STANDS_ALONE
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.stopping import stopping
from lamphouse.graph.transfer.transfer import (
    alone,
    interrupts_told,
    kept_in,
    left_or_nothing,
    telling_what_is_kept,
)
from lamphouse.nodes.errors import BadInput

SEGMENTED = ("ffv1",)  # codecs whose packets can be copied from segments


def make_segments(
    pass_: Plan,
    master_file: Path,
    address: str,
    step: Step,
    *,
    resume: bool = False,
    discard: bool = False,
    reads_back: bool = True,
) -> None:
    """Have the film of a master made in segments by the farm at `address`, for `transfer` to go on with.

    `step` is called with the frames made on all workers and those to be made. What lies ready already, with
    `resume`, is not made again. Raises as `transfer` does, and BadInput where the farm cannot do it.
    """
    way = UnderWay(master_file.absolute())
    refuse_over(pass_.opened, master_file, *way.names)
    pass_.opened.refuse_missing(pass_.without)
    refuse_whole(pass_.delivery)
    with (
        interrupts_told(way, pass_.delivery),
        alone(way),
        Grade(pass_.opened) as grade,
        stopping(f"Stopped at once; {kept_in(way, pass_.delivery)}.") as is_asked,
    ):
        check_name(master_file, pass_.delivery)
        made = made_of(pass_, grade)
        ready = left_or_nothing(way, pass_, made, resume=resume, discard=discard)
        film = [
            part
            for gap in ready.gaps(pass_.frames)
            for part in pass_.span.parts(gap)
            if _is_film(pass_, part)
        ]
        if not film:
            return

        def order(frames: range) -> bytes:
            return encode_order(_order(pass_, way, frames, dict(made) | engines(), reads_back))

        with telling_what_is_kept(way, pass_.delivery), _folder(way.segments), open_farm(address) as farm:
            farm.make(film, order, step, is_asked)


def refuse_whole(delivery: Delivery) -> None:
    """Raise BadInput where a master of `delivery` cannot be joined from segments, with the reason."""
    if delivery.codec in SEGMENTED:
        return
    if delivery.container in ("tiff", "dpx"):
        why = "stills are a file each and are not joined"
    elif delivery.codec in STANDS_ALONE:
        why = f"{delivery.codec} in {delivery.container} is not joined of them"
    else:
        why = f"the frames of {delivery.codec} do not each stand alone"
    raise BadInput(f"A farm makes segments of FFV1, and {why}; leave --farm out.")


@contextmanager
def _folder(path: Path) -> Iterator[None]:
    """Have a folder for what is made; where nothing was, nothing is left."""
    path.mkdir(exist_ok=True)
    try:
        yield
    finally:
        with suppress(OSError):  # there is something in it
            path.rmdir()


def _is_film(pass_: Plan, part: range) -> bool:
    return pass_.span.frame(part.start) is not None


def _order(pass_: Plan, way: UnderWay, frames: range, made: dict[str, str], reads_back: bool) -> Order:
    return Order(
        reel_file=str(pass_.opened.file.absolute()),
        reel=pass_.reel,
        delivery=pass_.delivery,
        first=pass_.start,
        stop=pass_.stop,
        start=frames.start,
        end=frames.stop,
        master=str(way.master),
        without=pass_.without,
        made_of=made,
        reads_back=reads_back,
    )
