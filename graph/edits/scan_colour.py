"""How a scan's codes are taken when a reel is started: as a person says, else as tagged, else as usual."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import msgspec

from lamphouse.graph.media.scan.stated import Stated, Tag
from lamphouse.graph.reel.records import Reel
from lamphouse.nodes.colour_encoding import TRANSFERS, WORKING_PRIMARIES, ColourEncoding
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.primaries import PRIMARIES

DEFAULT_ENCODING: Final = "video"
SPOKEN: Final = {"video": "video (BT.1886)"}


def check_words(encoding: str | None, primaries: str | None) -> None:
    """Raise BadInput, with near words, for an encoding or primaries that are none of ours."""
    _check("an encoding of scans", encoding, TRANSFERS)
    _check("a set of primaries", primaries, PRIMARIES)


def taken(stated: Stated, encoding: str | None, primaries: str | None) -> ColourEncoding:
    """Return what the codes of a scan mean: words that are given go before what its file has `stated`.

    Raises BadInput for a tag that is not converted, with what can be given instead, and for what does not go
    together.
    """
    transfer = encoding or _stated(stated.transfer, "transfer", "--encoding", TRANSFERS) or DEFAULT_ENCODING
    kind = TRANSFERS[transfer]
    if kind.primaries is None:
        if primaries is not None:
            raise BadInput(
                f"Codes of {transfer} are densities, which have no primaries; leave --primaries out."
            )
        return ColourEncoding(transfer)
    found = primaries or _stated(stated.primaries, "primaries", "--primaries", PRIMARIES)
    if kind.is_bound and found not in (None, kind.primaries):
        raise BadInput(
            f"{transfer} is defined on the primaries {kind.primaries} alone, and these are {found}; give "
            f"--primaries {kind.primaries}, or another --encoding."
        )
    usual = stated.usual if kind.primaries == WORKING_PRIMARIES else kind.primaries
    return ColourEncoding(transfer, found or usual)


def with_colour(reel: Reel, encoding: str | None, primaries: str | None) -> Reel:
    """Return the reel with its scan's codes taken otherwise; what is None stays as the reel has it.

    Raises BadInput as `taken` does.
    """
    check_words(encoding, primaries)
    now = reel.scan.colour
    colour = taken(Stated(Tag(now.transfer, ""), Tag(now.primaries, "")), encoding, primaries)
    scan = msgspec.structs.replace(reel.scan, **fields_of(colour))
    return msgspec.structs.replace(reel, scan=scan)


def fields_of(colour: ColourEncoding) -> dict[str, Any]:
    """Return `encoding` and `primaries` of the record of a scan whose codes mean `colour`."""
    usual = colour.primaries == WORKING_PRIMARIES
    return {"encoding": colour.transfer, "primaries": None if usual else colour.primaries}


def _check(what: str, given: str | None, known: Iterable[str]) -> None:
    if given is not None and given not in known:
        raise BadInput(f"{given} is not {what}{near_names(given, known)}.")


def _stated(tag: Tag | None, what: str, option: str, known: Iterable[str]) -> str | None:
    if tag is not None and tag.name is None:
        raise BadInput(
            f"The scan's tags say {what} {tag.words}, which is not converted; give {option} "
            f"{', '.join(known)} if you know that one of them is right."
        )
    return tag.name if tag else None


def sentence(stated: Stated, colour: ColourEncoding, *, is_said: bool) -> str:
    """Return what the tags of a scan say, and how it is taken."""
    tags = f"say {stated.words}" if stated.words else "say nothing of its colour"
    on = f" on {colour.primaries}" if TRANSFERS[colour.transfer].primaries else ""
    way_on = "" if is_said else "; --encoding and --primaries override"
    return f"The scan's tags {tags}: taken as {SPOKEN.get(colour.transfer, colour.transfer)}{on}{way_on}."
