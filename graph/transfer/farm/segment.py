"""One segment made, on whatever machine: a pass over a part of the film, into a movie of its own."""

from __future__ import annotations

import platform
import secrets
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import msgspec

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.pass_record import differences
from lamphouse.graph.media.master.ready import Ready, segment_name
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.progress import Step
from lamphouse.graph.transfer.farm.order import BACK_END, CODERS, Order, engines
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.transfer import complete
from lamphouse.nodes.errors import BadInput, CheckFailed


class Refused(BadInput):
    """This machine is not to make a segment of that pass, since it would make another."""


def make_segment(order: Order, step: Step, is_asked: Callable[[], bool]) -> Path:
    """Make what `order` asks for, read it back, and return the movie, its record beside it.

    Its name is its own, so that two machines may make the same. Raises Refused where what the pass is made
    of is not the same here, and otherwise as `transfer` does.
    """
    pass_ = order.pass_
    folder = UnderWay(Path(order.master)).segments
    if not folder.is_dir():
        raise Refused(f"{_here()} does not see the folder {folder}; it must be on storage that all share.")
    with Grade(pass_.opened) as grade:
        _refuse_others(order, {**made_of(pass_, grade), **engines()})
        grade.prepare(range(pass_.start, pass_.stop))
        frames = range(order.start, order.end)
        name = segment_name(frames, secrets.token_hex(8), Path(order.master).suffix)
        way, made = UnderWay(folder / name), _of_the_pass(order)
        part = segment_pass(pass_, frames)
        with pass_.opened.open_scan() as scan:
            master = complete(
                part,
                way,
                scan=scan,
                grade=grade,
                made=made,
                ready=Ready(),
                reads_back=order.reads_back,
                step=step,
                is_asked=is_asked,
            )
        if changed := differences(made, made_of(pass_, grade)):
            raise CheckFailed(f"{' and '.join(changed)} changed during the pass; start it anew.".capitalize())
        master.finish()
    return way.master


def segment_pass(pass_: Plan, frames: range) -> Plan:
    """Return the pass that makes the frames `frames` of the master of `pass_`, which are all film."""
    return replace(pass_, delivery=msgspec.structs.replace(pass_.delivery, sound=None), only=frames)


def _refuse_others(order: Order, here: dict[str, str]) -> None:
    if others := differences(order.made_of, here):
        raise Refused(f"{_here()} differs in {', '.join(others)}; give it the same, under the same paths.")


def _of_the_pass(order: Order) -> dict[str, str]:
    return {name: digest for name, digest in order.made_of.items() if name not in (CODERS, BACK_END)}


def _here() -> str:
    return f"The worker on {platform.node()}"
