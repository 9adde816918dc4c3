"""`tracks` as it is typed. Keys are invented."""

import json
from pathlib import Path

import msgspec
import pytest

from lamphouse.graph.reel.records import Track
from lamphouse.graph.reel.store import change, load

STOPS, POSITION = "it.stops", "framing.position_x"
# Even from 0 to 0.2, a little off it at 2: with 0.01 that key is not needed.
KEYS = ((0, 0.0), (2, 0.105), (4, 0.2), (5, -0.1))


@pytest.fixture
def reel(reel_with):
    """A reel of two tracks, over the frames 0 to 5 and 3 to 5 of a longer film that its scan would have."""
    path = reel_with("exposure")
    tracks = (
        Track(parameter=STOPS, frame=0, frames=6, keys=KEYS, name="flicker"),
        Track(parameter=POSITION, frame=3, frames=3, keys=((3, 0.01),)),
    )
    change(path, lambda reel: msgspec.structs.replace(reel, tracks=tracks))
    return path


def test_tracks_are_shown_with_their_place_and_extent(reel, typed):
    status, told, _ = typed("tracks", reel)
    assert (status, len(told.splitlines())) == (0, 2)
    assert "it.stops  6 frames, 4 keys from -0.1 to 0.2  flicker" in told
    assert len(typed("tracks", reel, 0)[1].splitlines()) == 1
    assert "framing.position_x" in typed("tracks", reel, "--of", POSITION)[1]


def test_json_holds_each_key(reel, typed):
    (track,) = json.loads(typed("tracks", reel, "--of", STOPS, "--json")[1])["tracks"]
    assert track["keys"] == [list(key) for key in KEYS]
    assert (track["frame"], track["frames"], track["is_on"]) == (0, 6, True)


def test_one_is_switched_thinned_and_removed(reel, typed):
    assert ", off" in typed("tracks", reel, 0, "--off")[1]
    assert [track.is_on for track in load(Path(reel)).tracks] == [False, True]
    assert ", off" not in typed("tracks", reel, "--on")[1]
    assert "3 keys" in typed("tracks", reel, 0, "--thin", 0.01)[1]
    assert load(Path(reel)).tracks[0].keys == (KEYS[0], *KEYS[2:])
    assert typed("tracks", reel, "--of", STOPS, "--remove")[1].startswith("removed")
    assert [track.parameter for track in load(Path(reel)).tracks] == [POSITION]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--on", "--remove"], "Tracks cannot be changed by --on and --remove at once; give one."),
        (["--of", "it.stop"], "did you mean it.stops"),
        (["--thin", "-1"], "give an error of 0 or more"),
        ([0, "--of", POSITION, "--off"], "No track lies there; nothing was changed."),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(reel, typed, words, sentence):
    before = Path(reel).read_bytes()
    status, _, told = typed("tracks", reel, *words)
    assert (status, sentence in told) == (2, True), told
    assert Path(reel).read_bytes() == before


def test_a_reel_without_tracks_says_so(reel_with, typed):
    assert typed("tracks", reel_with("exposure"))[1] == "No parameter of this reel moves by a track.\n"
