"""What its client calls a reel: title, identifiers, whose it is, a note. It decides no frame."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from lamphouse.graph.reel.limits import WORDS
from lamphouse.graph.reel.records import UNSAID, About, Reel
from lamphouse.nodes.errors import BadInput

MOST: Final = 100  # identifiers


def about_of(
    old: About = UNSAID,
    title: str | None = None,
    identifiers: Sequence[str] | None = None,
    client: str | None = None,
    note: str | None = None,
) -> About:
    """Return `old` with what is given; None leaves it, an empty text takes it away. Raises BadInput."""
    given: dict[str, str | tuple[str, ...]] = {
        name: _checked(name, text)
        for name, text in (("title", title), ("client", client), ("note", note))
        if text is not None
    }
    if identifiers is not None:
        kept = [_checked("identifier", text) for text in identifiers]
        given["identifiers"] = tuple(dict.fromkeys(filter(None, kept)))
        if len(given["identifiers"]) > MOST:
            raise BadInput(f"A reel has at most {MOST} identifiers; leave some out.")
    return msgspec.structs.replace(old, **given)


def with_about(
    reel: Reel,
    title: str | None = None,
    identifiers: Sequence[str] | None = None,
    client: str | None = None,
    note: str | None = None,
) -> Reel:
    """Return `reel` with what is given of what its client calls it. Raises BadInput as `about_of` does."""
    about = about_of(reel.about, title, identifiers, client, note)
    return msgspec.structs.replace(reel, about=about)


def _checked(name: str, text: str) -> str:
    if len(text) > WORDS:
        raise BadInput(f"The {name} has {len(text)} characters; give one of at most {WORDS}.")
    return text.strip()
