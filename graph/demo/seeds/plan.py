"""A reel of chance laid out on its roll: shots in their places, what joins them, marks, scratches."""

from dataclasses import replace
from typing import Final

from lamphouse.graph.demo.seeds.faults import befallen
from lamphouse.graph.demo.seeds.hairs import hairs
from lamphouse.graph.demo.seeds.order import order
from lamphouse.graph.demo.seeds.roll import Junction, Piece, Scratch, SeededPlan, Shot
from lamphouse.graph.demo.seeds.scenes import HEAD, TAIL, Dice, dice

DISSOLVES, FADES, FLASHES = 4, 2, 2
DISSOLVE: Final = (12, 48)  # frames
CUT: Final = Junction()


def plan(number: int, width: int, shorten: int = 1) -> SeededPlan:
    """Return the roll of a number. `shorten` divides lengths: no shot has fewer than 22 frames, though."""
    throw = dice(number, 4)
    pieces = befallen(number, order(number, width, shorten), shorten)
    head, tail = (max(16, int(frames) // shorten) for frames in throw.integers((60, 36), (110, 70)))
    lead, trail = (Piece(s, s.name, f, grain=0.011, dust=5) for s, f in ((HEAD, head), (TAIL, tail)))
    junctions = (CUT, *_junctions(pieces, throw, shorten), CUT)
    shots = _laid((lead, *pieces, trail), junctions)
    mark = int(throw.integers(3, head // 2))
    return SeededPlan(
        number=number,
        shots=shots,
        junctions=junctions,
        scratches=_scratches(shots[-1].end, throw),
        hairs=hairs(shots, dice(number, 10)),
        head_mark=mark,
        tail_mark=shots[-1].first + int(throw.integers(tail // 3, tail - 4)),
        mark_frames=int(throw.integers(1, 3)),
        hole=(
            float(throw.uniform(0.3, 1.0)),
            float(throw.uniform(0.3, 0.7)),
            float(throw.uniform(0.09, 0.14)),
        ),
        sync=int(throw.integers(mark + 4, head - 2)),
        weave=float(throw.uniform(0.5, 1.6)),
    )


def _junctions(pieces: list[Piece], throw: Dice, shorten: int) -> list[Junction]:
    found = [CUT] * (len(pieces) - 1)
    free = [int(at) for at in throw.permutation(len(found)) if _may_blend(pieces, int(at))]
    rest = [at for at in throw.permutation(len(found)) if at not in free[: DISSOLVES + FADES]]
    for at in free[:DISSOLVES]:
        found[at] = _dissolve(throw, shorten)
    for at in free[DISSOLVES : DISSOLVES + FADES]:
        frames = max(8, int(throw.integers(12, 36)) // shorten)
        found[at] = Junction("fade", frames, int(throw.integers(2, 10)))
    for at in rest[:FLASHES]:
        found[at] = Junction(flash=float(throw.uniform(0.4, 1.2)))
    for at in rest[FLASHES : FLASHES + 2]:
        found[at] = Junction(is_bad=True, jolt=float(throw.choice((-1, 1)) * throw.uniform(0.03, 0.06)))
    return found


def _may_blend(pieces: list[Piece], at: int) -> bool:
    """Whether a shot may blend into the next: returns to a set-up stay plain cuts."""
    names = [piece.set_up for piece in pieces]
    return names.count(names[at]) == 1 and names.count(names[at + 1]) == 1


def _dissolve(throw: Dice, shorten: int) -> Junction:
    frames = max(8, int(throw.integers(*DISSOLVE)) // shorten)
    return Junction("dissolve", frames, in_light=bool(throw.random() < 0.5))


def _laid(pieces: tuple[Piece, ...], junctions: tuple[Junction, ...]) -> tuple[Shot, ...]:
    """Return every shot in its place; a fade is added to the length that a shot is seen in full light."""
    shots: list[Shot] = []
    at, names = 0, [piece.set_up for piece in pieces]
    for index, piece in enumerate(pieces):
        before = junctions[index - 1] if index else CUT
        after = junctions[index] if index < len(junctions) else CUT
        mixed = before.frames if before.what == "dissolve" else 0
        fade_in = before.frames if before.what == "fade" else 0
        fade_out, black = (after.frames, after.black) if after.what == "fade" else (0, 0)
        first = at + mixed
        stop = first + piece.frames + fade_in + fade_out + black
        end = stop + (after.frames if after.what == "dissolve" else 0)
        turn = names[:index].count(piece.set_up)
        name = f"{piece.set_up} ({turn + 1})" if names.count(piece.set_up) > 1 else piece.set_up
        shots.append(Shot(_later(piece, fade_in), name, at, first, stop, end, fade_in, fade_out, black))
        at = stop
    return tuple(shots)


def _later(piece: Piece, frames: int) -> Piece:
    """Return the shot with all that happens in it so many frames later: it fades in before."""
    drifts = tuple(
        replace(drift, start=drift.start + frames, stop=drift.stop + frames) for drift in piece.drifts
    )
    window = replace(piece.window, start=piece.window.start + frames, stop=piece.window.stop + frames)
    flash, doubled = (None if at is None else at + frames for at in (piece.flash_at, piece.doubled_at))
    return replace(
        piece,
        drifts=drifts,
        window=window,
        flash_at=flash,
        doubled_at=doubled,
        missing_at=piece.missing_at + frames,
    )


def _scratches(frames: int, throw: Dice) -> tuple[Scratch, ...]:
    """Return four scratches: two that keep to their column and two that wander."""
    found = []
    for at in range(4):
        lasts = int(throw.integers(frames // 10, frames // 4))
        first = int(throw.integers(0, frames - lasts))
        found.append(
            Scratch(
                first,
                first + lasts,
                column=float(throw.uniform(0.08, 0.92)),
                wander=0.0 if at < 2 else float(throw.uniform(0.004, 0.015)),
                width=float(throw.uniform(0.0022, 0.0040)),
                strength=float(throw.uniform(0.35, 0.75)),
                is_bright=bool(throw.random() < 0.6),
                throw=int(throw.integers(1 << 30)),
            )
        )
    return tuple(found)
