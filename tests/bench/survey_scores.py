"""The survey beside the truth of reels of chance: python tests/bench/survey_scores.py [FIRST STOP [WIDTH]]

One table over reels 1 to 10, 160 wide, without their sound: by kind what was found, missed and made up. With
numbers other reels, as wide as is said, and each thing that is missed or made up is named. Where there is but
little of a clipped or a dirty shot either answer is right: the head of survey_faults.py has the bounds.

A shot is unsteady where the picture weaves by 0.3 % of its height (standard deviation), jolts at splices left
out; one within a quarter of that may be found or not. One that only jolts and is called unsteady has a row.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from survey_faults import CUT_OFF, DIRTY, DUSTY, WHOLE, clipped_of, dust_of, statistics_of

from lamphouse.graph.demo.seeds.records import TrueShot, TrueSpan, Truth
from lamphouse.graph.demo.seeds.seeded import seeded
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.survey.look import Change
from lamphouse.graph.survey.proposal import Proposal
from lamphouse.graph.survey.survey import survey
from lamphouse.nodes.catalogue import Catalogue

NEAR = 1  # frames by which a cut and a mark may be off
ENDS = 12  # frames by which the ends of a drift may be off
OVERLAP = 0.5  # intersection over union from which a dissolve counts as found
GONE = 0.5  # share of a scratch's frames that may be missed
UNSTEADY = 0.003  # picture heights of standard deviation from which weave is seen
ABOUT = 1.25  # times that, or less than that by it, which may be found or not
JOLTS = 3  # frames after a splice in which the picture jolts

A, B = TypeVar("A"), TypeVar("B")


@dataclass(slots=True)
class Score:
    """How many of a kind were found; `wrong` says of each that was missed or made up where it is."""

    hits: int = 0
    missed: int = 0
    made_up: int = 0
    wrong: list[str] = field(default_factory=list)

    def __add__(self, other: Score) -> Score:
        return Score(
            self.hits + other.hits,
            self.missed + other.missed,
            self.made_up + other.made_up,
            self.wrong + other.wrong,
        )

    @property
    def recall(self) -> float:
        """The share of what there is that was found; 1 where there is nothing."""
        return self.hits / (self.hits + self.missed) if self.hits + self.missed else 1.0

    @property
    def precision(self) -> float:
        """The share of what was found that is there; 1 where nothing was found."""
        return self.hits / (self.hits + self.made_up) if self.hits + self.made_up else 1.0

    @property
    def f1(self) -> float:
        """The harmonic mean of the two."""
        together = 2 * self.hits + self.missed + self.made_up
        return 2 * self.hits / together if together else 1.0


def paired(
    there: Sequence[A], found: Sequence[B], is_same: Callable[[A, B], float], name: Callable[[Any], str]
) -> Score:
    """Return the score of what was found, each thing taken once, the likest first; 0 is no likeness."""
    rows = [(is_same(a, b), i, j) for i, a in enumerate(there) for j, b in enumerate(found)]
    own: set[int] = set()
    taken: set[int] = set()
    for likeness, i, j in sorted(rows, reverse=True):
        if likeness > 0 and i not in own and j not in taken:
            own.add(i)
            taken.add(j)
    missed = [name(a) for i, a in enumerate(there) if i not in own]
    made_up = [name(b) for j, b in enumerate(found) if j not in taken]
    wrong = [f"missed {said}" for said in missed] + [f"made up {said}" for said in made_up]
    return Score(len(own), len(missed), len(made_up), wrong)


def overlap(first: range, second: range) -> float:
    """Return the intersection over the union of two spans of frames."""
    common = max(0, min(first.stop, second.stop) - max(first.start, second.start))
    return common / (len(first) + len(second) - common) if common else 0.0


def change_scores(truth: Truth, changes: Iterable[Any]) -> dict[str, Score]:
    """Return the scores of cuts, dissolves and fades."""
    found = list(changes)
    scores = {"cuts": cut_score(truth, found)}
    for named, kinds in (("dissolves", ("dissolve",)), ("fades", ("fade in", "fade out"))):
        there = [change for change in truth.changes if change.what in kinds]
        own = [change for change in found if change.what in kinds]
        scores[named] = paired(there, own, _alike, _named)
    return scores


def cut_score(truth: Truth, found: Sequence[Any]) -> Score:
    """Return the score of cuts within a frame."""
    there = [change for change in truth.changes if change.what == "cut"]
    own = [change for change in found if change.what == "cut"]
    return paired(there, own, lambda a, b: float(max(0, NEAR + 1 - abs(a.frame - b.frame))), _named)


def _alike(there: Any, found: Any) -> float:
    share = overlap(_span(there), _span(found))
    return share if there.what == found.what and share >= OVERLAP else 0.0


def _span(change: Any) -> range:
    return range(change.frame - max(1, change.frames), change.frame)


def _named(change: Any) -> str:
    span = f"{change.frame - change.frames} to {change.frame}" if change.frames else f"{change.frame}"
    return f"{change.what} {span}"


def mark_score(truth: Truth, proposals: Iterable[Proposal], has_sound: bool = False) -> Score:
    """Return the score of marks within a frame."""
    there = {
        "head mark": truth.head_mark,
        "punched hole": truth.tail_mark,
        "start of picture": truth.first_picture,
        "end of picture": truth.last_picture,
    } | ({"sync pip": truth.sync} if has_sound else {})
    found = [(p.what, p.frame) for p in proposals if p.kind == "marks" and p.what in there]
    return paired(
        list(there.items()),
        found,
        lambda a, b: float(a[0] == b[0]) * max(0, NEAR + 1 - abs(a[1] - b[1])),
        lambda mark: f"{mark[0]} {mark[1]}",
    )


def drift_scores(truth: Truth, proposals: Iterable[Proposal]) -> dict[str, Score]:
    """Return the scores of drifts by both ends within 12 frames, and of those made up in a flickering shot.

    Light that the story moves may be found or not, and so may what blends into or out of black.
    """
    there = [range(drift.first, drift.stop) for drift in truth.drifts]
    free = [range(light.first - ENDS, light.stop + ENDS) for light in truth.story]
    free += [range(c.frame - c.frames - ENDS, c.frame + ENDS) for c in truth.changes if c.frames]
    found = [range(p.frame - p.frames, p.frame) for p in proposals if p.kind == "transitions"]
    merged = paired(there, found, _ends_alike, lambda span: f"drift {span.start} to {span.stop}")
    counted = [span for span in found if any(overlap(span, own) for own in there) or not _within(span, free)]
    score = paired(there, counted, _ends_alike, lambda span: f"drift {span.start} to {span.stop}")
    flickering = [shot for shot in truth.shots if shot.flicker >= 0.05]
    still = [shot for shot in flickering if not any(_meets(shot, own) for own in (*there, *free))]
    false = [span for span in found for shot in still if _meets(shot, span)]
    wrong = [f"made up drift {span.start} to {span.stop} of flicker alone" for span in false]
    return {"drifts": score, "drifts of flicker": Score(len(merged.wrong) * 0, 0, len(false), wrong)}


def _ends_alike(first: range, second: range) -> float:
    off = max(abs(first.start - second.start), abs(first.stop - second.stop))
    return float(max(0, ENDS + 1 - off))


def _within(span: range, others: Iterable[range]) -> bool:
    return any(other.start <= span.start and span.stop <= other.stop for other in others)


def _meets(shot: TrueShot, span: range) -> bool:
    return shot.first < span.stop and span.start < shot.stop


def fault_scores(
    truth: Truth, at_ends: NDArray[np.float64], proposals: Iterable[Proposal]
) -> dict[str, Score]:
    """Return the scores of soft, clipped and dirty shots, scratches, hairs, slips of the scanner, splices."""
    found, steadied = ([p for p in proposals if p.kind == kind] for kind in ("faults", "steadiness"))
    return {
        "soft shots": _shots(truth.soft, found, ("soft shot",)),
        "clipped lights": _clipped(truth, at_ends, found, "clipped lights"),
        "clipped shadows": _clipped(truth, at_ends, found, "clipped shadows"),
        "dirty shots": _dirty(truth, found),
        "hairs": _shots(truth.hairs, found, ("hair", "hair in the gate")),
        **unsteady_scores(truth, steadied),
        "scratches": _scratches(truth, found),
        "missing frames": _frames(sorted(truth.missing), found, ("missing frames",)),
        "doubled frames": _frames(truth.doubled, found, ("doubled frame", "doubled frames")),
        "bad splices": _frames([s.first for s in truth.splices], found, ("bad splice",)),
        "splice flashes": _frames(
            [s.first for s in truth.flashes if s.what == "splice flash"], found, ("splice flash",)
        ),
    }


def unsteady_scores(truth: Truth, found: Sequence[Proposal]) -> dict[str, Score]:
    """Return the scores of unsteady shots, and of those made up of a jolt at a splice."""
    weaves = [(_shown(shot), *_weaves(truth, shot)) for shot in truth.shots if not shot.is_leader]
    there = [span for span, rests, _ in weaves if rests >= ABOUT * UNSTEADY]
    free = [span for span, rests, _ in weaves if UNSTEADY / ABOUT <= rests < ABOUT * UNSTEADY]
    jolting = [span for span, rests, all_ in weaves if rests < UNSTEADY / ABOUT and all_ >= UNSTEADY]

    def is_of(proposal: Proposal, spans: Sequence[TrueSpan]) -> bool:
        own = range(proposal.frame, proposal.frame + proposal.frames)
        return any(overlap(own, range(span.first, span.stop)) >= OVERLAP for span in spans)

    counted = [p for p in found if not is_of(p, free)]
    jolts = [p for p in counted if is_of(p, jolting)]
    wrong = [f"made up unsteady picture {p.frame} of a jolt" for p in jolts]
    return {
        "unsteady shots": _shots(there, counted, ("unsteady picture",)),
        "unsteady of jolts": Score(0, 0, len(jolts), wrong),
    }


def _shown(shot: TrueShot) -> TrueSpan:
    return TrueSpan(what="shot", first=shot.first, stop=shot.stop)


def _weaves(truth: Truth, shot: TrueShot) -> tuple[float, float]:
    """Return how far the picture of a shot strays, jolts left out and not, in picture heights."""
    places = np.array(truth.weave[shot.first : shot.stop])
    return float(places[JOLTS:].std(axis=0).max()), float(places.std(axis=0).max())


def _clipped(truth: Truth, at_ends: NDArray[np.float64], found: Iterable[Proposal], what: str) -> Score:
    """Return the score of shots clipped at one end: a mark on one of which little is cut off is none."""
    there, free = (
        [TrueSpan(what=what, first=first, stop=stop) for name, first, stop in shots if name == what]
        for shots in (
            clipped_of(truth, at_ends, CUT_OFF, np.inf),
            clipped_of(truth, at_ends, WHOLE, CUT_OFF),
        )
    )
    own = [each for each in found if not any(_covers(span, each) for span in free)]
    return _shots(there, own, (what,))


def _dirty(truth: Truth, found: Iterable[Proposal]) -> Score:
    """Return the score of dirty shots: a mark on others is right where there is some dirt."""
    dirty = [shot for shot in truth.shots if shot.dust >= DIRTY and not shot.is_leader]
    there = [TrueSpan(what="dirt", first=shot.first, stop=shot.stop) for shot in dirty]
    marks = [each for each in found if each.what == "dirt"]
    own = [
        each
        for each in marks
        if any(_covers(span, each) for span in there)
        or dust_of(truth, each.frame, each.frame + each.frames) < DUSTY
    ]
    return _shots(there, own, ("dirt",))


def _covers(span: TrueSpan, found: Proposal) -> bool:
    return overlap(range(span.first, span.stop), range(found.frame, found.frame + found.frames)) >= OVERLAP


def _shots(there: Sequence[TrueSpan], found: Iterable[Proposal], names: Sequence[str]) -> Score:
    """Return the score of what lasts a shot: a proposal belongs to the shot that it lies most in."""
    own = [range(p.frame, p.frame + p.frames) for p in found if p.what in names]
    spans = [range(span.first, span.stop) for span in there]
    return paired(
        spans,
        own,
        lambda a, b: float(overlap(a, b) >= OVERLAP) * overlap(a, b),
        lambda span: f"{names[0]} {span.start} to {span.stop}",
    )


def _frames(there: Iterable[int], found: Iterable[Proposal], names: Sequence[str]) -> Score:
    own = [p.frame for p in found if p.what in names]
    return paired(
        list(there),
        own,
        lambda a, b: float(max(0, NEAR + 1 - abs(a - b))),
        lambda frame: f"{names[0]} {frame}",
    )


def _scratches(truth: Truth, found: Iterable[Proposal]) -> Score:
    """Return the score of scratches: a proposal is one where its place is within 0.02 of the width of it.

    Several proposals may be one scratch, as it breaks off; it is found where they hold half of its frames.
    """
    own = [p for p in found if p.what == "scratch" and p.place is not None]
    score, used = Score(), set[int]()
    for scratch in truth.scratches:
        low, high = min(scratch.columns) - 0.02, max(scratch.columns) + 0.02
        frames: set[int] = set()
        for at, proposal in enumerate(own):
            left, _, wide, _ = proposal.place or (0, 0, 0, 0)
            span = range(
                max(scratch.first, proposal.frame), min(scratch.stop, proposal.frame + proposal.frames)
            )
            if low <= left + wide / 2 <= high and span:
                used.add(at)
                frames.update(span)
        where = f"scratch {scratch.first} to {scratch.stop} at {scratch.columns[0]:.2f}"
        if len(frames) >= GONE * (scratch.stop - scratch.first):
            score += Score(hits=1)
        else:
            score += Score(missed=1, wrong=[f"missed {where} ({len(frames)} frames of it found)"])
    for at, proposal in enumerate(own):
        if at not in used:
            left, _, wide, _ = proposal.place or (0, 0, 0, 0)
            where = f"scratch {proposal.frame} to {proposal.frame + proposal.frames} at {left + wide / 2:.2f}"
            score += Score(made_up=1, wrong=[f"made up {where}"])
    return score


def scores(
    truth: Truth, at_ends: NDArray[np.float64], changes: Iterable[Change], proposals: Sequence[Proposal]
) -> dict[str, Score]:
    """Return all scores of one reel by kind."""
    return {
        "marks": mark_score(truth, proposals),
        **change_scores(truth, changes),
        **drift_scores(truth, proposals),
        **fault_scores(truth, at_ends, proposals),
    }


def main() -> None:
    """Print the table, and with numbers what went wrong."""
    first, stop = map(int, sys.argv[1:3]) if len(sys.argv) > 2 else (1, 11)
    width = int(sys.argv[3]) if len(sys.argv) > 3 else 160
    total: dict[str, Score] = {}
    for number in range(first, stop):
        reel = seeded(number, width)
        frames = reel.truth.frames
        statistics, at_ends = statistics_of(reel)
        scan = ScanRef(path="scan", frames=frames, width=width, height=reel.truth.height)
        opened = OpenedReel(Path("a.reel"), Reel(scan=scan, chain=chain_preset("plain").chain), Catalogue())
        found = survey(opened, statistics)
        for kind, score in scores(reel.truth, at_ends, found.changes, found.proposals).items():
            total[kind] = total.get(kind, Score()) + score
            if len(sys.argv) > 2:
                print(
                    *(f"{number:>3}  {what}" for what in score.wrong), sep="\n", end="\n" * bool(score.wrong)
                )
    print(f"{'':<20}{'found':>7}{'missed':>8}{'made up':>9}{'recall':>8}{'precision':>11}{'F1':>7}")
    for kind, score in total.items():
        row = f"{kind:<20}{score.hits:>7}{score.missed:>8}{score.made_up:>9}"
        print(f"{row}{score.recall:>8.3f}{score.precision:>11.3f}{score.f1:>7.3f}")


if __name__ == "__main__":
    main()
