"""The parts of a check, each by its name: what watches the pictures, looks at the files, and hears the sound.

A new part is a line here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import Final

from lamphouse.graph.check.blanks import Blanks
from lamphouse.graph.check.conformity import of_conformity
from lamphouse.graph.check.findings import Findings
from lamphouse.graph.check.flashes.watch import Flashes
from lamphouse.graph.check.hearing.hearing import hearing
from lamphouse.graph.check.levels import Levels
from lamphouse.graph.check.repeats import Repeats
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.check.tags import of_tags
from lamphouse.graph.check.timecodes import of_timecode
from lamphouse.graph.check.watches import Watch
from lamphouse.nodes.errors import BadInput, near_names

WATCHES: Final[dict[str, Callable[[Subject], Watch]]] = {
    "levels": Levels.of,
    "flashes": Flashes.of,
    "blanks": Blanks.of,
    "repeats": Repeats.of,
}
FILES: Final[dict[str, Callable[[Subject], Findings]]] = {
    "conformity": of_conformity,
    "tags": of_tags,
    "timecode": of_timecode,
}
# What takes long enough to be stopped on the way.
SOUND: Final[dict[str, Callable[[Subject, Callable[[], bool]], Findings]]] = {
    "sound": hearing,
}
PARTS: Final = (*WATCHES, *FILES, *SOUND)


def watches_of(subject: Subject, parts: Collection[str]) -> list[Watch]:
    """Return the watches that are among the chosen `parts`."""
    return [make(subject) for name, make in WATCHES.items() if name in parts]


def parts_of(only: Iterable[str] = ()) -> frozenset[str]:
    """Return the parts that were chosen, all where none was. Raises BadInput for one that there is not."""
    chosen = [name for text in only for name in text.split(",")]
    for name in chosen:
        if name not in PARTS:
            hint = near_names(name, PARTS) or f"; they are {', '.join(PARTS)}"
            raise BadInput(f"A check has no part called {name}{hint}.")
    return frozenset(chosen or PARTS)
