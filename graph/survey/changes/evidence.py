"""What speaks for a change of shot at every frame: gone through once, and judged by any margin at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from lamphouse.graph.survey.changes.cuts import LEAST, cut_scores
from lamphouse.graph.survey.changes.fades import Fade, fades
from lamphouse.graph.survey.changes.leaders import Leaders, leaders
from lamphouse.graph.survey.changes.likeness import Array, film
from lamphouse.graph.survey.changes.mixes import PLAIN, Mix, mixes
from lamphouse.graph.survey.changes.spans import apart
from lamphouse.graph.survey.look import Change, ChangeKind

if TYPE_CHECKING:
    from lamphouse.graph.media.statistics.statistics import Statistics

PLAIN_END: Final = 5.0  # score of the cut between a leader and the picture (our choice)


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """Scores of what may be changes of shot, each 1 where it is just one. `cuts` has one a frame."""

    cuts: Array
    mixes: tuple[Mix, ...]
    fades: tuple[Fade, ...]
    leaders: Leaders


def evidence(statistics: Statistics) -> Evidence:
    """Return what speaks for changes of shot, by the small pictures of every frame: about 1 ms a frame."""
    small = statistics.rows["small"]
    if len(small) <= 2 * LEAST:
        return Evidence(np.zeros(len(small), np.float32), (), (), Leaders(0, len(small)))
    seen = film(small)
    cuts = cut_scores(seen)
    return Evidence(cuts, tuple(mixes(seen, cuts)), tuple(fades(seen, cuts)), leaders(small))


def changes(evidence: Evidence, margin: float = 1.0) -> tuple[Change, ...]:
    """Return the changes of shot whose score is at least `margin`, in their order; a larger one finds fewer.

    A fade wins over a dissolve that it would make, and either over a cut within it that is not plain. In a
    leader nothing is a change of shot.
    """
    head, tail = evidence.leaders.head, evidence.leaders.tail
    ends = [end for end in {head, tail} if 0 < end < len(evidence.cuts) and margin <= PLAIN_END]
    faded, mixed = _spans(evidence, margin, ends)
    spans: list[Mix | Fade] = [*faded, *mixed]
    found = [_change("fade in" if fade.is_in else "fade out", fade, margin) for fade in faded]
    found += [_change("dissolve", mix, margin) for mix in mixed]
    bare = [end for end in ends if not any(_at(span, [end]) for span in spans)]
    found += [Change(end, "cut", _sure(PLAIN_END, margin)) for end in bare]
    taken = _taken(len(evidence.cuts), ends, spans)
    places = [at for at in _cuts(evidence.cuts, margin) if not taken[at]]
    found += [Change(at, "cut", _sure(float(evidence.cuts[at]), margin)) for at in places]
    seen = [one for one in found if head <= one.frame and one.frame - one.frames <= tail]
    return tuple(sorted(seen, key=lambda one: one.frame))


def _spans(evidence: Evidence, margin: float, ends: Sequence[int]) -> tuple[list[Fade], list[Mix]]:
    """Return the fades and dissolves, none about an end of a leader that is a cut."""
    broken = [end for end in ends if evidence.cuts[end - 1 : end + 2].max() >= margin]
    faded = apart(fade for fade in evidence.fades if fade.score >= margin and not _at(fade, broken))
    mixed = [mix for mix in evidence.mixes if mix.score >= margin and not _is_other(mix, evidence, faded)]
    return faded, [mix for mix in mixed if not _at(mix, broken)]


def _taken(frames: int, ends: Sequence[int], spans: Iterable[Mix | Fade]) -> NDArray[np.bool_]:
    """Return the frames at which no cut is asked for: another change of shot stands there."""
    taken = np.zeros(frames + 1, np.bool_)
    for end in ends:
        taken[max(0, end - LEAST + 1) : end + LEAST] = True
    for span in spans:
        taken[max(0, span.first - 1) : span.stop + 2] = True
    return taken


def _at(span: Mix | Fade, ends: Sequence[int]) -> bool:
    """Return whether an end of a leader falls into `span`, or nearer to it than a shot lasts."""
    return any(span.first - LEAST < end < span.stop + LEAST for end in ends)


def _cuts(scores: Array, margin: float) -> list[int]:
    """Return the frames whose score is the highest of those too near for a shot between them."""
    highest = maximum_filter1d(scores, 2 * LEAST - 1, mode="constant")
    taken: list[int] = []
    for at in np.flatnonzero((scores >= margin) & (scores == highest)):
        if not taken or at - taken[-1] >= LEAST:
            taken.append(int(at))
    return taken


def _is_other(mix: Mix, evidence: Evidence, faded: list[Fade]) -> bool:
    """Return whether what looks like a dissolve is a fade, or has a plain cut within it."""
    if any(_is_within(mix, fade) or _is_within(fade, mix) for fade in faded):
        return True
    return bool(evidence.cuts[mix.first : mix.stop + 1].max(initial=0) >= PLAIN)


def _is_within(one: Mix | Fade, other: Mix | Fade) -> bool:
    """Return whether the middle of `one` is a part of `other`, so that both are the same change."""
    return other.first <= (one.first + one.stop) // 2 < other.stop


def _change(what: ChangeKind, span: Mix | Fade, margin: float) -> Change:
    return Change(int(span.stop), what, _sure(span.score, margin), int(span.stop - span.first))


def _sure(score: float, margin: float) -> float:
    """Return 0.5 at the margin, 0.8 where a change stands out 2.5 times as far (our choice)."""
    return 1 - 0.5 * margin / max(score, margin)
