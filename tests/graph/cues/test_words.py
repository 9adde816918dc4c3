"""A cue as the terminal, the strip and the report say it. The words are ours."""

import pytest

from lamphouse.graph.cues.words import beginning_text, settings_text
from lamphouse.graph.reel.records import Cue

DRAWN = ((0.0, 0.0), (0.5, 0.7), (1.0, 1.0))


@pytest.mark.parametrize(
    ("cue", "text"),
    [
        (Cue(frame=3, length=60), "cut"),
        (Cue(frame=90, begins="transition", length=60), "transition of 60 frames, soft"),
        (Cue(frame=90, begins="transition", length=7, ease=DRAWN), "transition of 7 frames, drawn"),
    ],
)
def test_how_a_cue_begins_is_said_with_its_length_and_easing(cue, text):
    assert beginning_text(cue) == text


def test_settings_are_said_as_a_person_would_type_them_and_on_one_line():
    settings = {"primary.gain": 1.2, "primary.lift_balance": (0.1, 0.0, -0.1), "odd.\n": "a"}
    text = settings_text(Cue(frame=3, settings=settings))
    assert text.startswith("primary.gain=1.2 primary.lift_balance=0.1,0,-0.1 odd.")
    assert "\n" not in text
