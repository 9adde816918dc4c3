"""What of a master is older than the grade, by stretches: held against the settings of each single frame."""

import random
from itertools import pairwise

import msgspec
import pytest

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import Made, MasterRecord
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef, Track
from lamphouse.graph.reel.span import Span
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.wanted import stale_ranges
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

FRAMES = 120
GAINS = (0.7, 0.9, 1.1, 1.3)


def reel_of(cues, rate="24", tracks=()):
    scan = ScanRef(path="scan.mkv", frames=FRAMES, width=64, height=48)
    chain = chain_preset("everyday").chain
    return Reel(scan=scan, rate=rate, chain=chain, cues=tuple(cues), tracks=tuple(tracks))


def random_cues(draw):
    places = sorted(draw.sample(range(1, FRAMES), draw.randrange(1, 7)))
    for before, frame in zip([0, *places], places, strict=False):
        length = draw.choice([0, 0, 1, frame - before])
        begins = "transition" if length else "cut"
        yield Cue(frame=frame, begins=begins, length=length, settings={"primary.gain": draw.choice(GAINS)})


def random_tracks(draw):
    """Flicker of some stretch that the first may share with another, and a shaken picture."""
    for parameter in ("exposure.stops", "framing.position_y"):
        keys = tuple((frame, draw.choice((0.0, 0.05, 0.1))) for frame in range(20, 60, draw.choice((1, 7))))
        yield Track(parameter=parameter, frame=20, frames=draw.randrange(1, 60), keys=keys)


def changed(draw, cues):
    """The cues with one given another gain, or taken out."""
    at = draw.randrange(len(cues))
    new = msgspec.structs.replace(
        cues[at], settings={"primary.gain": draw.choice(GAINS), "framing.size": 1.5}
    )
    return [*cues[:at], *([new] if draw.random() < 0.7 else []), *cues[at + 1 :]]


@pytest.fixture
def opened(tmp_path):
    return lambda reel: OpenedReel(tmp_path / "a.reel", reel, Catalogue())


@pytest.fixture
def record_of(opened):
    """A function that gives the record of a master as a pass would have left it."""

    def made(reel, made_of, first=0, stop=FRAMES):
        span, colour = Span(reel, made_of, first, stop), colour_of_pass(made_of, reel.scan)
        with Grade(opened(reel), threads=1) as grade:
            grades = tuple(grade.checksums(span.shown(number), colour) for number in range(span.frames))
        now = Made(when="2000-01-01T00:00:00Z", who="nobody")
        facts = {"made": now, "reel_file": "a.reel", "reel": reel, "delivery": made_of}
        return MasterRecord(**facts, first=first, stop=stop, grades=grades)

    return made


@pytest.mark.parametrize("name", ["scan-ffv1", "hd-29i-ffv1", "hd-25i-ffv1"])
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("has_tracks", [False, True])
def test_what_is_stale_is_each_frame_whose_settings_have_changed(opened, record_of, name, seed, has_tracks):
    draw = random.Random(seed)
    made_of = msgspec.structs.replace(delivery(name, {}), bars=3, black_before=2, black_after=4)
    made_of = msgspec.structs.replace(made_of, cadence="repeat" if name == "hd-25i-ffv1" else made_of.cadence)
    old = list(random_cues(draw))
    before, after = reel_of(old), reel_of(changed(draw, old))
    if has_tracks:
        before, after = (reel_of(r.cues, tracks=random_tracks(draw)) for r in (before, after))
    record = record_of(before, made_of, 7, 101)
    found = stale_ranges(record, opened(after))
    settings = opened(before).settings, opened(after).settings
    others = {at for at in range(FRAMES) if dict(settings[0](at)) != dict(settings[1](at))}
    span = Span(after, made_of, 7, 101)
    meant = {number for number in range(span.frames) if others.intersection(span.shown(number))}
    assert {number for stretch in found for number in stretch} == meant
    assert all(one.stop < other.start for one, other in pairwise(found))


def test_a_reel_that_is_no_longer_the_masters_is_refused_with_what_differs(opened, record_of):
    record = record_of(reel_of([Cue(frame=4)]), delivery("scan-ffv1", {}))
    with pytest.raises(BadInput, match=r"The rate of a.reel is not what the master was made with"):
        stale_ranges(record, opened(reel_of([Cue(frame=4)], rate="25")))
