"""What an insert is to do, and every reason why it cannot be done, found before anything is made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate
from pathlib import Path
from typing import Final

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.containers import is_movie
from lamphouse.graph.media.master.delivery import checked
from lamphouse.graph.media.master.pass_record import MadeOf, differences
from lamphouse.graph.media.master.record import MasterRecord, load_record
from lamphouse.graph.media.master.stills_out import still_name
from lamphouse.graph.media.master.weave import times_of
from lamphouse.graph.media.scan.fixity import difference, fixity_of
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.made_of import made_of
from lamphouse.graph.transfer.plan import Plan
from lamphouse.graph.transfer.record import sha256_of
from lamphouse.graph.transfer.wanted import Wanted, reel_fits, wanted_frames
from lamphouse.nodes.errors import BadInput, CheckFailed

# Codecs of which every frame is one packet.
STANDS_ALONE: Final = ("ffv1", "prores_ks", "dnxhd", "v210", "tiff", "dpx")
TIED: Final = ("maxrate", "bufsize", "nal-hrd")  # options that tie the size of each group to those before
SCAN: Final = "the scan "  # so begins what the scan is called among what decides the frames
SOUND: Final = "the sound "  # and so the sound
AGAIN: Final = "a new pass is the way: `lamphouse transfer`"


@dataclass(frozen=True)
class InsertPlan:
    """Runs of frames of `master`, in order and apart, that are to be made anew, as the pass `whole` would.

    `record` is that of the master as it is, `made_of` what decides its frames now. With `sound` the sound
    beside them is made anew too.
    """

    master: Path
    record: MasterRecord
    whole: Plan
    frames: list[range]
    why: str
    made_of: MadeOf
    grade: Grade
    sound: bool
    groups: Groups | None
    found: tuple[int, ...]

    @property
    def rate(self) -> Fraction:
        """Frames a second."""
        return self.whole.span.rate

    @property
    def made_of_all(self) -> dict[str, str]:
        """What the master is made of once no frame of it is stale: sound that was not made anew stays."""
        whole = self.whole
        is_all = self.sound and self.frames == [whole.span.film]
        if is_all or _digests(self.made_of, SOUND) == _digests(self.record.made_of, SOUND):
            return dict(self.made_of)
        pictures = {name: value for name, value in self.made_of.items() if not name.startswith(SOUND)}
        return pictures | {n: value for n, value in self.record.made_of.items() if n.startswith(SOUND)}

    def part(self, frames: range) -> Plan:
        """Return the pass over a run of them alone."""
        return replace(self.whole, only=frames)

    def times(self, frames: range) -> Sequence[int] | None:
        """Return when each of a run is shown, in ticks; None where packets lie in that order."""
        return self.groups.times(frames) if self.groups else None

    def check_unchanged(self) -> None:
        """Raise CheckFailed where the master, or what its frames are made of, has changed meanwhile."""
        others = differences(self.made_of, made_of(self.whole, self.grade))
        if _identity(self.master) != self.found:
            others.append("the master itself")
        if others:
            raise CheckFailed(
                f"{self.master} is as it was, for {' and '.join(others)} changed during the insert; give it "
                "again."
            )


def plan_insert(
    opened: OpenedReel, master: Path, wanted: Wanted, grade: Grade, *, sound: bool = False
) -> InsertPlan:
    """Return what making the frames that are `wanted` anew takes. Raises BadInput where it cannot be done."""
    if not master.exists():
        raise BadInput(f"There is no master {master}; give the file or folder of a finished one.")
    found = _identity(master)
    record = load_record(master)
    delivery = checked(record.delivery, f"The record of {master}")
    others = reel_fits(record, opened.reel)
    if "reel" in delivery.burn_in and Path(record.reel_file).stem != opened.file.stem:
        others.append("the name")  # which is drawn into its pictures
    if others:
        raise _other(opened, master, others)
    opened.refuse_missing(record.without)
    whole = Plan(opened, delivery, record.first, record.stop, record.without)
    made = made_of(whole, grade)
    if _digests(made, SCAN) != _digests(record.made_of, SCAN) and not _is_copied(opened, record):
        raise _other(opened, master, [name for name in made if name.startswith(SCAN)])
    frames = wanted_frames(wanted, record, whole.span, grade)
    if sound:
        _refuse_sound(delivery, record)
    groups = None if delivery.codec in STANDS_ALONE else _groups(master, delivery, record, frames)
    if frames:
        _refuse_changed(master, record, delivery, frames, sound=sound)
    return InsertPlan(master, record, whole, frames, wanted.words, made, grade, sound, groups, found)


def _digests(made: MadeOf, what: str) -> set[str]:
    """Return the digests of what is called so, wherever it lies."""
    return {digest for name, digest in made.items() if name.startswith(what)}


def _is_copied(opened: OpenedReel, record: MasterRecord) -> bool:
    """Say whether the scan is another file with the same in it, as far as a reel can tell."""
    known = record.reel.scan.fixity
    try:
        return known is not None and not difference(known, fixity_of(opened.scan_path))
    except OSError as error:
        reason = error.strerror or error
        raise BadInput(f"{opened.scan_path} cannot be read ({reason}); bring the scan back.") from error


def _other(opened: OpenedReel, master: Path, others: Sequence[str]) -> BadInput:
    are = "are" if len(others) > 1 else "is"
    return BadInput(
        f"{' and '.join(others)} of {opened.file.name} {are} not what {master} was made with, so that new "
        f"frames would not go with the others; put that back, or {AGAIN}."
    )


def _refuse_sound(delivery: Delivery, record: MasterRecord) -> None:
    if record.sound is None or delivery.sound is None:
        raise BadInput(f"There is no lossless sound in this master to be made anew; {AGAIN}.")
    if not delivery.sound.codec.startswith("pcm_"):
        raise BadInput(
            f"Sound in {delivery.sound.codec} cannot be replaced in part, for its packets do not end where "
            f"frames do; {AGAIN}."
        )


def _refuse_changed(
    master: Path, record: MasterRecord, delivery: Delivery, frames: list[range], *, sound: bool
) -> None:
    """Raise BadInput where the master is not the one that its record is of.

    All of a movie is looked at, for all of it is copied; of stills those that are to be others.
    """
    is_stills = not is_movie(delivery.container)
    if is_stills == master.is_dir():
        looked_at, there = dict.fromkeys(record.files, master), len(record.files) == 1
        if is_stills:
            names = [still_name(master.name, n, delivery.container) for run in frames for n in run]
            looked_at = {name: master / name for name in [*names, *([f"{master.name}.wav"] * sound)]}
            there = {path.name for path in master.iterdir()} == set(record.files)
        if there and all(sha256_of(path) == record.files.get(name) for name, path in looked_at.items()):
            return
    raise BadInput(
        f"{master} is not what its record says, so that nobody knows what it holds; run "
        "`lamphouse verify` on it, and bring back the one that the record is of."
    )


def _identity(master: Path) -> tuple[int, ...]:
    facts = master.stat()
    return facts.st_ino, facts.st_size, facts.st_mtime_ns


class Groups:
    """Groups of pictures of a movie: each begins with a key and is made of nothing before it."""

    def __init__(self, movie: Path, rate: Fraction) -> None:
        packets = times_of(movie, rate)
        self._ticks = {frame: ticks for frame, ticks, _ in packets}
        last = list(accumulate((frame for frame, _, _ in packets), max))
        # A group stands alone where all before it in the file is shown before its key, and all after later.
        first = list(accumulate((frame for frame, _, _ in reversed(packets)), min))[::-1]
        self._starts = [
            frame
            for place, (frame, _, is_key) in enumerate(packets)
            if is_key and first[place] == frame and (not place or last[place - 1] < frame)
        ]
        self._ends = [*self._starts[1:], len(packets)]

    def times(self, frames: range) -> list[int]:
        """Return when each of `frames` is shown, in ticks."""
        return [self._ticks[frame] for frame in frames]

    def around(self, frames: range) -> range:
        """Return the smallest run of whole groups that holds `frames`."""
        start = max((start for start in self._starts if start <= frames.start), default=0)
        return range(start, min(end for end in self._ends if end >= frames.stop))


def _groups(master: Path, delivery: Delivery, record: MasterRecord, frames: list[range]) -> Groups:
    for name in TIED:
        if name in delivery.options:
            raise BadInput(
                f"{delivery.codec} with {name} shares its bits between groups of pictures, so that none "
                f"can be replaced alone; {AGAIN}."
            )
    span = record.span
    groups = Groups(master, span.rate)
    for run in frames:
        around = groups.around(run)
        if around == run:
            continue
        first, last = span.frame(around.start), span.frame(around.stop - 1)
        tied = f"{delivery.codec} ties frames {run.start} to {run.stop - 1} of the master to others"
        if first is None or last is None:
            raise BadInput(f"{tied}, of which some are bars or black; {AGAIN}.")
        raise BadInput(f"{tied}; give --from {first} --to {last + 1}, the least of whole groups, or {AGAIN}.")
    return groups
