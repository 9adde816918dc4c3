"""What a new reel holds of its scan and of what a person says; media that have moved. All is invented."""

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import OpenImageIO as oiio
import pytest
import soundfile

from lamphouse.graph.edits.media import with_scan, with_sound
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.scan.fixity import fixity_of
from lamphouse.graph.reel.presets import chain_preset, stock_preset
from lamphouse.graph.reel.records import Cue, Reel, ScanRef, SoundRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput


@pytest.fixture
def stills(tmp_path):
    """A folder of three grey stills, 8 by 6."""
    folder = tmp_path / "stills"
    folder.mkdir()
    for number in range(3):
        path = str(folder / f"a_{number}.tif")
        out = oiio.ImageOutput.create(path)
        assert out.open(path, oiio.ImageSpec(8, 6, 3, "uint16"))
        out.write_image(np.full((6, 8, 3), 1000, np.uint16))
        out.close()
    return folder


def started(stills, **said):
    return start_reel(stills.parent / "a.reel", Start(**{"scan": stills, "rate": "18"} | said)).reel


def test_a_reel_begins_with_what_the_scan_is_and_one_neutral_cue_at_its_start(stills):
    reel = started(stills)
    assert reel == Reel(
        scan=ScanRef(
            path="stills",
            encoding="video",
            frames=3,
            width=8,
            height=6,
            pixel_aspect="1",
            fixity=fixity_of(stills),
        ),
        gauge="35mm",
        rate="18",
        chain=chain_preset("everyday").chain,
        cues=(Cue(frame=0, name="start"),),
    )


def test_what_a_person_says_stands_in_the_reel(stills):
    sound = stills.parent / "sound.wav"
    soundfile.write(sound, np.zeros((100, 2)), 48000)
    said = {"rate": "24000/1001", "gauge": "16mm", "encoding": "light", "chain": "cdl", "sound": sound}
    reel = started(stills, **said)
    assert (reel.rate, reel.gauge, reel.scan.encoding, reel.sound) == (
        "24000/1001",
        "16mm",
        "light",
        SoundRef(path="sound.wav"),
    )
    assert reel.chain == chain_preset("cdl").chain


def test_a_stock_brings_its_chain_and_its_settings_and_another_chain_has_to_fit_them(stills):
    stock = stock_preset("tungsten-colour-negative")
    reel = started(stills, stock="tungsten-colour-negative")
    assert reel.chain == chain_preset(stock.chain).chain
    assert reel.cues[0].settings.keys() == stock.settings.keys()
    with pytest.raises(
        BadInput, match=r"^The stock tungsten-colour-negative does not fit this chain: film_base"
    ):
        started(stills, stock="tungsten-colour-negative", chain="cdl")


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"encoding": "densty"}, r"^densty is not an encoding of scans \(did you mean density\?\)\.$"),
        ({"gauge": "17mm"}, "17mm"),
        ({"rate": None}, r"stills.* does not say its rate; give --rate, such as 18 or 24\.$"),
    ],
)
def test_what_cannot_be_said_is_refused(stills, said, says):
    with pytest.raises(BadInput, match=says):
        started(stills, **said)


# Media that have moved.


def opened(tmp_path, sound=None):
    reel = Reel(
        scan=ScanRef(path="old/film.mkv", frames=9, width=8, height=6, encoding="light"),
        chain=chain_preset("plain").chain,
        sound=sound,
    )
    return OpenedReel(tmp_path / "a.reel", reel, Catalogue())


def scan(tmp_path, *, frames=9, has_sound=False):
    path = tmp_path / "new" / "film.mkv"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(b"invented")
    return SimpleNamespace(path=path, frames=frames, width=8, height=6, has_sound=has_sound)


@pytest.mark.parametrize(
    ("sound", "has_sound", "then"),
    [
        ("old/film.mkv", True, "new/film.mkv"),
        ("old/film.mkv", False, "old/film.mkv"),
        ("old/sound.wav", True, "old/sound.wav"),
    ],
)
def test_a_scan_that_moved_takes_its_own_sound_along_and_no_other(tmp_path, sound, has_sound, then):
    before = opened(tmp_path, SoundRef(path=sound, starts_at=4))
    found = scan(tmp_path, has_sound=has_sound)
    reel = with_scan(before, found, found.path)
    assert (reel.scan.path, reel.sound) == ("new/film.mkv", SoundRef(path=then, starts_at=4))
    assert (reel.scan.frames, reel.scan.encoding) == (9, "light")
    assert reel.scan.fixity == fixity_of(found.path)


def test_a_silent_reel_stays_silent_and_another_scan_is_refused(tmp_path):
    found = scan(tmp_path, has_sound=True)
    assert with_scan(opened(tmp_path), found, found.path).sound is None
    with pytest.raises(BadInput, match=r"has 8 frames of 8x6, but a\.reel was made with 9 of 8x6"):
        with_scan(opened(tmp_path), scan(tmp_path, frames=8), found.path)


def test_sound_is_given_to_a_reel_that_had_none_or_in_place_of_what_it_had(tmp_path):
    path = Path(tmp_path, "new", "sound.wav")
    assert with_sound(opened(tmp_path), path).sound == SoundRef(path="new/sound.wav")
    before = SoundRef(path="old.wav", starts_at=4, rate="24")
    now = SoundRef(path="new/sound.wav", starts_at=4, rate="24")
    assert with_sound(opened(tmp_path, before), path).sound == now
    # The rate of a movie's own sound is the movie's, and no other sound's.
    own = opened(tmp_path, SoundRef(path="old/film.mkv", rate="25"))
    assert with_sound(own, path).sound == SoundRef(path="new/sound.wav")
