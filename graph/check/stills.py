"""Stills of what a check found, one a finding: of its first frame, or of the worst of its frames."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from lamphouse.graph.check.findings import Finding, Findings
from lamphouse.graph.check.subject import Subject
from lamphouse.graph.grade.grade import show
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.still import write_still
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.nodes.errors import BadInput, clause

MOST: Final = 100  # stills of a master


def write_stills(folder: Path, subject: Subject, found: Findings) -> None:
    """Write a still of each finding that has a frame into `folder`, and put its name into the finding.

    What cannot be shown is said. Raises BadInput where nothing can be written there.
    """
    if not any(one.frame is not None for one in (*found.faults, *found.others)):
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"{folder} cannot be made ({error.strerror}); give another folder.") from error
    try:
        with open_scan(subject.master) as scan:
            left = iter(range(MOST))
            found.faults = list(_shown(folder, subject, scan, found.faults, left))
            found.others = list(_shown(folder, subject, scan, found.others, left))
    except BadInput as error:
        found.said.append(f"Not all that was found can be shown: {clause(error)}.")


def _shown(
    folder: Path, subject: Subject, scan: Scan, findings: Sequence[Finding], left: Iterator[int]
) -> Iterator[Finding]:
    for finding in findings:
        frame = finding.frame if finding.worst is None else finding.worst
        if frame is None or not frame < scan.frames or next(left, None) is None:
            yield finding
            continue
        name = f"{subject.master.name}-{frame:06}-{finding.kind.replace(' ', '-')}.jpg"
        picture = scan.read_coded(frame)
        record = subject.record
        colour = colour_of_pass(record.delivery, record.reel.scan) if record else scan.stated.colour
        write_still(folder / name, show(picture, colour))
        yield replace(finding, picture=name)
