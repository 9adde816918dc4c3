"""Stills of what a check found, one a finding: of its first frame, or of the worst of its frames."""

from __future__ import annotations

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


def write_stills(folder: Path, name: Path, subject: Subject, found: Findings) -> None:
    """Write a still of each finding that has a frame into `folder`, and put its path from there into it.

    `name` is what the master is called among those that are shown there. What cannot be shown is said.
    Raises BadInput where nothing can be written there.
    """
    if not any(one.frame is not None for one in (*found.faults, *found.others)):
        return
    try:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"{folder} cannot be made ({error.strerror}); give another folder.") from error
    findings, faults = [*found.faults, *found.others], len(found.faults)
    try:
        with open_scan(subject.master) as scan:
            seen = [at for at, one in enumerate(findings) if one.shown in range(scan.frames)]
            for at in seen[:MOST]:
                findings[at] = _shown(folder, name, subject, scan, findings[at])
    except BadInput as error:
        found.said.append(f"Not all that was found can be shown: {clause(error)}.")
    found.faults, found.others = findings[:faults], findings[faults:]


def _shown(folder: Path, name: Path, subject: Subject, scan: Scan, finding: Finding) -> Finding:
    """Write the still of a finding that has a frame, and return the finding with it."""
    frame = finding.shown
    assert frame is not None
    still = name.with_name(f"{name.name}-{frame:06}-{finding.kind.replace(' ', '-')}.jpg")
    record = subject.record
    colour = colour_of_pass(record.delivery, record.reel.scan) if record else scan.stated.colour
    write_still(folder / still, show(scan.read_coded(frame), colour))
    return replace(finding, picture=still.as_posix())
