"""A check beside a pass: watches see the codes that are there anyway, and nothing is decoded once more."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.check.check import check_files, looking_for
from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.check.parts import PARTS, watches_of
from lamphouse.graph.check.settings import Settings, other_than_usual
from lamphouse.graph.check.subject import planned
from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.record import Checked, Checks, load_record, save_checks
from lamphouse.graph.reel.span import Span
from lamphouse.graph.transfer.record import made_now

KEPT: Final = 50  # findings that the record keeps, faults first


class BesidePass:
    """An `Onlooker` that checks a pass to `master`: what is read back, or without that what is sent.

    `parts` are those of the check that it does. `end` looks at the finished file and keeps what was found in
    its record.
    """

    def __init__(
        self,
        span: Span,
        master: Path,
        settings: Settings,
        parts: Collection[str] = PARTS,
        *,
        reads_back: bool,
    ) -> None:
        self._subject, self._reads_back, self._parts = planned(master, span, settings), reads_back, parts
        self._looking = looking_for(self._subject, watches_of(self._subject, parts))

    def sent(self, number: int, filled: Blank) -> None:
        """See the codes of a frame that are given to the encoder."""
        if not self._reads_back:
            self._looking.filled(number, filled)

    def came(self, number: int, codes: Any) -> None:
        """See a frame as it was decoded from the disk."""
        self._looking.decoded(number, codes)

    def end(self) -> Findings:
        """Return what was found, now that the master is finished, and keep it in the record."""
        subject, looking = self._subject, self._looking
        found = Findings()
        found.add(looking.found(subject.names))
        found.said += looking.said()
        if unseen := subject.frames - looking.frames:
            found.said.append(
                f"{unseen} of {subject.frames} frames were kept and not seen by the check beside this pass; "
                "`lamphouse check` sees all of them."
            )
        record = load_record(subject.master)
        found.join(check_files(replace(subject, record=record), self._parts))
        save_checks(subject.master, _kept(found, subject.settings, self._parts))
        return found


def _kept(found: Findings, settings: Settings, parts: Collection[str]) -> Checks:
    """Return what was found as a record keeps it: a short list."""
    most = [*found.faults, *found.others]
    return Checks(
        made=made_now(),
        only=() if set(parts) == set(PARTS) else tuple(name for name in PARTS if name in parts),
        settings=other_than_usual(settings),
        said=tuple(found.said),
        found=tuple(_as_record(one) for one in most[:KEPT]),
        more=len(most[KEPT:]) + found.more + found.more_others,
    )


def _as_record(one: Finding) -> Checked:
    return Checked(**{name: value for name, value in asdict(one).items() if name != "picture"})
