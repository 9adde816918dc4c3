"""What is not saved survives a crash: written at rest and every few seconds, offered once, then gone."""

import pytest

from lamphouse.graph.store import load
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.desk import Desk
from lamphouse.viewer.recovery import AT_REST, BETWEEN, Recovery


@pytest.fixture
def changed(desk):
    """A desk with a change that is not saved."""
    desk.go_to(10, 0)
    desk.set({"primary.gain": 1.7})
    return desk


def test_a_change_is_kept_once_the_hand_rests(changed):
    recovery = changed.recovery
    recovery.keep(changed.reel, BETWEEN)
    written = recovery.path.stat().st_mtime_ns
    recovery.keep(changed.reel, 20 * BETWEEN)
    assert recovery.path.stat().st_mtime_ns == written
    assert recovery.wait(changed.reel, 20 * BETWEEN) is None


def test_while_the_hand_goes_on_it_is_kept_every_few_seconds(changed):
    recovery, now, kept = changed.recovery, 10 * BETWEEN, []
    for n in range(200):
        changed.set({"primary.gain": 1.0 + n / 500}, drag="primary.gain")
        now += AT_REST // 7
        recovery.keep(changed.reel, now)
        if recovery.path.exists():
            kept.append(recovery.path.stat().st_mtime_ns)
    assert 3 <= len(set(kept)) <= 6


def test_the_next_start_offers_what_was_left_and_saving_removes_it(changed, reel_file):
    changed.recovery.keep(changed.reel, BETWEEN)
    again = Desk(reel_file, load(reel_file), changed.catalogue)
    left = again.recovery.offered()
    assert left == changed.reel
    again.recover(left)
    assert again.save()
    assert not again.recovery.path.exists()
    assert Recovery(reel_file, load(reel_file)).offered() is None


def test_what_equals_the_reel_is_not_offered_and_what_is_damaged_is_said(changed, reel_file):
    changed.recovery.path.write_bytes(reel_file.read_bytes())
    assert changed.recovery.offered() is None
    changed.recovery.path.write_text("{")
    with pytest.raises(BadInput, match=r"cat\.reel\.recovery"):
        changed.recovery.offered()


def test_what_is_not_gone_on_with_is_set_aside_and_not_written_over(changed, reel_file):
    changed.recovery.keep(changed.reel, BETWEEN)
    left = changed.recovery.path.read_bytes()
    again = Desk(reel_file, load(reel_file), changed.catalogue)
    again.set_aside()
    assert again.said == "What an earlier run left is kept as cat.reel.recovery.1."
    again.set({"primary.gain": 1.1})
    again.recovery.keep(again.reel, 2 * BETWEEN)
    assert reel_file.with_name("cat.reel.recovery.1").read_bytes() == left
    assert again.recovery.path.read_bytes() != left
    again.set_aside()
    assert reel_file.with_name("cat.reel.recovery.2").exists()
    again.set_aside()
    assert "cannot be renamed" in again.said
