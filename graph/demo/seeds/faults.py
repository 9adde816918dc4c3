"""What befalls the shots of a reel of chance: light, flicker, focus, clipping, dirt, slips of the scanner."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from lamphouse.graph.demo.faults import VIDEO_POWER
from lamphouse.graph.demo.seeds.looks import lit
from lamphouse.graph.demo.seeds.roll import EASES, Drift, Piece, Window
from lamphouse.graph.demo.seeds.scenes import Dice, dice

MARGIN: Final = 14  # frames of steady light on either side of a change of it
FLICKER: Final = (0.05, 0.3)  # stops
PAN: Final = 0.006  # of the picture's width a frame: a slow turn of the camera
LARGEST_MOVED: Final = 0.84  # share of the scene that a picture may show, if it is to move
Fits = Callable[[Piece], bool]
Befall = Callable[[Piece, Dice, int], Piece]  # the last says by how much the reel is shortened
Row = tuple[Fits, Befall, int]  # to which shots it may happen, what, and to how many set-ups


def befallen(number: int, pieces: list[Piece], shorten: int) -> list[Piece]:
    """Return the shots with all that befell them, each row of the tables below in its turn."""
    throw = dice(number, 3)
    found = list(pieces)
    for rows, is_free in _ALL:
        for row in rows:
            _spread(found, row, throw, shorten, is_free)
    return found


def _spread(pieces: list[Piece], row: Row, throw: Dice, shorten: int, is_free: Fits) -> None:
    """Let it befall so many set-ups that fit and are free, each with all of its shots."""
    fits, befall, often = row
    unfit = {piece.set_up for piece in pieces if not (fits(piece) and is_free(piece))}
    names = sorted({piece.set_up for piece in pieces} - unfit)
    for at in throw.permutation(len(names))[:often]:
        same = int(throw.integers(1 << 30))
        for place, piece in enumerate(pieces):
            if piece.set_up == names[at]:
                pieces[place] = befall(piece, dice(same), shorten)


def _is_lit_evenly(piece: Piece) -> bool:
    return not piece.drifts and not piece.clip and piece.flicker < FLICKER[0]


def _once(piece: Piece) -> bool:
    """Whether nothing moves the light of it, and it is no return."""
    return piece.scene.light is None and piece.window.stop <= 1 and piece.offset == 0


def _drifting(piece: Piece, throw: Dice, shorten: int) -> Piece:
    """Sun and cloud: the light falls or rises, and its colour with it."""
    return _with_drifts(piece, (_drift(throw, _start(throw, shorten), shorten, "sun and cloud"),))


def _cloud(piece: Piece, throw: Dice, shorten: int) -> Piece:
    """A cloud passes: the light falls, stays, and comes back."""
    down = _drift(throw, _start(throw, shorten), shorten, "a cloud comes")
    stops = tuple(-abs(value) for value in down.stops)
    start = down.stop + int(throw.integers(24, 36))
    down = replace(down, stops=(stops[0], stops[1], stops[2]))
    up = replace(_drift(throw, start, shorten, "the cloud is gone"), stops=(-stops[0], -stops[1], -stops[2]))
    return _with_drifts(piece, (down, up))


def _turning(piece: Piece, throw: Dice, shorten: int) -> Piece:
    """The camera turns from shade to sky, and the light follows."""
    drift = _drift(throw, _start(throw, shorten), shorten, "from shade to sky")
    rise = float(throw.uniform(0.8, 1.5))
    drift = replace(drift, stops=(rise + 0.12, rise, rise - 0.12), ease="soft")
    share = max(piece.window.share * 0.8, 0.6)
    window = Window(share, 0.0, 1 - share, 1 - share, 0.0, drift.start, drift.stop)
    return _with_drifts(replace(piece, window=window), (drift,))


def _start(throw: Dice, shorten: int) -> int:
    return MARGIN + int(throw.integers(0, 30)) // shorten


def _drift(throw: Dice, start: int, shorten: int, why: str) -> Drift:
    size = float(throw.uniform(0.5, 1.4)) * float(throw.choice((-1, 1)))
    warm = float(throw.uniform(-0.2, 0.2))
    lasts = max(12, int(throw.integers(16, 60)) // shorten)
    return Drift(start, start + lasts, (size + warm, size, size - warm), str(throw.choice(EASES)), why)


def _with_drifts(piece: Piece, drifts: tuple[Drift, ...]) -> Piece:
    """Return the shot with changes of light: long enough for them, and so dark that nothing clips."""
    way = np.cumsum([drift.stops for drift in drifts], axis=0)
    most = np.maximum(way.max(0), 0)
    gamma = piece.look.gamma * np.array(piece.look.gamma_balance)
    look = lit(piece.look, 2 ** (most * gamma / VIDEO_POWER))
    frames = max(piece.frames, drifts[-1].stop + MARGIN)
    return replace(piece, drifts=drifts, look=look, frames=frames)


def _flickering(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, flicker=round(float(throw.uniform(*FLICKER)), 3))


def _flickering_drift(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return _flickering(_drifting(piece, throw, shorten), throw, shorten)


def _clipped(piece: Piece, throw: Dice, shorten: int) -> Piece:
    """The scanner was given too much light: what is bright has no shape any more."""
    stops = float(throw.uniform(0.9, 1.6))
    brightest = float(piece.look.spoil(np.full((3, 1, 1), 0.97, np.float32)).max())
    gain = np.full(3, brightest * 2 ** (-stops / VIDEO_POWER))
    return replace(piece, look=lit(piece.look, gain), clip=round(stops, 2))


def _crushed(piece: Piece, throw: Dice, shorten: int) -> Piece:
    """The scanner's black lay too high: what is dark has no shape any more."""
    lift = float(throw.uniform(0.13, 0.2))
    return replace(piece, look=replace(piece.look, lift=lift, lift_balance=(0.0, 0.0, 0.0)), clip=-1.0)


def _out_of_focus(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, blur=round(float(throw.uniform(0.018, 0.03)), 4))


def _shallow(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, blur=0.03, is_shallow=True)


def _missing(piece: Piece, throw: Dice, shorten: int) -> Piece:
    at = int(throw.integers(8, piece.frames - 8))
    return replace(_slow_pan(piece, at), missing=int(throw.integers(2, 5)), missing_at=at)


def _doubled(piece: Piece, throw: Dice, shorten: int) -> Piece:
    at = int(throw.integers(8, piece.frames - 8))
    return replace(_slow_pan(piece, at), doubled_at=at)


def _slow_pan(piece: Piece, at: int) -> Piece:
    """Return the shot with a camera that turns evenly around frame `at`: else no lack could be seen."""
    share = min(piece.window.share, LARGEST_MOVED)
    left, top = (min(value, 1 - share) for value in (piece.window.left, piece.window.top))
    to = 0.0 if left > (1 - share) / 2 else 1 - share
    reach = round(abs(to - left) / (PAN * share) / 2)
    return replace(piece, window=Window(share, left, top, to, top, at - reach, at + reach))


def _hair(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, has_hair=True)


def _unsteady(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, weave=float(throw.uniform(3, 5)))


def _dirty(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, dust=float(throw.uniform(5, 12)))


def _clean(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, dust=0.2)


def _camera_flash(piece: Piece, throw: Dice, shorten: int) -> Piece:
    return replace(piece, flash_at=int(throw.integers(8, piece.frames - 8)))


def _is_sharp_and_still(piece: Piece) -> bool:
    return _once(piece) and not piece.drifts and not piece.blur and not piece.scene.is_soft


_LIGHT: Final[tuple[Row, ...]] = (
    (lambda piece: _once(piece) and piece.scene.is_wide, _turning, 1),
    (_once, _cloud, 1),
    (_once, _drifting, 2),
    (_once, _flickering_drift, 1),
    (lambda piece: piece.scene.light is None and piece.window.stop <= 1, _flickering, 3),
    (lambda piece: piece.scene.is_bright, _clipped, 1),
    (lambda piece: piece.scene.is_dark, _crushed, 1),
)
_SHARP: Final = ("chart", "door", "meadow", "dawn")
_FOCUS: Final[tuple[Row, ...]] = (
    (lambda piece: piece.scene.name in _SHARP and piece.window.stop <= 1, _shallow, 1),
    (lambda piece: piece.scene.name in (*_SHARP, "face") and piece.window.stop <= 1, _out_of_focus, 2),
)
_FRAMES: Final[tuple[Row, ...]] = (
    (_is_sharp_and_still, _missing, 2),
    (_is_sharp_and_still, _doubled, 2),
)
_DIRT: Final[tuple[Row, ...]] = (
    (lambda piece: True, _hair, 2),
    (lambda piece: not piece.missing and piece.doubled_at is None, _unsteady, 1),
    (lambda piece: True, _dirty, 3),
    (lambda piece: True, _clean, 2),
    (lambda piece: piece.frames > 24, _camera_flash, 2),
)
_ALL: Final[tuple[tuple[tuple[Row, ...], Fits], ...]] = (
    (_LIGHT, _is_lit_evenly),
    (_FOCUS, lambda piece: not piece.blur and not piece.scene.is_soft),
    (_FRAMES, lambda piece: not piece.missing and piece.doubled_at is None),
    (_DIRT, lambda piece: True),
)
