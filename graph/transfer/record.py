"""The record of what a pass has made."""

from __future__ import annotations

import getpass
import hashlib
import os
import platform
from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np

from lamphouse import __version__
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.events import of_pass
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.master import Master
from lamphouse.graph.media.master.pass_record import MadeOf
from lamphouse.graph.media.master.record import Made, MasterRecord, SoundSums
from lamphouse.graph.reel.store import stored_path
from lamphouse.graph.transfer.plan import Plan


def record_of(pass_: Plan, grade: Grade, master: Master, part: Path, made_of: MadeOf) -> MasterRecord:
    """Return the record of the complete `master` that a pass made and that lies at `part`."""
    found, span, sound = master.found, pass_.span, master.meant.sound
    shown = map(span.shown, range(span.frames))
    now, read_back = made_now(), found.sentence if found else ""
    return MasterRecord(
        made=now,
        reel_file=stored_path(master.path, pass_.opened.file),
        reel=pass_.reel,
        delivery=pass_.delivery,
        first=pass_.start,
        stop=pass_.stop,
        without=pass_.without,
        made_of=dict(made_of),
        facts=facts_of(part),
        files=file_sums(part, master.path.name),
        read_back=read_back,
        notes=master.notes,
        events=of_pass(now, read_back),
        sound=SoundSums(rate=sound.rate, samples=sound.samples, seconds=sound.all()) if sound else None,
        distances=found.distances if found else (),
        cuts=tuple(master.cuts) if any(map(any, master.cuts)) else (),
        grades=tuple(grade.checksums(frames, pass_.colour) for frames in shown),
        pictures=found.pictures if found else tuple(master.meant.pictures),
    )


def made_now() -> Made:
    """Return who makes something now, and with which versions."""
    libraries = {"Lamphouse": __version__, "PyAV": av.__version__, "NumPy": np.__version__}
    coders = {name: ".".join(map(str, version)) for name, version in av.library_versions.items()}
    return Made(
        when=f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}",
        who=f"{_user()} on {platform.node()}",
        versions=libraries | coders | {"Python": platform.python_version()},
    )


def file_sums(master: Path, name: str) -> dict[str, str]:
    """Return the SHA-256 of each file of a master by its name; `name` is that of a movie."""
    if not master.is_dir():
        return {name: sha256_of(master)}
    return {path.name: sha256_of(path) for path in sorted(master.iterdir())}


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, as sha256sum gives it. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a process whose user has no name
        return f"user {os.getuid()}" if hasattr(os, "getuid") else "somebody"
