"""Sound under a part of a reel: every sample where its frame is, at a rate that divides no frame evenly."""

import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

SECOND = 48000
# At 30000/1001 frames a second a frame has 1601.6 samples; frame n begins at floor(n * 1601.6).
BEGINS = {7: 11211, 19: 30430, 31: 49649}


@pytest.fixture(scope="module")
def reel(tmp_path_factory, film, write_stills):
    folder = tmp_path_factory.mktemp("sound")
    write_stills(folder / "film", film[:48, ::4, ::4])
    # Every sample another value, so that one of them tells the place.
    samples = np.random.default_rng(3).integers(-(2**23), 2**23, (90000, 2)) << 8
    soundfile.write(folder / "film.wav", samples.astype(np.int32), SECOND, subtype="PCM_24")
    path = folder / "film.reel"
    start = Start(folder / "film", folder / "film.wav", rate="30000/1001")
    return start_reel(path, start).reel, path, samples >> 8


def written(reel, path, master, frames, **more):
    made = msgspec.structs.replace(delivery("rgb-ffv1", {}), **more)
    opened = OpenedReel(path, reel, Catalogue())
    transfer(plan(opened, made, frames.start, frames.stop), master, lambda *done: None)
    return master


@pytest.mark.parametrize("start", [7, 19])
def test_a_part_begins_with_the_sample_of_its_first_frame(reel, tmp_path, decode_sound, start):
    document, path, samples = reel
    found = decode_sound(written(document, path, tmp_path / "part.mkv", range(start, 31)))
    assert len(found) == (31 - start) * 1601.6 // 1
    assert np.array_equal(found, samples[BEGINS[start] :][: len(found)])


def test_bars_and_black_push_the_sound_back_with_the_picture(reel, tmp_path, decode_sound):
    document, path, samples = reel
    more = {"bars": 6, "black_before": 4, "black_after": 5}
    found = decode_sound(written(document, path, tmp_path / "framed.mkv", range(7, 31), **more))
    begins, ends = 16016, 16016 + BEGINS[31] - BEGINS[7]
    assert len(found) == 62462  # floor(39 * 1601.6)
    assert np.array_equal(found[begins:ends], samples[BEGINS[7] : BEGINS[31]])
    assert not found[9609:begins].any()  # floor(6 * 1601.6), where the bars and their tone end
    assert not found[ends:].any()
    assert found[:9609].any()


def test_sound_that_starts_late_is_silent_until_its_frame(reel, tmp_path, decode_sound):
    document, path, samples = reel
    late = msgspec.structs.replace(document, sound=msgspec.structs.replace(document.sound, starts_at=10))
    found = decode_sound(written(late, path, tmp_path / "late.mkv", range(5, 31)))
    assert not found[:8008].any()  # five frames before the first sample
    assert np.array_equal(found[8008:], samples[: len(found) - 8008])
