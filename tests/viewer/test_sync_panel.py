"""The sound's place beside the film at the desk: nudged, typed, by its pip, undone. Sounds are invented."""

from fractions import Fraction

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.reel.records import SoundRef
from lamphouse.graph.reel.sound_place import sound_place
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.sounding import advance_sound, pip_frame, type_offset

HERTZ = 44100


@pytest.fixture
def desk(desk, tmp_path):
    """A desk of 16 mm film at 24 frames a second, whose sound was recorded at 25."""
    soundfile.write(tmp_path / "sound.wav", np.zeros(HERTZ), HERTZ)
    sound = SoundRef(path="sound.wav", rate="25")
    return Desk(desk.opened.with_reel(msgspec.structs.replace(desk.reel, sound=sound, gauge="16mm")))


def begins(desk):
    return sound_place(desk.reel).begins


def test_keys_move_the_sound_by_a_frame_and_by_a_millisecond_each_a_step_to_undo(hand, desk):
    hand.keys("up", "up", "down", "up")
    assert begins(desk) == 2
    hand.keys("up", "up", "down", "up", is_control=True)
    assert begins(desk) == 2 + Fraction(2, 1000) * 25
    hand.keys("z", is_control=True)
    assert begins(desk) == 2 + Fraction(1, 1000) * 25
    for _ in range(7):
        desk.undo()
    assert begins(desk) == 0


def test_a_pip_is_put_on_the_frame_that_is_seen_and_followed(hand, desk):
    assert pip_frame(desk) is None
    hand.keys("p")
    assert "No sync pip was found" in desk.message
    desk.pip = Fraction(1, 2)
    assert pip_frame(desk) == 12  # 12.5 frames of 25 a second
    desk.go_to(30, hand.now)
    hand.frame(2)
    hand.keys("p")
    assert begins(desk) == Fraction(35, 2)
    assert pip_frame(desk) == 30
    desk.edit(lambda reel: msgspec.structs.replace(reel, sound=None))
    assert pip_frame(desk) is None


def test_an_offset_is_typed_and_an_advance_is_taken_by_the_gauge(desk):
    type_offset(desk, "-26f +441 samples")
    assert begins(desk) == -26 + Fraction(441, HERTZ) * 25
    type_offset(desk, "soon")
    assert "is not an offset of sound" in desk.message
    advance_sound(desk, "optical")
    assert (begins(desk), desk.message) == (26, "")
    desk.undo()
    assert begins(desk) == -26 + Fraction(441, HERTZ) * 25


def test_the_panel_says_where_the_sound_lies_and_moves_it(hand, desk, items):
    def click(label):
        left, top, right, bottom = items[label]
        hand.click((left + right) / 2, (top + bottom) / 2)
        hand.frame()

    hand.frame()
    click("sync")
    click("frame later")
    click("ms earlier")
    assert begins(desk) == 1 - Fraction(1, 1000) * 25
    click("magnetic +28")
    assert begins(desk) == 28
    click("##offset")
    hand.type("-3f")
    hand.key("enter")
    assert begins(desk) == -3
    desk.pip = Fraction(1)
    desk.go_to(5, hand.now)
    hand.frame(2)
    click("go to it")
    assert desk.frame == 22
    click("frame later")
    click("sync pip here")
    assert begins(desk) == -3


def test_without_sound_there_is_nothing_to_move(hand, desk):
    desk.edit(lambda reel: msgspec.structs.replace(reel, sound=None))
    hand.frame()
    hand.keys("up")
    assert "has no sound" in desk.message
