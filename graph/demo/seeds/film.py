"""A reel of chance, frame by frame: clean pictures exposed, moved, grained, dirtied and scanned.

Light and cast are one table a frame, as a clean picture has 256 codes; so a frame costs few passes over it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.demo.canvas import Canvas, Picture, Raster
from lamphouse.graph.demo.faults import VIDEO_POWER
from lamphouse.graph.demo.film import (
    TOP_CODE,
    gate,
    grain_piece,
    grain_tiles,
    lay_speck,
    lay_sync_mark,
    punch,
)
from lamphouse.graph.demo.seeds.hairs import lay_hair
from lamphouse.graph.demo.seeds.pictures import Codes8, Pictures
from lamphouse.graph.demo.seeds.roll import SeededPlan, Shot
from lamphouse.graph.demo.seeds.scenes import dice
from lamphouse.graph.demo.seeds.scratches import lay_scratch
from lamphouse.graph.demo.seeds.wear import Worn

Codes = NDArray[np.uint16]
RAMP: Final = np.linspace(0, 1, 256, dtype=np.float32)
SPLICE: Final = (0.012, 0.75)  # how high the edge of a bad splice stands in the picture, and how dark it is


class SeededFilm:
    """One roll in one scanner."""

    def __init__(self, plan: SeededPlan, worn: Worn, pictures: Pictures) -> None:
        self.plan, self.worn, self._pictures = plan, worn, pictures
        raster = self.raster = pictures.raster
        self._gate = gate(raster) ** np.float32(1 / VIDEO_POWER)
        self._grain = grain_tiles(raster)

    def frames(self) -> Iterator[Codes]:
        """Yield the codes (3, height, width) of every frame, ten bits of sixteen."""
        doubled, last = set(self.plan.doubled()), None
        for number, layers in enumerate(_layers(self.plan, self._pictures)):
            if last is None or number not in doubled:
                last = self._frame(number, layers)
            yield last

    def _frame(self, number: int, layers: list[Layer]) -> Codes:
        shot = layers[-1].shot if number >= layers[-1].shot.first else layers[0].shot
        video = self._mixed(layers, number)
        video = _moved(video, *(self.worn.place[number, ::-1] * self.raster.unit))
        self._add_grain(video, shot.piece.grain, number)
        self._lay(Canvas(video, self.raster.unit), shot, number)
        np.clip(video, 0, 1, out=video)
        video *= np.float32(TOP_CODE)
        return np.rint(video, out=video).astype(np.uint16)

    def _mixed(self, layers: list[Layer], number: int) -> Picture:
        """Return the picture, in `video`, that the gate let through; in a dissolve it is of two."""
        seen = [layer.exposed(number, float(self.worn.flicker[number]), self.raster) for layer in layers]
        video = seen[0]
        if len(seen) == 2:
            joint = self.plan.junctions[self.plan.shots.index(layers[0].shot)]
            share = np.float32((number - layers[1].shot.start + 1) / (joint.frames + 1))
            power = np.float32(VIDEO_POWER if joint.in_light else 1)
            first, second = (np.maximum(picture, 0) ** power for picture in seen)
            video = (first + (second - first) * share) ** (1 / power)
        black = np.asarray(layers[0].table(number, 0.0)[:, :1, None])
        video -= black
        video *= self._gate
        video += black
        return video

    def _add_grain(self, video: Picture, spread: float, number: int) -> None:
        """Add grain, strongest in the middle tones, a new piece of the tiles in each frame."""
        strength = video - video * video
        strength *= np.float32(2.6 * spread)
        strength += np.float32(0.35 * spread)
        strength *= grain_piece(self._grain, dice(self.plan.number, 9, number), self.raster)
        video += strength

    def _lay(self, canvas: Canvas, shot: Shot, number: int) -> None:
        """Lay on the film what lay on it, and what the lab did to it."""
        for speck in self.worn.dust[number]:
            lay_speck(canvas, speck)
        for scratch in self.plan.scratches:
            lay_scratch(canvas, scratch, number, self.raster.aspect)
        for hair in self.plan.hairs:
            lay_hair(canvas, hair, number, self.raster.aspect)
        if number == self.plan.sync:
            lay_sync_mark(canvas)
        if any(
            mark <= number < mark + self.plan.mark_frames
            for mark in (self.plan.head_mark, self.plan.tail_mark)
        ):
            punch(canvas, self.plan.hole)
        if self._is_spliced(shot, number):
            canvas.picture[:, : max(1, round(SPLICE[0] * canvas.unit))] *= np.float32(1 - SPLICE[1])

    def _is_spliced(self, shot: Shot, number: int) -> bool:
        at = self.plan.shots.index(shot)
        return number == shot.first and at > 0 and self.plan.junctions[at - 1].is_bad


class Layer:
    """One shot while it is being shown: its pictures, and its light by frame."""

    def __init__(self, shot: Shot, pictures: Pictures) -> None:
        self.shot = shot
        self._pictures = pictures.take(shot.piece, [int(at) for at in shot.pictures()])
        self._light, self._passed = shot.exposure(), shot.passed()

    def exposed(self, number: int, flicker: float, raster: Raster) -> Picture:
        """Return the picture of a scan frame, in `video`, under its light and its cast."""
        seen, table = self._window(number, raster), self.table(number, flicker)
        return np.stack([np.take(row, plane) for row, plane in zip(table, seen, strict=True)])

    def table(self, number: int, flicker: float) -> NDArray[np.float32]:
        """Return what becomes of codes 0..255, (3, 256), in `video`."""
        light = self._light[number - self.shot.start] * flicker
        video = RAMP * np.asarray(light ** (1 / VIDEO_POWER), np.float32)[:, None]
        return self.shot.piece.look.spoil(video[:, None])[:, 0]

    def _window(self, number: int, raster: Raster) -> Codes8:
        picture = self._pictures[number - self.shot.start]
        left, top = self.shot.piece.window.at(int(self._passed[number - self.shot.start]))
        height, width = picture.shape[1:]
        row = min(round(top * height), height - raster.height)
        column = min(round(left * width), width - raster.width)
        seen = picture[:, row : row + raster.height, column : column + raster.width]
        return seen[:, :, ::-1] if self.shot.piece.is_mirrored else seen


def _layers(plan: SeededPlan, pictures: Pictures) -> Iterator[list[Layer]]:
    """Yield what each frame shows: one shot, or two in a dissolve, the old one first."""
    open_: list[Layer] = []
    waiting = list(plan.shots)
    for number in range(plan.frames):
        open_ = [layer for layer in open_ if number < layer.shot.end]
        while waiting and waiting[0].start <= number:
            open_.append(Layer(waiting.pop(0), pictures))
        yield open_


def _moved(video: Picture, down: float, right: float) -> Picture:
    """Return a picture moved by parts of a pixel, its edges drawn out."""
    return _along(_along(video, down, 1), right, 2)


def _along(video: Picture, by: float, axis: int) -> Picture:
    size = video.shape[axis]
    whole = int(np.floor(by))
    share = np.float32(by - whole)
    at = np.arange(size) - whole
    near = np.take(video, np.clip(at, 0, size - 1), axis)
    if share:
        near += (np.take(video, np.clip(at - 1, 0, size - 1), axis) - near) * share
    return near
