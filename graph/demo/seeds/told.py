"""The truth of a reel of chance, told from its plan and its wear: nothing has to be drawn for it."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.seeds import records
from lamphouse.graph.demo.seeds.hairs import points
from lamphouse.graph.demo.seeds.looks import after_drift
from lamphouse.graph.demo.seeds.records import (
    TrueChange,
    TrueDrift,
    TrueScratch,
    TrueShot,
    TrueSpan,
    TrueSpeck,
)
from lamphouse.graph.demo.seeds.roll import Hair, Junction, Scratch, SeededPlan, Shot
from lamphouse.graph.demo.seeds.scratches import column
from lamphouse.graph.demo.seeds.wear import Worn
from lamphouse.graph.demo.story import RATE
from lamphouse.graph.demo.wear import WEAVE, Speck

FIBRE: Final = 0.0022  # thickness of a fibre in picture heights
FULL: Final = (0.0, 0.0, 1.0, 1.0)


def truth(plan: SeededPlan, worn: Worn, raster: Raster) -> records.Truth:
    """Return all that was done to the roll."""
    head, *pictures, tail = plan.shots
    x, y, radius = plan.hole
    return records.Truth(
        number=plan.number,
        width=raster.width,
        height=raster.height,
        frames=plan.frames,
        rate=str(RATE),
        first_picture=head.stop,
        last_picture=tail.first - 1,
        head_mark=plan.head_mark,
        tail_mark=plan.tail_mark,
        mark_frames=plan.mark_frames,
        hole=_box(x, y, radius, radius, raster),
        sync=plan.sync,
        shots=tuple(_shot(plan, shot) for shot in plan.shots),
        changes=tuple(_changes(plan)),
        drifts=tuple(drift for shot in pictures for drift in _drifts(shot)),
        story=tuple(light for shot in pictures for light in _story(shot)),
        soft=tuple(
            _span("soft shot", s, s.piece.blur or 0.028, "picture heights")
            for s in pictures
            if s.piece.is_soft
        ),
        clipped=tuple(_span("clipped", s, s.piece.clip, "stops") for s in pictures if s.piece.clip),
        hairs=tuple(_hair(hair, raster) for hair in plan.hairs),
        flashes=tuple(_flashes(plan)),
        splices=tuple(_splices(plan)),
        unsteady=tuple(
            _span("unsteady", s, _weave(plan, s), "picture heights") for s in pictures if s.piece.weave > 1
        ),
        pans=tuple(_pan(shot) for shot in pictures if "fast pan" in shot.name),
        scratches=tuple(_scratch(scratch, raster) for scratch in plan.scratches),
        missing=plan.missing(),
        doubled=plan.doubled(),
        dust=tuple(_speck(n, speck, raster) for n, specks in enumerate(worn.dust) for speck in specks),
        weave=tuple((float(right), float(down)) for right, down in worn.place),
        flicker=tuple(float(gain) for gain in worn.flicker),
    )


def _shot(plan: SeededPlan, shot: Shot) -> TrueShot:
    piece = shot.piece
    return TrueShot(
        name=shot.name,
        shows=piece.scene.shows,
        first=shot.first,
        stop=shot.stop,
        set_up=piece.set_up,
        settings=after_drift(piece.look, np.ones(3)).settings(),
        flicker=piece.flicker,
        weave=_weave(plan, shot),
        dust=piece.dust,
        grain=piece.grain,
        is_soft=piece.is_soft,
        is_shallow=not piece.is_soft and (piece.is_shallow or piece.scene.is_shallow),
        is_leader="leader" in shot.name,
    )


def _weave(plan: SeededPlan, shot: Shot) -> float:
    return round(plan.weave * shot.piece.weave * WEAVE[0], 6)


def _changes(plan: SeededPlan) -> Iterator[TrueChange]:
    for before, after, joint in zip(plan.shots, plan.shots[1:], plan.junctions, strict=False):
        if joint.what == "fade":
            yield TrueChange(frame=before.stop - before.black, frames=before.fade_out, what="fade out")
            yield TrueChange(frame=after.first + after.fade_in, frames=after.fade_in, what="fade in")
        else:
            yield TrueChange(frame=after.first, frames=joint.frames, what=joint.what)


def _drifts(shot: Shot) -> Iterator[TrueDrift]:
    gains = np.ones(3)
    for drift in shot.piece.drifts:
        later = gains * 2.0 ** np.array(drift.stops)
        yield TrueDrift(
            first=shot.first + drift.start,
            stop=shot.first + drift.stop,
            ease=drift.ease,
            stops=float(drift.stops[1]),
            begin=after_drift(shot.piece.look, gains).settings(),
            end=after_drift(shot.piece.look, later).settings(),
            why=drift.why,
        )
        gains = later


def _story(shot: Shot) -> Iterator[records.StoryLight]:
    if shot.piece.scene.light is None:
        return
    start, stop, stops = shot.piece.scene.light
    seen = shot.pictures()
    moved = shot.start + np.flatnonzero((seen >= start) & (seen < stop))
    if len(moved):
        share = len(moved) / (stop - start)
        yield records.StoryLight(
            first=int(moved[0]),
            stop=int(moved[-1]) + 1,
            stops=round(stops * share, 2),
            why=shot.piece.scene.shows,
        )


def _span(what: str, shot: Shot, amount: float, unit: str) -> TrueSpan:
    return TrueSpan(what=what, first=shot.first, stop=shot.stop, place=FULL, amount=amount, unit=unit)


def _hair(hair: Hair, raster: Raster) -> TrueSpan:
    """Return where a hair stands, wherever its tip is, and how far it reaches into the picture."""
    reach = np.array([points(hair, number, raster.aspect) for number in range(hair.first, hair.stop)])
    (left, top), (right, bottom) = reach.min((0, 1)), reach.max((0, 1))
    place = _box((left + right) / 2, (top + bottom) / 2, (right - left) / 2, (bottom - top) / 2, raster)
    return TrueSpan(
        what="bright hair" if hair.is_bright else "dark hair",
        first=hair.first,
        stop=hair.stop,
        place=place,
        amount=hair.length,
        unit="picture heights",
    )


def _flashes(plan: SeededPlan) -> Iterator[TrueSpan]:
    for shot, joint in zip(plan.shots, (*plan.junctions, Junction()), strict=True):
        if shot.piece.flash_at is not None:
            at = shot.first + shot.piece.flash_at
            yield TrueSpan(what="camera flash", first=at, stop=at + 1)
        if joint.flash:
            yield TrueSpan(
                what="splice flash", first=shot.stop - 1, stop=shot.stop, amount=joint.flash, unit="stops"
            )


def _splices(plan: SeededPlan) -> Iterator[TrueSpan]:
    for shot, joint in zip(plan.shots[1:], plan.junctions, strict=True):
        if joint.is_bad:
            yield TrueSpan(
                what="bad splice",
                first=shot.first,
                stop=shot.first + 1,
                amount=joint.jolt,
                unit="picture heights",
            )


def _pan(shot: Shot) -> TrueSpan:
    window = shot.piece.window
    return TrueSpan(what="fast pan", first=shot.first + window.start, stop=shot.first + window.stop)


def _scratch(scratch: Scratch, raster: Raster) -> TrueScratch:
    return TrueScratch(
        first=scratch.first,
        stop=scratch.stop,
        columns=tuple(round(column(scratch, number), 5) for number in range(scratch.first, scratch.stop)),
        width=max(scratch.width, 1 / raster.width),
        strength=scratch.strength,
        is_bright=scratch.is_bright,
        wanders=scratch.wander > 0,
    )


def _speck(frame: int, speck: Speck, raster: Raster) -> TrueSpeck:
    """Return where a speck lies and how much it covers: a disc with a lump, or a bent line."""
    reach = speck.size * (1.0 if speck.fibre else 1.2)
    area = 2 * speck.size * FIBRE if speck.fibre else 1.25 * np.pi * 0.7 * speck.size**2
    return TrueSpeck(
        frame=frame,
        place=_box(speck.x, speck.y, reach, reach, raster),
        area=round(float(area / raster.aspect), 9),
        is_bright=speck.bright,
        is_fibre=speck.fibre,
    )


def _box(x: float, y: float, across: float, down: float, raster: Raster) -> records.Place:
    left, top, right, bottom = (
        float(min(1.0, max(0.0, value)))
        for value in ((x - across) / raster.aspect, y - down, (x + across) / raster.aspect, y + down)
    )
    return left, top, right - left, bottom - top
