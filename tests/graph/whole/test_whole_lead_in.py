"""Bars, slate, countdown and readings in the picture, in whole passes that are decoded again."""

from collections.abc import Callable
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.leader import slate_height
from lamphouse.graph.media.master.lettering import lettered
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.lead_in import slate_facts
from lamphouse.graph.transfer.plan import Plan, plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # whole passes, of which others run on every Python

FRAMES, SIZE, RATE = 6, (384, 216), 6  # frames a second: few, so that a countdown is short
LOSSLESS = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", sound=Sound())
CUES = (Cue(frame=0, name="Gate"), Cue(frame=3, name="Garden"))
Made = Callable[..., Path]


@pytest.fixture
def reel(tmp_path: Path) -> Path:
    """A reel of six flat greys, called Seaside."""
    with av.open(str(tmp_path / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=RATE)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv422p10le"
        for n in range(FRAMES):
            grey = av.VideoFrame.from_ndarray(np.full(SIZE[::-1], 60 + 10 * n, np.uint8), "gray")
            container.mux(stream.encode(grey.reformat(format="yuv422p10le")))
        container.mux(stream.encode(None))
    path = tmp_path / "Seaside.reel"
    made = start_reel(path, Start(tmp_path / "scan.mkv", gauge="16mm", rate=str(RATE))).reel
    save(path, msgspec.structs.replace(made, cues=CUES))
    return path


@pytest.fixture
def made(reel: Path) -> Made:
    """A function that returns the master of the reel by a delivery."""

    def passed(name: str = "m.mkv", **more: object) -> Path:
        master = reel.with_name(name)
        transfer(planned(reel, **more), master, lambda *done: None)
        return master

    return passed


def planned(reel: Path, **more: object) -> Plan:
    return plan(open_reel(reel, Catalogue()), msgspec.structs.replace(LOSSLESS, **more), 0, FRAMES)


def test_the_parts_stand_in_order_and_the_last_number_is_2_for_one_frame(
    reel, made, decode_planes, decode_sound
):
    # Public television practice: a countdown whose last number is 2, seen for one frame, then 2 s but a frame
    # of black and silence. Here a second is 6 frames: 2 s are 12 of them.
    parts = {"bars": 2, "slate": 2, "countdown": 2 * RATE + 1, "black_before": 2 * RATE - 1}
    master = made(**parts, tone_level=-20)
    luma = [planes[0] for planes in decode_planes(master)]
    span = load_record(master).span
    assert len(luma) == span.frames == 2 + 2 + 13 + 11 + FRAMES
    sections = [span.section(number) for number in range(span.frames)]
    assert sections == ["bars"] * 2 + ["slate"] * 2 + ["countdown"] * 13 + ["black"] * 11 + ["film"] * FRAMES
    assert span.words(3) == "Frame 3 (09:59:55:05, slate)"
    assert span.timecode(28) == "10:00:00:00"
    seconds = np.array([frame[:162] for frame in luma[4:17]])  # above the band
    changes = [n for n in range(1, 13) if not np.array_equal(seconds[n], seconds[n - 1])]
    assert changes == [6, 12]  # 4, then 3, then 2
    bands = [int((frame[162:] > 500).sum()) for frame in luma[4:17]]
    assert bands[:6] == sorted(bands[:6], reverse=True)
    assert len(set(bands[:6])) == 6
    assert bands[0] == bands[6] == bands[12]
    assert all((frame == 64).all() for frame in luma[17:28])
    heard = np.abs(decode_sound(master).reshape(len(luma), -1)).max(axis=1)  # 48000 / 6 samples a frame
    assert [n for n, peak in enumerate(heard) if peak] == [0, 1, 16]
    assert 20 * np.log10(heard[16] / 2**23) == pytest.approx(-20, abs=0.01)


def test_a_slate_says_what_the_reel_and_the_master_are(reel, made, decode_planes):
    facts = dict(slate_facts(planned(reel, slate=1)))
    assert facts["Reel"] == "Seaside"
    assert facts["Length"] == "00:00:01:00, 0+06, 6 frames"
    assert facts["Begins"] == "10:00:00:00"
    assert facts["Video"] == "384x216, 6 fps, progressive"
    assert "scan.mkv" in facts.values()
    (slate, *_) = (planes[0] for planes in decode_planes(made(slate=1)))
    found = (slate[: SIZE[1] // 3, : SIZE[0] // 2].astype(float) - 64) / 876  # the first lines
    name = lettered("SEASIDE", slate_height(slate_facts(planned(reel, slate=1)), *SIZE))
    windows = np.lib.stride_tricks.sliding_window_view(found, name.shape)
    assert np.abs(windows - name).max(axis=(2, 3)).min() < 1e-3  # there it stands, pixel by pixel


@pytest.mark.parametrize("cadence", [{}, {"rate": "24", "cadence": "repeat"}])
def test_each_frame_of_film_carries_its_own_readings_and_no_more_is_touched(
    reel, made, decode_planes, cadence
):
    wanted = ("timecode", "footage", "frame")
    master = made(burn_in=wanted, bars=1, **cadence)
    plain = made("plain.mkv", bars=1, **cadence)
    span = load_record(master).span
    for number, (found, before) in enumerate(zip(decode_planes(master), decode_planes(plain), strict=True)):
        if number not in span.film:
            assert np.array_equal(found[0], before[0])
            continue
        frame = span.frame(number)
        mask = lettered(f"{span.timecode(number)}  0+{frame:02}  {frame}", 216 // 24)
        (rows, columns), foot = mask.shape, round(216 * 0.95)
        top, left = (foot - rows) // 2 * 2, (384 - columns) // 2 // 2 * 2
        meant = before[0].astype(int)
        meant[top : top + rows + rows % 2, left : left + columns + columns % 2] = 64
        meant[top : top + rows, left : left + columns] = np.floor(mask * 876 + 64.5)
        assert np.array_equal(found[0], meant)


def test_readings_are_proved_made_anew_by_inserts_and_no_cause_to_be_stale(reel, made, lamphouse):
    more = {"burn_in": ("timecode", "footage", "reel"), "bars": 1}
    master = made(**more)
    assert "Each of its 7 frames is what the reel makes now." in lamphouse("verify", master, reel)
    assert (
        "Nothing" in (said := lamphouse("insert", reel, master, "--stale", "--dry"))
        or "no frame" in said.lower()
    )
    cues = (CUES[0], msgspec.structs.replace(CUES[1], settings={"primary.gain": 0.5}))
    save(reel, msgspec.structs.replace(load(reel), cues=cues))
    lamphouse("insert", reel, master, "--stale")
    assert master.read_bytes() == made("whole.mkv", **more).read_bytes()
    other = reel.rename(reel.with_name("Harbour.reel"))
    with pytest.raises(BadInput, match=r"^the name of Harbour.reel is not what"):
        lamphouse("insert", other, master, "--cue", "Garden")
    other.rename(reel)
    save(reel, msgspec.structs.replace(load(reel), gauge="35mm"))
    with pytest.raises(BadInput, match=r"^the gauge of Seaside.reel is not what"):
        lamphouse("insert", reel, master, "--cue", "Garden")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"burn_in": ("timecode", "footage", "reel")}, "The readings cannot be read in a picture of 64x36"),
        ({"slate": 1}, "The slate cannot be read in a picture of 64x36"),
    ],
)
def test_letters_that_would_be_too_small_are_refused_before_the_pass(reel, made, more, said):
    with pytest.raises(BadInput, match=said):
        made(width=64, height=36, **more)
    assert not list(reel.parent.glob("m.mkv*part*"))
