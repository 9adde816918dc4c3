"""The order of shots by chance: whole scenes, parts of scenes, fast pans, and returns to the same set-up."""

from dataclasses import replace
from typing import Final

from lamphouse.graph.demo.faults import Primary
from lamphouse.graph.demo.seeds.looks import look
from lamphouse.graph.demo.seeds.roll import Piece, Window
from lamphouse.graph.demo.seeds.scenes import SCENES, Dice, Scene, dice

SOURCE_WIDTH: Final = 768  # of the clean film: no part of it is enlarged
LEAST_SHARE: Final = 0.6
LEAST_FRAMES: Final = 22  # however much a reel is shortened
CLOSE, PANS, RETURNS = 4, 2, 2


def order(number: int, width: int, shorten: int) -> list[Piece]:
    """Return the shots in their order, with their casts, and nothing else done to them yet."""
    throw = dice(number, 1)
    share = max(LEAST_SHARE, min(1.0, width / SOURCE_WIDTH))
    pieces = [_whole(SCENES[at], throw, shorten) for at in throw.permutation(len(SCENES))]
    wide = [scene for scene in SCENES if scene.is_wide]
    for at, scene in enumerate(throw.permutation(len(wide))[:CLOSE]):
        _insert(
            pieces, _close(wide[scene], share, throw, shorten, f"{wide[scene].name}, close {at + 1}"), throw
        )
    for scene in throw.permutation(len(wide))[:PANS]:
        _insert(pieces, _fast_pan(wide[scene], share, throw, f"{wide[scene].name}, fast pan"), throw)
    for _ in range(RETURNS):
        _return(pieces, throw)
    return [replace(piece, look=_cast(number, piece.set_up)) for piece in pieces]


def _cast(number: int, set_up: str) -> Primary:
    return look(dice(number, 2, *set_up.encode()))


def _length(throw: Dice, shorten: int) -> int:
    return max(LEAST_FRAMES, int(throw.integers(40, 96)) // shorten)


def _whole(scene: Scene, throw: Dice, shorten: int) -> Piece:
    frames = _length(throw, shorten)
    if scene.light is None:
        return Piece(
            scene, scene.name, frames, is_mirrored=scene.name != "chart" and bool(throw.random() < 0.3)
        )
    frames = min(scene.frames, max(frames, 30)) if shorten > 1 else scene.frames
    middle = (scene.light[0] + scene.light[1]) // 2
    return Piece(scene, scene.name, frames, offset=max(0, min(scene.frames - frames, middle - frames // 2)))


def _close(scene: Scene, share: float, throw: Dice, shorten: int, set_up: str) -> Piece:
    left, top = (float(value) * (1 - share) for value in throw.random(2))
    return Piece(
        scene,
        set_up,
        _length(throw, shorten),
        window=Window(share, left, top, left, top),
        is_mirrored=bool(throw.random() < 0.5),
    )


def _fast_pan(scene: Scene, share: float, throw: Dice, set_up: str) -> Piece:
    """Return a shot in which the camera swings over the scene in a third of a second."""
    start, lasts = int(throw.integers(12, 20)), int(throw.integers(7, 12))
    top = float(throw.random()) * (1 - share)
    window = Window(share, 0.0, top, 1 - share, top, start, start + lasts)
    return Piece(
        scene,
        set_up,
        start + lasts + int(throw.integers(14, 22)),
        window=window,
        is_mirrored=bool(throw.random() < 0.5),
    )


def _fits(pieces: list[Piece], at: int, scene: Scene) -> bool:
    beside = pieces[max(0, at - 1) : at + 1]
    return all(piece.scene is not scene for piece in beside)


def _insert(pieces: list[Piece], new: Piece, throw: Dice) -> None:
    places = [at for at in range(1, len(pieces)) if _fits(pieces, at, new.scene)]
    pieces.insert(int(throw.choice(places)), new)


def _return(pieces: list[Piece], throw: Dice) -> None:
    """Cut a shot in two, and let the one after it stand between."""
    places = [
        at
        for at in range(len(pieces) - 2)
        if pieces[at].scene.light is None
        and pieces[at].window.stop <= 1
        and _is_once(pieces, at)
        and pieces[at + 2].scene is not pieces[at].scene
    ]
    at = int(throw.choice(places))
    whole = pieces[at]
    first = max(LEAST_FRAMES, whole.frames // 2)
    second = max(LEAST_FRAMES, whole.frames - first)
    pieces[at] = replace(whole, frames=first)
    pieces.insert(at + 2, replace(whole, frames=second, offset=whole.offset + first + 10))


def _is_once(pieces: list[Piece], at: int) -> bool:
    return sum(piece.set_up == pieces[at].set_up for piece in pieces) == 1
