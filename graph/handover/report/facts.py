"""Facts of a reel, its scan and its master, in words and by their names."""

from __future__ import annotations

from typing import Final

from lamphouse.graph.handover.reel_facts import facts_lines, facts_of
from lamphouse.graph.media.master.delivery import asked_of
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.graph.reel.span import LEAD_IN, Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.time.rate import rate_words

MINUTE: Final = 60


def master_facts(record: MasterRecord) -> dict[str, str]:
    """Return what a client asks first of a master: how long it is, what it holds, how it was made."""
    span, delivery = record.span, record.delivery
    around = [
        f"{getattr(delivery, name)} of {what}" for name, what in LEAD_IN.items() if getattr(delivery, name)
    ]
    around += [f"{delivery.black_after} of black after it"] if delivery.black_after else []
    return {
        "length": f"{length_words(span)}, {span.frames} frames at {rate_words(span.rate)}",
        "timecode": f"{span.timecode(0)} to {span.timecode(span.frames - 1)}",
        "film": f"{len(span.film)} frames" + (f", with {', '.join(around)}" if around else ""),
        **({"speed": span.speed} if span.speed else {}),
        "made as": f"{asked_of(delivery)}.",
        "sound": _sound(record),
        "made": f"{record.made.when}, by {record.made.who}",
    }


def reel_facts(opened: OpenedReel) -> dict[str, str]:
    """Return what the reel and its scan are."""
    facts = facts_lines(facts_of(opened))
    fixity = opened.reel.scan.fixity
    if fixity is not None:
        facts["scan's file"] = (
            f"{fixity.size} bytes, changed {fixity.changed}, SHA-256 of parts {fixity.parts}"
        )
    return facts


def length_words(span: Span) -> str:
    """Return how long a master runs: `3 min 4.5 s`."""
    minutes, seconds = divmod(float(span.frames / span.rate), MINUTE)
    return f"{minutes:.0f} min {seconds:.1f} s" if minutes else f"{seconds:.1f} s"


def _sound(record: MasterRecord) -> str:
    if record.sound is None:
        coding = record.facts.get("the sound's coding", "")
        return f"coded as {coding}" if coding else "none"
    seconds = record.sound.samples / record.sound.rate
    return f"{seconds:.1f} s, {record.sound.rate} samples a second"
