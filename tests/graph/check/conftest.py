"""One small master of an invented film, made by a real pass, and a general library to tamper with copies."""

import shutil
from fractions import Fraction
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.record import record_path
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

SIZE, FRAMES, RATE = (64, 48), 24, 8000
AROUND = {"bars": 3, "black_before": 2, "black_after": 4, "sound": Sound(codec="pcm_s16le", rate=RATE)}
FFV1 = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", **AROUND)
TIFF = Delivery(container="tiff", codec="tiff", pixel_format="rgb48le", matrix="rgb", range="full", **AROUND)
CUES = (
    Cue(frame=0, name="Garden", settings={"primary.gain": 1.1}),
    Cue(frame=8, name="Gate", settings={"primary.gain": 0.8}),
    Cue(frame=16, name="Sea"),
)


def write_film(path: Path) -> None:
    chance = np.random.default_rng(7)
    ramp = np.linspace(60, 190, SIZE[0] * SIZE[1]).reshape(SIZE[1], SIZE[0])
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv422p10le"
        for number in range(FRAMES):
            grey = np.roll(ramp, number * 5, 1) + chance.normal(0, 4, ramp.shape)
            frame = av.VideoFrame.from_ndarray(np.clip(grey, 0, 255).astype(np.uint8), "gray")
            frame = frame.reformat(format="yuv422p10le")
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def write_sound(path: Path) -> None:
    noise = np.random.default_rng(8).uniform(-0.5, 0.5, (RATE * FRAMES // 25, 1))
    soundfile.write(path, noise, RATE, "PCM_16")


class Made:
    """A reel and what a pass makes of it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.reel_file = folder, folder / "film.reel"
        write_film(folder / "film.mkv")
        write_sound(folder / "film.wav")
        start = Start(folder / "film.mkv", folder / "film.wav", gauge="16mm", encoding="video")
        reel = start_reel(self.reel_file, start).reel
        self.opened = OpenedReel(self.reel_file, msgspec.structs.replace(reel, cues=CUES), Catalogue())
        save(self.reel_file, self.opened.reel)

    def transfer(self, name: str, delivery: Delivery, *cues: Cue, reads_back: bool = True) -> Path:
        opened = self.opened
        if cues:
            opened = opened.with_reel(msgspec.structs.replace(opened.reel, cues=cues))
        master = self.folder / name
        transfer(plan(opened, delivery, 0, FRAMES), master, lambda *done: None, reads_back=reads_back)
        return master


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    return Made(tmp_path_factory.mktemp("made"))


@pytest.fixture(scope="session")
def whole(made):
    """A master in FFV1: three frames of bars, two of black, 24 of film, four of black, with sound."""
    return made.transfer("whole.mkv", FFV1)


@pytest.fixture
def insertable(tmp_path):
    """A reel of its own and its master, to make inserts into."""
    made = Made(tmp_path)
    return made, made.transfer("whole.mkv", FFV1)


@pytest.fixture(scope="session")
def deliveries():
    return {"ffv1": FFV1, "tiff": TIFF}


@pytest.fixture
def copy(whole, tmp_path):
    """A copy of the master with its record, to tamper with."""
    target = tmp_path / whole.name
    shutil.copy(whole, target)
    shutil.copy(record_path(whole), record_path(target))
    return target


@pytest.fixture(scope="session")
def remux():
    """A function that puts the packets of a movie into another file, as `change` leaves them."""
    return _remux


def _remux(source: Path, target: Path, change, tags=()) -> None:
    """`change` takes and returns lists, of pictures and of sound, of (bytes, time in ticks, length)."""
    with av.open(str(source)) as have, av.open(str(target), "w", format="matroska") as want:
        streams = [have.streams.video[0], have.streams.audio[0]]
        outs = [want.add_stream_from_template(stream) for stream in streams]
        outs[0].codec_context.framerate = Fraction(25)
        for stream, out in zip(streams, outs, strict=True):
            out.metadata.update(stream.metadata)
            out.time_base = stream.time_base
        lists: tuple[list, list] = ([], [])
        for packet in have.demux(streams):
            if packet.size:
                kind = int(packet.stream is streams[1])
                lists[kind].append((bytes(packet), packet.pts, packet.duration))
        packets = [
            (pts, kind, data, length)
            for kind, parts in enumerate(change(*lists))
            for data, pts, length in parts
        ]
        for pts, kind, data, length in sorted(packets, key=lambda p: p[:2]):
            packet = av.Packet(data)
            packet.stream, packet.time_base = outs[kind], streams[kind].time_base
            packet.pts = packet.dts = pts
            packet.duration, packet.is_keyframe = length, True
            want.mux(packet)
