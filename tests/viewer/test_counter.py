"""What is seen, what the counters say, what is graded and where a cue is set are one frame, whatever happens.

A scan has each frame's number burnt in, as sixteen black or white fields. It is played, stepped, wound and
looped at random while other programs take the processors; it has a working copy. All invented.
"""

import math
import os
import random
import time
from contextlib import closing
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from lamphouse.graph.media.master.master import open_master
from lamphouse.graph.media.working_copy.copy import working_copy_of
from lamphouse.graph.media.working_copy.make import make_working_copy
from lamphouse.graph.media.working_copy.wanted import Wanted
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Delivery, Reel, ScanRef
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.commands.command import Press
from lamphouse.viewer.models.desk import Desk

FRAMES, BITS, WIDE, HIGH = 400, 16, 128, 96
GREY = 0.4
# A thousand take some minutes: LAMPHOUSE_MOMENTS=1000.
BESIDE = 1 if os.environ.get("CI") else 2  # others want the processors there too
MOMENTS, TURNS = int(os.environ.get("LAMPHOUSE_MOMENTS", "20")), 20_000
MADE = Delivery(container="matroska", codec="ffv1", pixel_format="yuv444p10le")
KEYS = ("space", "j", "j", "k", "l", "l", "left", "right", "page_down", "home", "end", "r", "enter", "c", "t")


def burnt(number):
    fields = [0.2 + 0.6 * (number >> bit & 1) for bit in range(BITS)]
    top = np.repeat(fields, WIDE // BITS)
    picture = np.full((3, HIGH, WIDE), GREY, np.float32)
    picture[:, : HIGH // 2] = top
    return picture


@pytest.fixture
def counted_reel(tmp_path):
    path = tmp_path / "numbers.mkv"
    facts = {"rate": Fraction(25), "timecode": "10:00:00:00", "pixel_aspect": Fraction(1)}
    with open_master(path, MADE, width=WIDE, height=HIGH, **facts) as master:
        for n in range(FRAMES):
            master.write(burnt(n))
        master.finish()
    cues = (
        Cue(frame=0, settings={"primary.gain": 0.8}),
        Cue(frame=FRAMES - 1, begins="transition", length=FRAMES - 1, settings={"primary.gain": 1.2}),
    )
    scan = ScanRef(path=str(path), frames=FRAMES, width=WIDE, height=HIGH)
    reel = Reel(scan=scan, chain=chain_preset("everyday").chain, cues=cues)
    save(tmp_path / "numbers.reel", reel)
    return tmp_path / "numbers.reel"


class Sitting:
    """A real desk without a screen, and a hand that presses keys."""

    def __init__(self, window, session):
        self.window, self.session, self.pressed = window, session, ()
        self.desk, begin = session.desk, window.begin

        def with_keys():
            pressed, self.pressed = self.pressed, ()
            return replace(begin(), pressed=tuple(Press(name) for name in pressed))

        window.begin = with_keys

    def number(self):
        """The frame's number and its grey as they were drawn."""
        graded = self.session.display.painter.graded.read()[1]
        gain = float(graded[3 * HIGH // 4, WIDE // 2]) / GREY
        middles = graded[HIGH // 4, WIDE // BITS // 2 :: WIDE // BITS] / gain
        return sum(int(field > 0.5) << bit for bit, field in enumerate(middles)), gain

    def check(self):
        desk, (number, gain) = self.desk, self.number()
        assert number == desk.frame == self.session.loop.state.sight.frame
        assert desk.readings() == counter(desk.reel).readings(number)
        assert math.isclose(gain, desk.cues.at(number)["primary.gain"], rel_tol=0.01)


@pytest.fixture
def sitting(counted_reel, unseen):
    from lamphouse.viewer.window.session import Session

    window = unseen((1024, 640))
    opened = open_reel(counted_reel, Catalogue())
    make_working_copy(working_copy_of(opened.reel.scan, opened.scan_path), opened.open_scan)
    desk = Desk(opened)
    with window, closing(Session(window, desk)) as session:
        session.panels.preferred.change(reaction="0 frames")
        session.panels.copying.wanted = Wanted()
        yield Sitting(window, session)


@pytest.mark.slow
def test_at_random_moments_all_is_of_the_frame_that_is_seen(sitting, busy_beside):
    session, desk, chance = sitting.session, sitting.desk, random.Random(15)
    checked, seen, kinds = 0, None, set()
    with busy_beside(BESIDE):
        for _ in range(TURNS):
            key = chance.choice(KEYS) if chance.random() < 0.15 else None
            sitting.pressed = (key,) if key else ()
            cues = {cue.frame for cue in desk.reel.cues}
            on_screen = sitting.number()[0] if session.loop.state.drawn is not None else None
            session.turn(is_woken=key is not None)
            if key == "c" and (new := {cue.frame for cue in desk.reel.cues} - cues):
                assert new == {on_screen}
                desk.undo()
                session.turn()
            sight = session.loop.state.sight
            if session.loop.state.drawn is None or sight is None or sight.number == seen:
                time.sleep(0.002)
                continue
            sitting.check()
            seen, checked = sight.number, checked + 1
            kinds.add(sight.is_copy)
            if checked == MOMENTS:
                break
    assert checked == MOMENTS
    assert kinds == {True, False}
