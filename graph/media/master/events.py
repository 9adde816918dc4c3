"""What has happened to a master, in the words of the archives: kept in its record, oldest first.

Terms: the Library of Congress' preservation event types, second-hand.
"""

from __future__ import annotations

import msgspec

from lamphouse.graph.media.master.record import Event, Insert, Made, MasterRecord


def of_pass(made: Made, read_back: str) -> tuple[Event, ...]:
    """Return the events of a pass: the master was made, and where it was read back, what was found."""
    created = Event(kind="creation", made=made, detail="The reel was transferred in one pass.")
    return created, *_of_read_back(made, read_back)


def of_insert(insert: Insert, read_back: str) -> tuple[Event, ...]:
    """Return the events of an insert, of whose frames `read_back` says what was found."""
    frames = f"frame {insert.first}"
    if insert.stop - insert.first > 1:
        frames = f"frames {insert.first} to {insert.stop - 1}"
    modified = Event(
        kind="modification", made=insert.made, detail=f"An insert made {frames} anew: {insert.why}."
    )
    return modified, *_of_read_back(insert.made, read_back)


def _of_read_back(made: Made, read_back: str) -> tuple[Event, ...]:
    detail = "What was written was decoded again and compared with what was meant."
    return (Event(kind="fixity check", made=made, detail=detail, outcome=read_back),) if read_back else ()


def of_bag(made: Made, name: str) -> Event:
    """Return the event of a hand-over as the bag `name`."""
    return Event(kind="information package creation", made=made, detail=f"Handed over as the bag {name}.")


def history(record: MasterRecord) -> tuple[Event, ...]:
    """Return all events of a master; those of a record of before they were kept are told by what it says."""
    if record.events:
        return record.events
    inserts = (event for insert in record.inserts for event in of_insert(insert, ""))
    return *of_pass(record.made, record.read_back), *inserts


def with_events(record: MasterRecord, *events: Event) -> MasterRecord:
    """Return `record` with `events` after all others."""
    return msgspec.structs.replace(record, events=(*history(record), *events))
