"""Marks of a reel shown, and one of them set."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from lamphouse.graph.commands.options import Json, Place, ReelFile
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.reel.counters import Counter
    from lamphouse.graph.reel.records import Mark, MarkKind, Reel


def marks(reel_file: ReelFile, as_json: Json = False) -> None:
    """Show the marks: places, soft shots, what is to be looked at again."""
    import json
    from dataclasses import asdict

    from lamphouse.graph.files.record import every_field
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel.store import load

    reel = load(reel_file)
    counters = counter(reel)
    if as_json:
        rows = [asdict(counters.readings(mark_.frame)) | every_field(mark_) for mark_ in reel.marks]
        typer.echo(json.dumps({"head_mark": reel.head_mark, "marks": rows}, indent=2))
        return
    typer.echo(_head(reel, counters))
    for mark_ in reel.marks:
        typer.echo(_line(mark_, counters))


def mark(
    reel_file: ReelFile,
    at: Place,
    frames: Annotated[int | None, typer.Option(help="How long it is.")] = None,
    name: Annotated[str | None, typer.Option(help="What to call it.")] = None,
    soft: Annotated[
        bool, typer.Option("--soft", help="A soft shot, from its cue to the next; with --frames, from here.")
    ] = False,
    check: Annotated[bool, typer.Option("--check", help="Something to look at again.")] = False,
    remove: Annotated[bool, typer.Option("--remove", help="Remove it.")] = False,
    head: Annotated[bool, typer.Option("--head", help="Set the head mark: the counters read 0.")] = False,
) -> None:
    """Set, change or remove one mark, or set the head mark."""
    from lamphouse.graph.edits.marks import marks_at, remove_mark, set_mark, with_head_mark
    from lamphouse.graph.reel.counters import counter
    from lamphouse.graph.reel.store import change

    _refuse_both(soft=soft, check=check, remove=remove, head=head)
    _refuse_idle(frames, name, remove=remove, head=head)
    kind: MarkKind | None = "soft" if soft else "check" if check else None

    def edit(reel: Reel) -> Reel:
        frame = counter(reel).find(at)
        if head:
            return with_head_mark(reel, frame)
        if remove:
            return remove_mark(reel, frame, kind)
        return set_mark(reel, frame, kind or "place", frames, name)

    changed = change(reel_file, edit)
    counters = counter(changed)
    if head:
        typer.echo(_head(changed, counters))
    elif remove:
        typer.echo(f"Removed what was marked at frame {counters.find(at)}.")
    else:
        typer.echo(_line(marks_at(changed, counters.find(at), kind or "place")[0], counters))


def _refuse_both(**given: bool) -> None:
    """Raise BadInput for options of which a mark can have one: only --remove goes with a kind."""
    chosen = [name for name, is_given in given.items() if is_given]
    if len(chosen) > 1 and not (len(chosen) == 2 and "remove" in chosen and "head" not in chosen):
        raise BadInput(f"A mark cannot be --{' and --'.join(chosen)} at once; give one.")


def _refuse_idle(frames: int | None, name: str | None, *, remove: bool, head: bool) -> None:
    if (remove or head) and (frames is not None or name is not None):
        raise BadInput(
            f"--{'remove' if remove else 'head'} takes neither --frames nor --name; leave them out."
        )


def _head(reel: Reel, counters: Counter) -> str:
    return f"{counters.readings(reel.head_mark).columns}  head mark"


def _line(mark_: Mark, counters: Counter) -> str:
    from lamphouse.graph.edits.marks import mark_text

    said = "  ".join(one_line(text) for text in (mark_.name, mark_.note) if text)
    return f"{counters.readings(mark_.frame).columns}  {mark_text(mark_)}  {said}".rstrip()
