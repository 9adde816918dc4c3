"""The people, the boat, the birds and the lantern, drawn afresh in every frame."""

# ruff: noqa: PLR0917 - a drawing is told its place, its size and its colours in that order.

from dataclasses import dataclass

import numpy as np

from lamphouse.presets.demo.scenery_noise import Plane
from lamphouse.presets.demo.scenery_paint import Canvas, Colour, Point, Shade, tone


@dataclass(frozen=True, slots=True)
class Dress:
    """Colours of a person, and the side the light falls from (-1 left, +1 right)."""

    coat: Colour
    trousers: Colour
    boots: Colour
    scarf: Colour
    hat: Colour
    skin: Colour
    side: float = -1.0
    shadow: float = 0.4


def _lit(x: float, half: float, dress: Dress) -> Shade:
    """Return shading across a body: bright on the side of the light, dim on the other."""

    def shade(across: Plane, down: Plane) -> Plane:
        turn = np.clip((across - np.float32(x)) / np.float32(half), -1, 1)
        part = np.clip(0.5 + 0.62 * turn * dress.side, 0, 1)
        return np.asarray(dress.shadow + (1.15 - dress.shadow) * part + 0 * down, np.float32)

    return shade


def walker(
    canvas: Canvas,
    x: float,
    foot: float,
    tall: float,
    dress: Dress,
    stride: float,
    *,
    facing: float = 1.0,
    lantern: Colour | None = None,
    breeze: float = 0.0,
) -> Point:
    """Paint a walking person `tall` picture heights tall; returns where the lantern hangs.

    `stride` is the angle of the gait: two steps in a full turn.
    """
    bob = abs(np.cos(stride)) * 0.018 * tall
    hip = (x, foot - 0.44 * tall - bob)
    for phase in (stride + np.pi, stride):
        _leg(canvas, hip, foot, tall, phase, facing, dress)
    neck = (x + 0.02 * tall * facing, foot - 0.78 * tall - bob)
    swing = 0.5 * np.sin(stride)
    _arm(canvas, neck, tall, -swing, facing, dress, near=False)
    _coat(canvas, x, hip, neck, tall, np.sin(stride), facing, dress)
    _head(canvas, neck, tall, facing, dress, breeze)
    hand = _arm(canvas, neck, tall, 0.25 + 0.25 * swing, facing, dress, near=True)
    if lantern is not None:
        sway = 0.18 * np.sin(stride * 2 + 0.7)
        hand_lantern(canvas, hand, 0.14 * tall, lantern, sway)
    return hand[0], hand[1] + 0.08 * tall


def _leg(
    canvas: Canvas, hip: Point, foot: float, tall: float, phase: float, facing: float, dress: Dress
) -> None:
    swing = np.sin(phase) * 0.44
    bend = max(0.0, np.cos(phase)) * 0.75
    knee = (hip[0] + np.sin(swing) * 0.22 * tall * facing, hip[1] + np.cos(swing) * 0.22 * tall)
    below = swing - bend
    heel = (
        knee[0] + np.sin(below) * 0.20 * tall * facing,
        min(knee[1] + np.cos(below) * 0.20 * tall, foot - 0.02 * tall),
    )
    shade = _lit(hip[0], 0.09 * tall, dress)
    canvas.stroke(hip, knee, 0.055 * tall, dress.trousers, thick_stop=0.043 * tall, shade=shade)
    canvas.stroke(knee, heel, 0.043 * tall, dress.boots, thick_stop=0.036 * tall, shade=shade)
    toe = (heel[0] + 0.075 * tall * facing, heel[1] + 0.008 * tall)
    canvas.stroke(heel, toe, 0.033 * tall, dress.boots, thick_stop=0.024 * tall, shade=shade)


def _coat(
    canvas: Canvas, x: float, hip: Point, neck: Point, tall: float, sway: float, facing: float, dress: Dress
) -> None:
    hem = hip[1] + 0.13 * tall
    flare = 0.145 * tall
    points = [
        (neck[0] - 0.075 * tall, neck[1] + 0.035 * tall),
        (neck[0] - 0.03 * tall, neck[1]),
        (neck[0] + 0.03 * tall, neck[1]),
        (neck[0] + 0.085 * tall, neck[1] + 0.04 * tall),
        (x + 0.10 * tall, hip[1] - 0.05 * tall),
        (x + flare + 0.02 * tall * sway * facing, hem),
        (x - flare + 0.02 * tall * sway * facing, hem),
        (x - 0.10 * tall, hip[1] - 0.05 * tall),
    ]
    canvas.polygon(points, dress.coat, soft=0.012 * tall, shade=_lit(x, 0.13 * tall, dress))


def _arm(
    canvas: Canvas, neck: Point, tall: float, swing: float, facing: float, dress: Dress, *, near: bool
) -> Point:
    shoulder = (neck[0] + (0.03 if near else 0.0) * tall * facing, neck[1] + 0.055 * tall)
    elbow = (shoulder[0] + np.sin(swing) * 0.16 * tall * facing, shoulder[1] + np.cos(swing) * 0.16 * tall)
    reach = swing + 0.45
    hand = (elbow[0] + np.sin(reach) * 0.14 * tall * facing, elbow[1] + np.cos(reach) * 0.14 * tall)
    colour = dress.coat * np.float32(1.1 if near else 0.6)
    shade = _lit(shoulder[0], 0.1 * tall, dress)
    canvas.stroke(shoulder, elbow, 0.044 * tall, colour, thick_stop=0.037 * tall, shade=shade)
    canvas.stroke(elbow, hand, 0.037 * tall, colour, thick_stop=0.03 * tall, shade=shade)
    canvas.ellipse(*hand, 0.026 * tall, 0.026 * tall, dress.skin, shade=shade)
    return hand


def _head(canvas: Canvas, neck: Point, tall: float, facing: float, dress: Dress, breeze: float) -> None:
    """Paint the head, its knitted hat, and a scarf whose end the breeze lifts."""
    x, y = neck[0] + 0.015 * tall * facing, neck[1] - 0.085 * tall
    shade = _lit(x, 0.085 * tall, dress)
    hair = tone("#5a3a22")
    canvas.ellipse(x - 0.03 * tall * facing, y + 0.035 * tall, 0.075 * tall, 0.085 * tall, hair, shade=shade)
    canvas.ellipse(x + 0.006 * tall * facing, y, 0.074 * tall, 0.088 * tall, dress.skin, shade=shade)
    canvas.ellipse(x - 0.035 * tall * facing, y + 0.008 * tall, 0.036 * tall, 0.062 * tall, hair, shade=shade)
    canvas.ellipse(x + 0.042 * tall * facing, y + 0.014 * tall, 0.0085 * tall, 0.012 * tall, tone("#2a1c14"))
    canvas.ellipse(
        x + 0.032 * tall * facing,
        y + 0.042 * tall,
        0.02 * tall,
        0.012 * tall,
        tone("#d9806a"),
        soft=0.02 * tall,
        opacity=0.6,
    )
    canvas.ellipse(
        x + 0.078 * tall * facing, y + 0.012 * tall, 0.018 * tall, 0.016 * tall, dress.skin, shade=shade
    )
    brim = y - 0.018 * tall
    cap = [
        (x + 0.088 * tall * np.cos(turn), brim - 0.105 * tall * np.sin(turn))
        for turn in np.linspace(0, np.pi, 9)
    ]
    canvas.polygon(cap, dress.hat, soft=0.006 * tall, shade=shade)
    canvas.stroke(
        (x - 0.082 * tall, brim),
        (x + 0.082 * tall, brim),
        0.022 * tall,
        dress.hat * np.float32(0.75),
        shade=shade,
    )
    canvas.ellipse(
        x - 0.02 * tall * facing, brim - 0.125 * tall, 0.034 * tall, 0.034 * tall, dress.scarf, shade=shade
    )
    tail = [
        (
            x - (0.02 + 0.07 * step) * tall * facing,
            neck[1]
            + (0.01 + 0.05 * step * (1 - 0.5 * abs(breeze))) * tall
            + 0.018 * tall * np.sin(breeze * 5 + 1.6 * step),
        )
        for step in range(5)
    ]
    canvas.path(tail, 0.032 * tall, dress.scarf, thick_stop=0.024 * tall)
    canvas.stroke(
        (neck[0] - 0.055 * tall, neck[1] + 0.002 * tall),
        (neck[0] + 0.06 * tall, neck[1] - 0.002 * tall),
        0.036 * tall,
        dress.scarf,
        shade=shade,
    )


def hand_lantern(canvas: Canvas, hand: Point, size: float, flame: Colour, sway: float = 0.0) -> None:
    """Paint a small lantern hanging from a hand; a flame of no light is a lantern not lit."""
    x, y = hand[0] + np.sin(sway) * size * 0.6, hand[1] + np.cos(sway) * size * 0.62
    iron = np.full((3, 1, 1), 0.008, np.float32)
    canvas.stroke(hand, (x, y - 0.35 * size), 0.035 * size, iron)
    canvas.ellipse(x, y, 0.27 * size, 0.36 * size, flame * np.float32(0.55) + 0.02)
    canvas.ellipse(x, y + 0.03 * size, 0.13 * size, 0.22 * size, flame)
    canvas.stroke((x - 0.24 * size, y + 0.36 * size), (x + 0.24 * size, y + 0.36 * size), 0.07 * size, iron)
    canvas.stroke((x - 0.16 * size, y - 0.36 * size), (x + 0.16 * size, y - 0.36 * size), 0.08 * size, iron)
    for step in (-0.27, 0.27):
        canvas.stroke(
            (x + step * size, y - 0.33 * size), (x + step * size, y + 0.33 * size), 0.025 * size, iron
        )


def rowing_boat(
    canvas: Canvas,
    x: float,
    water: float,
    long: float,
    wood: Colour,
    inner: Colour,
    dress: Dress,
    stroke: float,
    *,
    lantern: Colour | None = None,
) -> None:
    """Paint a boat with one rower, facing the stern (left); `stroke` is the angle of the oars."""
    lean = 0.22 * np.sin(stroke)
    tall = long * 0.62
    seat = (x + 0.02 * long, water - 0.06 * long)
    neck = (seat[0] + np.sin(lean) * 0.3 * tall, seat[1] - 0.36 * tall)
    body = [
        (seat[0] - 0.12 * tall, seat[1] + 0.06 * tall),
        (neck[0] - 0.07 * tall, neck[1] + 0.03 * tall),
        (neck[0] + 0.07 * tall, neck[1] + 0.03 * tall),
        (seat[0] + 0.13 * tall, seat[1] + 0.06 * tall),
    ]
    canvas.polygon(
        [
            (x - 0.47 * long, water - 0.115 * long),
            (x + 0.5 * long, water - 0.135 * long),
            (x + 0.35 * long, water - 0.02 * long),
            (x - 0.38 * long, water - 0.02 * long),
        ],
        inner,
    )
    canvas.polygon(body, dress.coat, soft=0.01 * tall, shade=_lit(seat[0], 0.14 * tall, dress))
    _head(canvas, neck, tall, -1.0, dress, 0.2 * np.sin(stroke))
    grip = (neck[0] - 0.24 * tall, neck[1] + 0.20 * tall + 0.03 * tall * np.cos(stroke))
    _oar(canvas, x, water, long, grip, stroke, wood)
    canvas.stroke(
        (neck[0] - 0.02 * tall, neck[1] + 0.07 * tall),
        grip,
        0.042 * tall,
        dress.coat * np.float32(1.1),
        thick_stop=0.03 * tall,
        shade=_lit(neck[0], 0.2 * tall, dress),
    )
    canvas.ellipse(*grip, 0.028 * tall, 0.028 * tall, dress.skin)
    if lantern is not None:
        hand_lantern(
            canvas, (x - 0.36 * long, water - 0.30 * long), 0.13 * long, lantern, 0.05 * np.sin(stroke)
        )
        canvas.stroke(
            (x - 0.40 * long, water - 0.08 * long), (x - 0.36 * long, water - 0.31 * long), 0.008 * long, wood
        )
    _hull(canvas, x, water, long, wood)


def _oar(
    canvas: Canvas, x: float, water: float, long: float, grip: Point, stroke: float, wood: Colour
) -> None:
    lock = (x - 0.06 * long, water - 0.13 * long)
    reach = 0.62 * long
    along = np.array(lock) - np.array(grip)
    along = along / max(float(np.hypot(*along)), 1e-6)
    blade = (
        lock[0] + reach * (along[0] * 0.3 + 0.32 * np.sin(stroke)),
        water + 0.05 * long - 0.10 * long * max(0.0, np.cos(stroke)),
    )
    canvas.stroke(grip, blade, 0.011 * long, wood * np.float32(1.5))
    tip = (blade[0] + 0.10 * (blade[0] - lock[0]), blade[1] + 0.02 * long)
    canvas.stroke(blade, tip, 0.022 * long, wood * np.float32(1.6), thick_stop=0.026 * long)


def _hull(canvas: Canvas, x: float, water: float, long: float, wood: Colour) -> None:
    rim = [
        (x - 0.5 * long, water - 0.13 * long),
        (x - 0.25 * long, water - 0.085 * long),
        (x, water - 0.075 * long),
        (x + 0.28 * long, water - 0.09 * long),
        (x + 0.54 * long, water - 0.16 * long),
    ]
    keel = [
        (x + 0.44 * long, water + 0.005 * long),
        (x + 0.3 * long, water + 0.03 * long),
        (x - 0.32 * long, water + 0.03 * long),
        (x - 0.44 * long, water),
    ]
    canvas.polygon([*rim, *keel], wood)
    canvas.path(rim, 0.012 * long, wood * np.float32(2.2))
    plank = [(px, py + 0.045 * long) for px, py in rim[1:4]]
    canvas.path(plank, 0.004 * long, wood * np.float32(0.5))


def bird(canvas: Canvas, x: float, y: float, size: float, colour: Colour, beat: float) -> None:
    """Paint a bird far off, as two wings whose beat is an angle."""
    lift = np.sin(beat)
    for side in (-1, 1):
        elbow = (x + side * 0.45 * size, y - (0.12 + 0.20 * lift) * size)
        tip = (x + side * size, y + (0.05 - 0.34 * lift) * size)
        canvas.stroke((x, y), elbow, 0.07 * size, colour, thick_stop=0.05 * size)
        canvas.stroke(elbow, tip, 0.05 * size, colour, thick_stop=0.012 * size)
    canvas.ellipse(x, y + 0.02 * size, 0.16 * size, 0.08 * size, colour)
