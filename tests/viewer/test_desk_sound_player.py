"""The sound played: by real threads on a device that is none, and what the desk says where it cannot be."""

import threading
import time
from fractions import Fraction

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.edits.sound import Offset, with_offset, with_rate
from lamphouse.graph.media.sound.read import Places
from lamphouse.graph.reel.records import SoundRef
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.hearing import Hearing
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.sound.desk_sound import DeskSound
from lamphouse.viewer.sound.device import Device, NoDevice
from lamphouse.viewer.sound.player import Player
from lamphouse.viewer.sound.scrub import Scrub, Scrubbing
from lamphouse.viewer.sound.voice import FADE

HERTZ = 48000
FADED = HERTZ // FADE
BLOCK = 1920  # samples


class Silent(Device):
    """The library's own device that is none, which asks in real time."""

    def __init__(self, rate, channels):
        import miniaudio

        super().__init__(rate, channels, [miniaudio.Backend.NULL])
        self.blocks, self.starts, self.is_resting = [], 0, True

    def start(self, fill):
        self.starts += 1
        self.is_resting = False

        def kept(count):
            self.blocks.append(fill(count))
            return self.blocks[-1]

        super().start(kept)

    def stop(self):
        super().stop()
        self.is_resting = True


@pytest.fixture
def wave(tmp_path):
    """Ten seconds in which every sample is its place, as a share of full scale."""
    path = tmp_path / "places.wav"
    soundfile.write(path, np.arange(10 * HERTZ) / (1 << 20), HERTZ, subtype="PCM_24")
    return path


class Playing:
    """A player on a device that is none."""

    def __init__(self, path, speed=1, **more):
        pytest.importorskip("miniaudio")
        self.devices, self.told = [], threading.Event()
        more = {"open_device": self._open} | more
        self.player = Player(path, Fraction(25), Fraction(speed), self.told.set, **more)

    def _open(self, rate, channels):
        self.devices.append(Silent(rate, channels))
        return self.devices[-1]

    @property
    def blocks(self):
        return self.devices[0].blocks if self.devices else []

    def until(self, is_so):
        end = time.monotonic() + 10
        while not is_so():
            assert time.monotonic() < end
            time.sleep(0.005)


@pytest.fixture
def playing(wave):
    made = Playing(wave)
    yield made
    made.player.close()


def test_a_real_device_hears_the_sound_in_its_order_and_rests_with_the_picture(playing):
    now = time.monotonic_ns()
    standing = Transport(250, Fraction(25)).go_to(25, now)
    playing.player.follow(standing, is_on=True)
    moving = standing.play(time.monotonic_ns())
    playing.player.follow(moving, is_on=True)
    playing.until(lambda: sum(bool(block.any()) for block in list(playing.blocks)) > 6)
    playing.player.follow(moving.stop(time.monotonic_ns()), is_on=True)
    blocks = playing.blocks
    playing.until(lambda: not blocks[-1].any())
    heard = np.rint(np.concatenate(blocks, axis=1)[0] * (1 << 20)).astype(int)
    first = np.flatnonzero(heard)[0]
    whole = heard[first + FADED : first + FADED + 4 * BLOCK]
    # From frame 25 on, one after another; the device's own 80 ms are passed over, not played late.
    assert HERTZ + BLOCK < whole[0] < HERTZ + 25 * BLOCK
    assert (np.diff(whole) == 1).mean() > 0.9  # all of it, where this machine is not late
    playing.until(lambda: playing.devices[0].is_resting)
    asked = len(blocks)
    time.sleep(0.2)
    assert len(blocks) == asked
    playing.player.follow(standing.play(time.monotonic_ns()), is_on=True)
    playing.until(lambda: bool(blocks[-1].any()))
    assert (playing.devices[0].starts, len(playing.devices)) == (2, 1)
    began = time.monotonic()
    playing.player.close()
    assert time.monotonic() - began < 0.9


def test_sound_of_another_speed_is_heard_at_that_of_the_film_and_moves_while_it_plays(wave):
    playing = Playing(wave, speed=Fraction(24, 25))  # recorded at 25 frames a second, and run at 24
    moving = Transport(250, Fraction(24)).go_to(50, time.monotonic_ns()).play(time.monotonic_ns())

    def ends():
        """The place in the file of the last sample of each block that sounds."""
        return [float(block[0, -1]) * (1 << 20) for block in list(playing.blocks) if block[0, -1]]

    # A frame is 1920 samples of the file; frame 50 is the sound's 160th, and then its 50th.
    playing.player.follow(moving, Fraction(-110), is_on=True)
    playing.until(lambda: ends() and ends()[-1] > 160 * 1920)
    playing.player.follow(moving, Fraction(0), is_on=True)
    playing.until(lambda: 50 * 1920 < ends()[-1] < 160 * 1920)
    playing.player.close()
    sounding = max(playing.blocks, key=lambda block: block[0, -1])[0]
    assert np.median(np.diff(sounding.astype(float))) * (1 << 20) == pytest.approx(0.96, abs=0.05)


def test_switched_off_nothing_sounds_and_a_reel_that_stands_opens_no_device(playing):
    standing = Transport(250, Fraction(25))
    playing.player.follow(standing, is_on=True)
    playing.player.follow(standing.play(time.monotonic_ns()), is_on=False)
    playing.player.follow(standing.run(4, time.monotonic_ns()), is_on=True)
    playing.player.close()
    assert playing.devices == []


def test_a_damaged_or_missing_file_is_one_sentence_and_silence_until_it_is_mended(wave, tmp_path):
    whole = wave.read_bytes()
    for bad in (None, b"RIFF, or so it says"):
        wave.unlink() if bad is None else wave.write_bytes(bad)
        playing = Playing(wave)
        moving = Transport(250, Fraction(25)).play(time.monotonic_ns())
        playing.player.follow(moving, is_on=True)
        assert playing.told.wait(10)
        assert "places.wav" in playing.player.trouble
        assert playing.player.is_about_file
        wave.write_bytes(whole)
        playing.player.follow(moving, is_on=True)
        playing.player.follow(moving, is_on=False)
        assert playing.player.trouble == ""
        playing.player.follow(moving, is_on=True)
        playing.until(lambda: any(block.any() for block in playing.blocks))  # noqa: B023
        playing.player.close()


def test_no_device_and_one_that_goes_away_are_a_sentence(wave):
    tries = []

    def none(rate, channels):
        tries.append(rate)
        raise NoDevice("No sound device was found.")

    playing = Playing(wave, open_device=none)
    moving = Transport(250, Fraction(25)).play(time.monotonic_ns())
    playing.player.follow(moving, is_on=True)
    assert playing.told.wait(10)
    assert (playing.player.trouble, playing.player.is_about_file) == ("No sound device was found.", False)
    playing.player.follow(moving.play(time.monotonic_ns()), is_on=True)
    playing.player.close()
    assert tries == [HERTZ]  # not looked for again before the sound is switched off and on
    playing = Playing(wave)
    playing.player.follow(moving, is_on=True)
    playing.until(lambda: playing.blocks)
    playing.devices[0].is_gone = True
    assert playing.told.wait(10)
    assert playing.player.trouble == "The sound device is gone."
    playing.player.close()


def test_without_the_library_there_is_no_device(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "miniaudio", None)
    with pytest.raises(NoDevice, match="No sound device was found"):
        Device(HERTZ, 2)


@pytest.fixture
def desk_with(desk):
    """A desk whose reel has a sound of that name."""

    def made(name):
        reel = msgspec.structs.replace(desk.reel, sound=SoundRef(path=name) if name else None)
        return Desk(desk.opened.with_reel(reel))

    return made


def test_the_desk_says_what_is_wrong_with_the_sound_until_it_is_switched_off(desk_with):
    desk, told = desk_with("gone.wav"), threading.Event()
    heard = DeskSound(desk, told.set)
    desk.play(time.monotonic_ns())
    heard.follow(desk, is_on=True)
    assert told.wait(10)
    found = heard.follow(desk, is_on=True)
    assert (found.word, found.reason.startswith("There is no sound file")) == ("no sound", True)
    assert "There is no sound file" in desk.troubles.of("sound")
    assert desk.message == ""
    assert heard.follow(desk, is_on=False).word == "muted"
    assert desk.troubles.lines == ()
    heard.close()


def test_the_desk_finds_the_pip_and_opens_the_sound_anew_when_its_speed_changes(desk_with, tmp_path):
    samples = np.zeros(HERTZ)
    samples[HERTZ // 2 :][:2000] = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(2000) / HERTZ)
    soundfile.write(tmp_path / "pip.wav", samples, HERTZ)
    desk, told = desk_with("pip.wav"), threading.Event()
    heard = DeskSound(desk, told.set)
    assert told.wait(10)
    heard.follow(desk, is_on=True)
    assert abs(desk.pip - Fraction(1, 2)) < Fraction(1, 1000)
    before = heard._heard
    desk.edit(lambda reel: with_offset(reel, Offset(3)))
    heard.follow(desk, is_on=True)
    assert heard._heard is before
    desk.edit(lambda reel: with_rate(reel, "25"))
    heard.follow(desk, is_on=True)
    assert heard._heard is not before
    heard.close()


def test_a_reel_without_sound_says_so_and_starts_nothing(desk_with):
    desk, before = desk_with(""), threading.active_count()
    heard = DeskSound(desk, lambda: None)
    found = heard.follow(desk, is_on=True)
    assert (found.word, found.reason.startswith("This reel has no sound")) == ("no sound", True)
    assert threading.active_count() == before
    heard.close()


def test_the_button_switches_the_sound_and_says_when_there_is_none(hand, items):
    def click(label):
        left, top, right, bottom = items[label]
        hand.click((left + right) / 2, (top + bottom) / 2)
        hand.frame()

    hand.frame()
    click("sound##sound")
    assert not hand.panels.hears
    hand.frame()
    click("muted##sound")
    assert hand.panels.hears
    hand.heard = Hearing("no device", "No sound device was found.")
    hand.frame(2)
    items.clear()
    hand.frame()
    assert "no device##sound" in items
    assert "sound##sound" not in items


def test_at_another_speed_than_the_film_s_own_it_is_silent_and_says_so(desk_with, wave):
    desk, found = desk_with("places.wav"), {}
    heard = DeskSound(desk, lambda: None)
    for speed in (1, -1, Fraction(1, 4), 10, -2):
        desk.transport = desk.transport.go_to(20, 0).run(speed, 0)
        found[speed] = heard.follow(desk, is_on=True)
    heard.close()
    assert [hearing.word for hearing in found.values()] == ["sound", "sound", "silent", "silent", "silent"]
    assert found[Fraction(1, 4)].reason.endswith("and frame by frame: not at 0.25 times it.")


def test_a_step_sounds_the_frame_that_it_goes_to_once_and_backwards_the_way_it_was_gone(playing):
    clock = time.monotonic_ns
    standing = Transport(250, Fraction(25)).go_to(25, clock())
    playing.player.follow(standing, is_on=True)
    forth = standing.step(1, clock())
    playing.player.follow(forth, is_on=True)
    playing.until(lambda: playing.blocks and any(block.any() for block in list(playing.blocks)))
    playing.until(lambda: not playing.blocks[-1].any())
    first = heard_places(playing.blocks)
    back = forth.step(-1, clock())
    before = len(playing.blocks)
    playing.player.follow(back, is_on=True)
    playing.until(lambda: any(block.any() for block in list(playing.blocks)[before:]))
    playing.until(lambda: not playing.blocks[-1].any())
    second = heard_places(list(playing.blocks)[before:])
    # Frame 26 is samples 49920 to 51840 of the file, and frame 25 those before; fades are left out.
    middle = slice(FADED + 50, -FADED - 50)
    assert (np.diff(first[middle]) == 1).all()
    assert (np.diff(second[middle]) == -1).all()
    assert 49920 <= first[middle].min() <= first[middle].max() < 51840
    assert 48000 <= second[middle].min() <= second[middle].max() < 49920
    assert len(first) == pytest.approx(BLOCK + FADED, abs=2)
    playing.until(lambda: playing.devices[0].is_resting)


class AtHand:
    """A sound of which all is there."""

    def fetch(self, start, stop):
        return np.zeros((1, stop - start), np.float32)


@pytest.mark.parametrize("way", [1, -1])
def test_a_frame_is_heard_to_its_last_sample_and_no_farther_whatever_blocks_a_device_asks_for(way):
    places, scrubbing = Places(Fraction(0), Fraction(25), HERTZ), Scrubbing()
    scrub, heard = Scrub(26, way, 1), []
    for count in (5, 700, 1210, 5, 480):
        if (segment := scrubbing.due(scrub, count, places, AtHand())) is not None:
            heard += list(segment.sample + way * np.arange(min(count, segment.room)))
    start, stop = 26 * BLOCK, 27 * BLOCK
    assert heard == list(range(start, stop) if way > 0 else range(stop, start, -1))
    assert scrubbing.heard == 1


def heard_places(blocks):
    """The places in the file of all samples that sounded, in the order in which they did."""
    samples = np.concatenate(list(blocks), axis=1)[0]
    return np.rint(samples[samples != 0] * (1 << 20)).astype(int)


def test_moving_the_sound_of_a_reel_that_stands_sounds_its_frame_anew_and_as_loud_as_is_set(playing):
    standing = Transport(250, Fraction(25)).go_to(25, time.monotonic_ns())
    playing.player.follow(standing, is_on=True)
    playing.player.follow(standing, Fraction(-5), is_on=True, level=-6.0206)
    playing.until(lambda: playing.blocks and any(block.any() for block in list(playing.blocks)))
    playing.until(lambda: not playing.blocks[-1].any())
    heard = heard_places(playing.blocks)
    assert heard.max() == pytest.approx(31 * BLOCK / 2, abs=FADED)  # frame 30 of it, at half its height
