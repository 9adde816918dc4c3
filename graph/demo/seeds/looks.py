"""Casts by chance, within what film and lab do: exposure, colour, contrast, a veil over the black."""

from typing import Final

import numpy as np

from lamphouse.graph.demo.faults import NEUTRAL, VIDEO_POWER, Fade, Primary
from lamphouse.graph.demo.seeds.scenes import Dice

WHITE: Final = 0.97  # what the brightest of a scene may come to in the scan, so that nothing clips unmeant


def look(dice: Dice) -> Primary:
    """Return the settings that undo a cast; a third of all shots have none."""
    kind = dice.choice(5, p=[0.30, 0.30, 0.16, 0.12, 0.12])
    return within((_none, _colour, _veiled, _exposed, _faded)[kind](dice))


def _none(dice: Dice) -> Primary:
    return NEUTRAL


def _colour(dice: Dice) -> Primary:
    red, blue = (float(step) for step in dice.uniform(0.08, 0.28, 2) * dice.choice([(1, -1), (-1, 1)]))
    return _primary(gain=(1 + red, 1.0, 1 + blue), gamma=_near(dice, 0.04))


def _veiled(dice: Dice) -> Primary:
    lift = tuple(float(value) for value in -dice.uniform(0.005, 0.06, 3))
    return _primary(lift=lift, gain=_near(dice, 0.12), gamma=_near(dice, 0.06))


def _exposed(dice: Dice) -> Primary:
    gain = 2 ** (dice.uniform(0.6, 1.8) / VIDEO_POWER)
    return _primary(gain=tuple(gain * near for near in _near(dice, 0.05)))


def _faded(dice: Dice) -> Primary:
    cyan, magenta, yellow = dice.uniform([0.60, 0.85, 0.72], [0.80, 0.96, 0.90])
    stain = dice.uniform([0.0, 0.02, 0.03], [0.02, 0.04, 0.06])
    return Fade(
        (float(cyan), float(magenta), float(yellow)), (float(stain[0]), float(stain[1]), float(stain[2]))
    ).undo()


def _near(dice: Dice, spread: float) -> tuple[float, ...]:
    return tuple(float(value) for value in np.exp(dice.uniform(-spread, spread, 3)))


def _primary(
    lift: tuple[float, ...] = (0.0,) * 3,
    gamma: tuple[float, ...] = (1.0,) * 3,
    gain: tuple[float, ...] = (1.0,) * 3,
) -> Primary:
    return Primary(
        lift_balance=(lift[0], lift[1], lift[2]),
        gamma_balance=(gamma[0], gamma[1], gamma[2]),
        gain_balance=(gain[0], gain[1], gain[2]),
    )


def within(undo: Primary, white: float = WHITE) -> Primary:
    """Return the settings with as much more gain as keeps what they spoil below `white`."""
    brightest = float(undo.spoil(np.full((3, 1, 1), WHITE, np.float32)).max())
    return undo if brightest <= white else lit(undo, np.full(3, brightest / white))


def lit(undo: Primary, more: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Primary:
    """Return the settings whose gains are multiplied by `more`, one number a channel."""
    red, green, blue = (float(gain * by) for gain, by in zip(undo.gain_balance, more, strict=True))
    return Primary(
        lift=undo.lift,
        lift_balance=undo.lift_balance,
        gamma=undo.gamma,
        gamma_balance=undo.gamma_balance,
        gain=undo.gain,
        gain_balance=(red, green, blue),
    )


def after_drift(undo: Primary, gains: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Primary:
    """Return the settings that undo a cast on a picture whose light has `gains`, one number a channel.

    out = y ** (1 / gamma) must be out / g ** (1 / 2.4), so each gain is divided by g ** (gamma / 2.4).
    """
    gamma = undo.gamma * np.array(undo.gamma_balance)
    return lit(undo, gains ** (-gamma / VIDEO_POWER))
