"""Passes into MOV and MXF: read back, recorded, proved by record and reel, open to inserts, also of sound."""

import shutil
from collections.abc import Callable
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

Masters = Callable[[str], Path]
FRAMES, SIZE, NTSC = 8, (256, 120), "30000/1001"  # the smallest raster that DNxHR takes
MASTERS = {"hd-prores-hq": "m.mov", "hd-dnxhr-hqx": "m.mxf", "hd-v210": "v.mov"}
CUES = (Cue(frame=0, name="Gate"), Cue(frame=3, name="Garden"), Cue(frame=5, name="Lane"))


@pytest.fixture(scope="module")
def reel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A reel of a pan over noise, with noise beside it, at a rate whose frames end between two samples."""
    folder = tmp_path_factory.mktemp("containers")
    noise = np.random.default_rng(7).integers(40, 200, (8, 16 + FRAMES, 3), np.uint8)
    noise = np.kron(noise, np.ones((15, 16, 1), np.uint8))
    with av.open(str(folder / "scan.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "gbrp10le"
        for n in range(FRAMES):
            picture = np.ascontiguousarray(noise[:, n * 16 : n * 16 + SIZE[0]])
            container.mux(
                stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24").reformat(format="gbrp10le"))
            )
        container.mux(stream.encode(None))
    samples = np.random.default_rng(3).uniform(-0.5, 0.5, (FRAMES * 2000, 2))
    soundfile.write(folder / "scan.wav", samples, 48000, "PCM_24")
    path = folder / "Seaside.reel"
    made = start_reel(path, Start(folder / "scan.mkv", folder / "scan.wav", rate=NTSC)).reel
    save(path, msgspec.structs.replace(made, cues=CUES))
    return path


@pytest.fixture(scope="module")
def master_of(reel: Path) -> Masters:
    """A function that returns the master of a preset, at the raster of the scan, with bars and black."""

    def passed(name: str) -> Path:
        small = {"width": SIZE[0], "height": SIZE[1], "bars": 2, "black_after": 1}
        record = msgspec.structs.replace(delivery(name, {}), **small)
        master = reel.with_name(MASTERS[name])
        if not master.exists():
            transfer(plan(open_reel(reel, Catalogue()), record, 0, FRAMES), master, lambda *done: None)
        return master

    return passed


@pytest.fixture
def copied(
    reel: Path, master_of: Callable[[str], Path], tmp_path: Path
) -> Callable[[str], tuple[Path, Path]]:
    """A function that returns a reel and the master of a preset, as copies."""

    def copy(name: str) -> tuple[Path, Path]:
        master = master_of(name)
        for path in (
            reel,
            reel.with_name("scan.mkv"),
            reel.with_name("scan.wav"),
            master,
            record_path(master),
        ):
            shutil.copy(path, tmp_path)
        return tmp_path / reel.name, tmp_path / master.name

    return copy


def packets(path: Path, kind: str) -> list[tuple[int, int, bytes]]:
    with av.open(str(path)) as container:
        stream = getattr(container.streams, kind)[0]
        return [(p.pts, p.duration, bytes(p)) for p in container.demux(stream) if p.size]


def regrade(reel: Path) -> None:
    cues = tuple(
        msgspec.structs.replace(cue, settings={"primary.gain": 0.6}) if cue.name == "Garden" else cue
        for cue in load(reel).cues
    )
    save(reel, msgspec.structs.replace(load(reel), cues=cues))


@pytest.mark.parametrize("name", MASTERS)
def test_a_master_is_read_back_recorded_and_proved(lamphouse, copied, name):
    reel, master = copied(name)
    record = load_record(master)
    assert record.read_back.startswith("All 11 frames were decoded")
    assert record.facts["the timecode"] == "09:59:59;28"  # two frames of bars before the start
    assert len(record.distances) == (0 if name == "hd-v210" else 11)
    assert all(off < 0.5 for off in record.distances)  # of 8: as measured on coarse noise
    said = lamphouse("verify", master, reel)
    assert "Every byte of" in said
    assert "All 17617 samples" in said or "All 17618 samples" in said
    assert "Each of its 11 frames is what the reel makes now." in said


@pytest.mark.parametrize("name", MASTERS)
def test_an_insert_touches_its_own_packets_alone(lamphouse, copied, name):
    reel, master = copied(name)
    before = packets(master, "video"), packets(master, "audio")
    regrade(reel)
    lamphouse("insert", reel, master, "--cue", "Garden")
    pictures, sound = packets(master, "video"), packets(master, "audio")
    changed = [n for n, (one, other) in enumerate(zip(before[0], pictures, strict=True)) if one != other]
    assert changed == [2 + 3, 2 + 4]  # two frames of bars, then the frames of the cue
    assert [packet[:2] for packet in before[0]] == [packet[:2] for packet in pictures]
    assert sound == before[1]
    assert "Each of its 11 frames is what the reel makes now." in lamphouse("verify", master, reel)


def test_an_insert_of_unchanged_settings_gives_the_identical_movie(lamphouse, copied):
    reel, master = copied("hd-v210")
    before = master.read_bytes()
    lamphouse("insert", reel, master, "--from", "3", "--to", "5", "--sound")
    assert master.read_bytes() == before


@pytest.mark.parametrize("name", MASTERS)
def test_sound_beside_an_insert_is_made_anew_to_the_sample(lamphouse, copied, name):
    reel, master = copied(name)
    before = b"".join(data for _, _, data in packets(master, "audio"))
    wave = reel.with_name("scan.wav")
    samples, rate = soundfile.read(wave)
    soundfile.write(wave, samples * 0.5, rate, "PCM_24")
    lamphouse("insert", reel, master, "--from", "3", "--to", "5", "--sound")
    after = b"".join(data for _, _, data in packets(master, "audio"))
    assert len(before) == len(after)
    changed = [n // 6 for n in range(0, len(before), 6) if before[n : n + 6] != after[n : n + 6]]
    # Frames 5 and 6 of the master: a frame n begins at sample floor(n * 48000 * 1001 / 30000).
    first, stop = (n * 1601600 // 1000 for n in (5, 7))
    assert first <= changed[0] < first + 3
    assert stop - 3 < changed[-1] < stop


@pytest.mark.slow
def test_groups_of_h265_stand_alone_so_that_one_can_be_made_anew(lamphouse, reel, tmp_path):
    form = {"container": "mp4", "codec": "libx265", "pixel_format": "yuv420p10le"}
    options = {"g": "4", "preset": "ultrafast"}
    record = Delivery(**form, options=options, sound=Sound(codec="aac"))
    master = tmp_path / "m.mp4"
    transfer(plan(open_reel(reel, Catalogue()), record, 0, FRAMES), master, lambda *done: None)
    before = packets(master, "video")
    lamphouse("insert", reel, master, "--from", "4", "--to", "8")
    after = packets(master, "video")
    assert [packet[:2] for packet in before] == [packet[:2] for packet in after]
    assert before[:4] == after[:4]
    assert "The sound" in lamphouse("verify", master)


def test_what_a_pass_into_a_container_with_its_index_last_leaves_is_told(reel, master_of, tmp_path):
    opened = open_reel(reel, Catalogue())
    record = msgspec.structs.replace(delivery("hd-v210", {}), width=SIZE[0], height=SIZE[1])
    master = tmp_path / "m.mov"
    master.with_name("m.mov.part").write_bytes(b"cut off")
    with pytest.raises(BadInput, match=r"a pass into v210 in mov cannot be resumed; throw it away"):
        transfer(plan(opened, record, 0, FRAMES), master, lambda *done: None)
