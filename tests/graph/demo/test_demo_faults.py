"""A fault of the demo reel is the inverse of the settings that its truth states."""

import numpy as np
import pytest

from lamphouse.graph.demo.faults import Change, Primary
from lamphouse.graph.demo.story import roll


def graded(video, settings):
    """Return the picture under a primary, its formula (ours) written out."""
    lift = settings.lift + np.reshape(settings.lift_balance, (3, 1, 1))
    gain = settings.gain * np.reshape(settings.gain_balance, (3, 1, 1))
    gamma = settings.gamma * np.reshape(settings.gamma_balance, (3, 1, 1))
    y = gain * (video + lift * (1 - video))
    return np.sign(y) * np.abs(y) ** (1 / gamma)


@pytest.mark.parametrize("shot", roll().shots, ids=lambda shot: shot.name)
def test_the_stated_settings_return_the_clean_picture(shot):
    clean = np.random.default_rng(3).uniform(0.02, 0.80, (3, 8, 8)).astype(np.float32)
    spoilt = shot.fault.apply(clean, 0)
    assert graded(spoilt, shot.fault.undo) == pytest.approx(clean, abs=2e-5)
    assert spoilt.min() >= 0
    assert spoilt.max() <= 1


def test_the_light_change_passes_from_its_first_settings_to_its_last_by_equal_ratios():
    change = Change(Primary(gain=2.0), Primary(gain=0.5, gain_balance=(4.0, 1.0, 1.0)), 10, 20)
    assert [change.at(frame).gain for frame in (0, 10, 15, 20, 99)] == pytest.approx([2, 2, 1, 0.5, 0.5])
    assert change.share(12) == pytest.approx(0.104)  # 3 t^2 - 2 t^3 at 0.2
    assert change.at(15).gain_balance == pytest.approx((2.0, 1.0, 1.0))


def test_every_frame_of_the_light_change_can_be_undone():
    shot = next(shot for shot in roll().shots if shot.fault.change is not None)
    clean = np.full((3, 2, 2), 0.5, np.float32)
    for frame in range(0, shot.frames, 7):
        spoilt = shot.fault.apply(clean, frame)
        assert graded(spoilt, shot.fault.change.at(frame)) == pytest.approx(clean, abs=1e-6)
    assert 0 < shot.fault.change.start < shot.fault.change.stop < shot.frames
