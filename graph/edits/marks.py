"""Edits of a reel's marks: places to find again, soft shots, and what is to be looked at again.

At one frame there may be one mark of each kind: a shot can be soft from the very frame that someone named.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import msgspec

from lamphouse.graph.edits.cues import check_frame, cue_holding, next_cue
from lamphouse.graph.reel.records import Mark, MarkKind, Reel
from lamphouse.nodes.errors import BadInput

Place = tuple[float, float, float, float]

# What each kind is called to a person.
WORDS: Final[dict[MarkKind, str]] = {"place": "mark", "soft": "soft shot", "check": "look again"}


def mark_text(mark: Mark) -> str:
    """Return what a mark is: `mark`, or `soft shot, 60 frames`."""
    return WORDS[mark.kind] + (f", {mark.frames} frames" if mark.frames > 1 else "")


def marks_at(reel: Reel, frame: int, kind: MarkKind | None = None) -> tuple[Mark, ...]:
    """Return the marks, of a kind or all, that begin at `frame`; if none does, those that reach over it."""
    wanted = [mark for mark in reel.marks if kind in (None, mark.kind)]
    begun = tuple(mark for mark in wanted if mark.frame == frame)
    return begun or tuple(mark for mark in wanted if mark.frame <= frame < mark.frame + mark.frames)


def put_mark(reel: Reel, mark: Mark) -> Reel:
    """Return `reel` with `mark` in place of the one of its kind at its frame.

    Raises BadInput for a mark of no length, and for one that does not lie within the reel.
    """
    return put_marks(reel, (mark,))


def put_marks(reel: Reel, marks: Iterable[Mark]) -> Reel:
    """Return `reel` with each of `marks` in place of the one of its kind at its frame, as `put_mark` does."""
    found = {(mark.frame, mark.kind): mark for mark in reel.marks}
    for mark in marks:
        _check(reel, mark)
        found[mark.frame, mark.kind] = mark
    return _with(reel, found.values())


def join_marks(reel: Reel, marks: Iterable[Mark]) -> Reel:
    """Return `reel` with `marks` as well: one that stands there has the new one's name added to its own.

    So it has the note; it is then as long as the longer, and about a place that holds both.
    Raises BadInput as `put_mark` does.
    """
    found = {(mark.frame, mark.kind): mark for mark in reel.marks}
    new: dict[tuple[int, MarkKind], Mark] = {}
    for mark in marks:
        at = (mark.frame, mark.kind)
        own = new.get(at) or found.get(at)
        new[at] = mark if own is None else _joined(own, mark)
    return put_marks(reel, new.values())


def _joined(own: Mark, mark: Mark) -> Mark:
    names = [name for name in own.name.split(", ") if name]
    name = ", ".join(dict.fromkeys([*names, mark.name] if mark.name else names))
    note = own.note if mark.note in own.note else f"{own.note} {mark.note}".strip()
    place, frames = _about_both(own.place, mark.place), max(own.frames, mark.frames)
    return msgspec.structs.replace(own, name=name, frames=frames, note=note, place=place)


def _about_both(one: Place | None, other: Place | None) -> Place | None:
    """Return the least place that holds two."""
    if one is None or other is None:
        return one or other
    left, top = min(one[0], other[0]), min(one[1], other[1])
    right, bottom = max(one[0] + one[2], other[0] + other[2]), max(one[1] + one[3], other[1] + other[3])
    return left, top, right - left, bottom - top


def set_mark(
    reel: Reel, frame: int, kind: MarkKind, frames: int | None = None, name: str | None = None
) -> Reel:
    """Return `reel` with a mark at `frame`, or the one there given other frames or another name.

    A soft shot is the whole shot, from its cue on, where no frames are given. Raises BadInput as `put_mark`
    does.
    """
    is_shot = kind == "soft" and frames is None
    new = soft_shot(reel, frame) if is_shot else Mark(frame=frame, kind=kind)
    known = [mark for mark in reel.marks if mark.kind == kind and mark.frame in (frame, new.frame)]
    found = max(known, key=lambda mark: mark.frame, default=new)
    changes: dict[str, Any] = {"frames": frames, "name": name}
    given = {key: value for key, value in changes.items() if value is not None}
    return put_mark(reel, msgspec.structs.replace(found, **given))


def remove_mark(reel: Reel, frame: int, kind: MarkKind | None = None) -> Reel:
    """Return `reel` without what `marks_at` finds, or raise BadInput where that is nothing."""
    gone = marks_at(reel, frame, kind)
    if not gone:
        what = WORDS[kind] if kind else "mark"
        raise BadInput(f"There is no {what} at frame {frame} to remove.")
    return _with(reel, (mark for mark in reel.marks if mark not in gone))


def rename_mark(reel: Reel, frame: int, kind: MarkKind, name: str) -> Reel:
    """Return `reel` with another name for the mark of that kind that begins at `frame`."""
    return _changed(reel, frame, kind, name=name)


def with_head_mark(reel: Reel, frame: int) -> Reel:
    """Return `reel` with its head mark at `frame`: there the counters read zero."""
    check_frame(reel, frame)
    return msgspec.structs.replace(reel, head_mark=frame)


def shot(reel: Reel, frame: int) -> tuple[int, int]:
    """Return the frames [start, stop) of the shot that holds `frame`: from its cue to the next."""
    cue = cue_holding(reel, frame)
    stop = next_cue(reel, frame)
    return cue.frame if cue else 0, reel.scan.frames if stop is None else stop


def soft_shot(reel: Reel, frame: int) -> Mark:
    """Return the mark that says that the shot which holds `frame` is soft, under the name of its cue."""
    start, stop = shot(reel, frame)
    cue = cue_holding(reel, frame)
    return Mark(frame=start, frames=stop - start, name=cue.name if cue else "", kind="soft")


def _changed(reel: Reel, frame: int, kind: MarkKind, **changes: Any) -> Reel:
    found = next((mark for mark in reel.marks if _is(mark, frame, kind)), None)
    if found is None:
        raise BadInput(f"There is no {WORDS[kind]} at frame {frame} to change.")
    return put_mark(reel, msgspec.structs.replace(found, **changes))


def _is(mark: Mark, frame: int, kind: MarkKind) -> bool:
    return (mark.frame, mark.kind) == (frame, kind)


def _check(reel: Reel, mark: Mark) -> None:
    if mark.frames < 1:
        raise BadInput(f"The mark at frame {mark.frame} has {mark.frames} frames; give it at least 1.")
    last = mark.frame + mark.frames - 1
    if mark.frame < 0 or last >= reel.scan.frames:
        where = f"frame {last}" if mark.frame >= 0 else f"frame {mark.frame}"
        raise BadInput(
            f"The mark at frame {mark.frame} reaches {where}, outside the reel, which has frames 0 to "
            f"{reel.scan.frames - 1}."
        )


def _with(reel: Reel, marks: Iterable[Mark]) -> Reel:
    ordered = sorted(marks, key=lambda mark: (mark.frame, mark.kind))
    return msgspec.structs.replace(reel, marks=tuple(ordered))
