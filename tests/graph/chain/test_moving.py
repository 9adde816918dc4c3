"""What moves: one program, given numbers every frame, that says what each frame's own program says."""

from pathlib import Path

import numpy as np
import pytest

from lamphouse.graph.chain.moving import MovingProgram
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef, Track
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.trace import INPUT, walk

CATALOGUE = Catalogue()
CODES = np.random.default_rng(3).uniform(-0.1, 1.1, (3, 12, 40)).astype(np.float32)
START = {"primary.gain": 1.2, "white_balance.source": 4300.0, "saturation.amount": 1.1}
END = {
    "primary.gain": 0.8,
    "white_balance.source": 6100.0,
    "saturation.amount": 1.1,
    "curves.red": [[0, 0], [0.4, 0.5], [1, 1]],
    "exposure.stops": 0.5,
}


def _grade(reel, threads=1):
    return Grade(OpenedReel(Path("a.reel"), reel, CATALOGUE), threads)


def _reel(chain, start, end, encoding="video", tracks=()):
    cues = (
        Cue(frame=10, settings=start),
        Cue(frame=40, begins="transition", length=20, ease="soft", settings=end),
    )
    scan = ScanRef(path="s.mkv", encoding=encoding, frames=60, width=40, height=12)
    return Reel(scan=scan, chain=chain_preset(chain).chain, cues=cues, tracks=tracks)


FLICKER = Track(
    parameter="exposure.stops",
    frame=5,
    frames=50,
    keys=tuple((n, 0.3 * (-1) ** n / (1 + n)) for n in range(60)),  # invented
)
SHAKEN = Track(parameter="framing.position_y", frame=0, frames=60, keys=((0, -0.01), (59, 0.01)))


@pytest.mark.parametrize("frame", [9, 10, 20, 21, 27, 39, 40, 59])
@pytest.mark.parametrize(
    ("chain", "encoding", "start", "end"),
    [
        ("everyday", "video", START, END),
        ("everyday", "density", {}, END),
        ("everyday", "light", END, {}),
        ("negative", "density", {"film_base.contrast": 1.5}, {"printer_lights.points": [3, 0, -2]}),
        (
            "sky",
            "srgb",
            {"sky_line.full": 0.1, "sky_line.clear": 0.3, "sky.gain": 0.7, "sky_blend.amount": 1.0},
            {"sky_line.full": 0.4, "sky_line.clear": 0.9, "sky.gain": 0.6, "sky_blend.amount": 0.0},
        ),
    ],
)
def test_a_frame_on_the_way_is_what_its_settings_say(frame, chain, encoding, start, end):
    with _grade(_reel(chain, start, end, encoding)) as grade, NumpyRun(1) as definition:
        made = grade.correct(frame, CODES)
        exact = definition.run(grade.program(frame), {SCAN: CODES.astype(np.float64)})
    np.testing.assert_allclose(made, exact, atol=1e-5)


@pytest.mark.parametrize("frame", [4, 12, 30, 55])
@pytest.mark.parametrize("encoding", ["video", "density", "srgb"])
def test_a_frame_that_a_track_moves_is_what_its_settings_say(frame, encoding):
    with _grade(_reel("everyday", START, END, encoding, (FLICKER, SHAKEN))) as grade, NumpyRun(1) as run:
        made = grade.correct(frame, CODES)
        exact = run.run(grade.program(frame), {SCAN: CODES.astype(np.float64)})
        without = _grade(_reel("everyday", START, END, encoding)).program(frame)
        as_before = run.run(without, {SCAN: CODES.astype(np.float64)})
    np.testing.assert_allclose(made, exact, atol=1e-5)
    assert (frame in (4, 55)) == np.allclose(exact, as_before)


def test_where_only_the_picture_is_moved_its_colours_are_made_as_without():
    with (
        _grade(_reel("everyday", START, END, tracks=(SHAKEN,))) as moved,
        _grade(_reel("everyday", START, END)) as still,
    ):
        for frame in (4, 15, 30):
            assert moved.correct(frame, CODES).tobytes() == still.correct(frame, CODES).tobytes()
            assert moved.framing(frame).position_y == pytest.approx(-0.01 + 0.02 * frame / 59)
            assert moved.checksum(frame) != still.checksum(frame)


def test_nothing_is_compiled_from_frame_to_frame_of_a_track(tmp_path, monkeypatch):
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path))
    with _grade(_reel("everyday", {}, END, tracks=(FLICKER, SHAKEN)), 2) as grade:
        grade.correct(10, CODES)
        kept = sorted(tmp_path.rglob("*.o"))
        pictures = [grade.correct(frame, CODES).tobytes() for frame in range(11, 21)]
        assert sorted(tmp_path.rglob("*.o")) == kept != []
    assert len(set(pictures)) == len(pictures)


def test_both_back_ends_take_the_numbers_of_a_transition(tmp_path):
    reel = _reel("everyday", START, END)
    controls = Controls(reel.chain, CATALOGUE)
    start, end = (controls.effective(controls.check(s, "")) for s in (START, END))
    moving = MovingProgram(Program(reel.chain, "video", CATALOGUE), start, end)
    with NumpyRun(1) as definition, _grade(reel) as grade:
        settings = grade.cues.at(30)
        exact = definition.run(
            moving.expression, {SCAN: CODES.astype(np.float64)}, inputs=moving.inputs(settings)
        )
        np.testing.assert_allclose(grade.correct(30, CODES), exact, atol=1e-5)


def test_only_what_moves_stays_an_input():
    reel = _reel("everyday", START, END)
    controls = Controls(reel.chain, CATALOGUE)
    start, end = (controls.effective(controls.check(s, "")) for s in (START, END))
    moving = MovingProgram(Program(reel.chain, "video", CATALOGUE), start, end)
    nodes = {step.name.split(".")[0] for step in walk(moving.expression) if step.primitive == INPUT}
    assert nodes == {"primary", "white_balance", "curves", "exposure"}


def test_nothing_is_compiled_between_the_first_and_the_last_frame_of_a_transition(tmp_path, monkeypatch):
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path))
    with _grade(_reel("everyday", {}, END), 2) as grade:
        grade.correct(21, CODES)
        kept = sorted(tmp_path.rglob("*.o"))
        pictures = [grade.correct(frame, CODES).tobytes() for frame in range(22, 40)]
        assert sorted(tmp_path.rglob("*.o")) == kept != []
    assert len(set(pictures)) == len(pictures)
