"""One small master of an invented film with names that lead astray, and its bag."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import av
import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.handover.bag.write import Handed, write_bag
from lamphouse.graph.reel.records import About, Cue, Delivery, Sound, Track
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

SIZE, FRAMES, RATE = (48, 32), 12, 8000
REEL = 'sea .. "50%"\n.reel'
MASTER = 'sea %0A "master".mkv'
ABOUT = About(
    title="The Sea\nBag-Size: 1 TB",
    identifiers=("ARC 1/23", "R-007"),
    client="An invented archive",
    note="Shown once; <b>faded</b>.",
)
CUES = (
    Cue(frame=0, name="../../Garden", settings={"primary.gain": 1.1}),
    Cue(
        frame=8,
        name='Gate "50%"\n/etc',
        begins="transition",
        length=3,
        settings={
            "primary.gain": 0.7,
            "sky.gain": 0.5,
            "sky_blend.amount": 1,
            "sky_line.full": -0.1,
            "sky_line.clear": 0.2,
            "framing.size": 1.2,
        },
    ),
)
TRACKS = (Track(parameter="exposure.stops", frame=1, frames=3, keys=((1, 0.0), (3, 0.4))),)
FFV1 = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    bars=2,
    black_after=1,
    sound=Sound(codec="pcm_s16le", rate=RATE),
)


class Made(NamedTuple):
    """A reel as it is opened, its master, its bag and what was said of that."""

    opened: OpenedReel
    master: Path
    bag: Path
    handed: Handed


def write_film(path: Path) -> None:
    chance = np.random.default_rng(11)
    ramp = np.linspace(70, 180, SIZE[0] * SIZE[1]).reshape(SIZE[1], SIZE[0])
    colours = np.stack([ramp, ramp.T.reshape(ramp.shape), ramp[::-1]], -1)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv422p10le"
        for number in range(FRAMES):
            picture = np.roll(colours, number * 3, 1) + chance.normal(0, 3, colours.shape)
            frame = av.VideoFrame.from_ndarray(np.clip(picture, 0, 255).astype(np.uint8), "rgb24")
            frame = frame.reformat(format="yuv422p10le")
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def write_sound(path: Path) -> None:
    noise = np.random.default_rng(12).uniform(-0.5, 0.5, (RATE * FRAMES // 25, 1))
    soundfile.write(path, noise, RATE, "PCM_16")


@pytest.fixture(scope="session")
def handed_over(tmp_path_factory):
    """A bag with its master in it. It is shared: copy what is to be changed."""
    folder = tmp_path_factory.mktemp("handed over")
    write_film(folder / "film.mkv")
    write_sound(folder / "film.wav")
    start = Start(folder / "film.mkv", folder / "film.wav", chain="sky", primaries="bt709", matrix="bt709")
    reel = msgspec.structs.replace(
        start_reel(folder / REEL, start).reel, cues=CUES, tracks=TRACKS, about=ABOUT
    )
    opened, master = OpenedReel(folder / REEL, reel, Catalogue()), folder / MASTER
    save(opened.file, reel)
    transfer(plan(opened, FFV1, 0, FRAMES), master, lambda *done: None)
    bag = folder / "bag"
    handed = write_bag(bag, opened, master, lambda *done: None, with_master=True)
    return Made(opened, master, bag, handed)
