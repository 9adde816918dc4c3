"""Whole inputs of every kind that is read, small, made anew. All invented."""

import json
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import OpenImageIO as oiio
import soundfile

STORED = Path(__file__).parents[1] / "graph" / "reel" / "reel-2.reel"
PRESETS = Path(__file__).parents[2] / "presets"
SIZE = (48, 32)

REEL = {
    "record": "reel/2",
    "scan": {"path": "film.mkv", "frames": 5, "width": 48, "height": 32, "pixel_aspect": "12/11"},
    "sound": {"path": "film.wav", "starts_at": 1, "offset": "1/80", "rate": "25"},
    "gauge": "16mm",
    "rate": "24000/1001",
    "head_mark": 2,
    "start": "10:00:00:00",
    "chain": json.loads((PRESETS / "chains" / "everyday.json").read_bytes())["chain"],
    "cues": [
        {"frame": 0, "name": "one", "settings": {"primary.gain": 1.2, "primary.gain_balance": [1, 0.9, 1.1]}},
        {
            "frame": 4,
            "begins": "transition",
            "length": 3,
            "ease": [[0, 0], [0.4, 0.2], [1, 1]],
            "settings": {},
        },
    ],
    "marks": [{"frame": 1, "frames": 2, "kind": "soft", "name": "lake"}],
    "deliveries": {
        "tv": {
            **{
                "container": "matroska",
                "codec": "ffv1",
                "pixel_format": "yuv422p10le",
                "width": 64,
                "height": 48,
            },
            **{"options": {"slices": "4"}, "bars": 2, "black_before": 1, "sound": {"codec": "flac"}},
        }
    },
}
CUBE = 'TITLE "x"\nLUT_3D_SIZE 2\nDOMAIN_MIN 0 0 0\nDOMAIN_MAX 1 1 1\n' + "".join(
    f"{r} {g} {b}\n" for b in (0, 1) for g in (0, 0.9) for r in (0.1, 1)
)
CUBE_1D = "LUT_1D_SIZE 3\n0 0 0\n.5 .4 .6\n1 1 1\n"
CLF = """<?xml version="1.0" encoding="UTF-8"?>
<ProcessList xmlns="urn:AMPAS:CLF:v3.0" id="a" compCLFversion="3.0"><Description>x</Description>
<Matrix inBitDepth="32f" outBitDepth="32f"><Array dim="3 3">1 0 0 0 1 0 0 0 1</Array></Matrix>
<ASC_CDL inBitDepth="32f" outBitDepth="32f" style="Fwd"><SOPNode><Slope>1 1 1</Slope><Offset>0 0 0</Offset>
<Power>1 1 1</Power></SOPNode><SatNode><Saturation>1.1</Saturation></SatNode></ASC_CDL>
<LUT1D inBitDepth="32f" outBitDepth="32f"><Array dim="3 1">0 0.4 1</Array></LUT1D>
<Range inBitDepth="32f" outBitDepth="32f"><minInValue>0</minInValue><maxInValue>1</maxInValue>
<minOutValue>0</minOutValue><maxOutValue>1</maxOutValue></Range>
<Exponent inBitDepth="32f" outBitDepth="32f" style="basicFwd"><ExponentParams exponent="2.2"/></Exponent>
<Log inBitDepth="32f" outBitDepth="32f" style="log2"/>
<LUT3D inBitDepth="32f" outBitDepth="10i" interpolation="tetrahedral"><Array dim="2 2 2 3">0 0 0 0
0 1023 0 1023 0 0 1023 1023 1023 0 0 1023 0 1023 1023 1023 0 1023 1023 1023</Array></LUT3D></ProcessList>
"""
CDL = """<?xml version="1.0" encoding="UTF-8"?>
<ColorCorrectionCollection xmlns="urn:ASC:CDL:v1.01"><ColorCorrection id="a"><SOPNode>
<Description>x</Description><Slope>1.1 1 0.9</Slope><Offset>0 0.1 0</Offset><Power>1 1 1</Power></SOPNode>
<SatNode><Saturation>1</Saturation></SatNode></ColorCorrection></ColorCorrectionCollection>
"""
MOVIES = {
    "ffv1.mkv": ("matroska", "ffv1", "yuv422p10le", {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}),
    "h264.mp4": ("mp4", "libx264", "yuv420p", {"preset": "veryfast", "g": "3", "bf": "1"}),
    "prores.mov": ("mov", "prores_ks", "yuv422p10le", {}),
    "mpeg4.avi": ("avi", "mpeg4", "yuv420p", {"g": "3"}),
    "mpeg2.ts": ("mpegts", "mpeg2video", "yuv420p", {"g": "3"}),
    "mpeg2.mxf": ("mxf", "mpeg2video", "yuv420p", {"g": "3"}),
}
STILLS = {"a.0001.png": "uint16", "b.0001.tif": "uint16", "c.0001.dpx": "uint16", "d.0001.exr": "half"}
SOUNDS = {"a.wav": "PCM_24", "b.flac": "PCM_16", "c.aiff": "PCM_16", "d.caf": "PCM_24", "e.ogg": "VORBIS"}


def make_samples(folder: Path) -> None:
    """Write every sample under its name into `folder`."""
    texts = {
        "a.reel": json.dumps(REEL, indent=1),
        "a.cube": CUBE,
        "b.cube": CUBE_1D,
        "a.clf": CLF,
        "a.ccc": CDL,
    }
    texts["delivery.json"] = json.dumps(REEL["deliveries"]["tv"])
    texts["sticks.json"] = (PRESETS / "sticks" / "gamepad.json").read_text()
    for name, text in texts.items():
        (folder / name).write_text(text)
    (folder / "stored.reel").write_bytes(STORED.read_bytes())
    for name, kind in MOVIES.items():
        _movie(folder / name, *kind)
    for name, depth in STILLS.items():
        _still(folder / name, depth)
    for name, kind in SOUNDS.items():
        soundfile.write(folder / name, _noise(3000), 48000 if name != "b.flac" else 44100, subtype=kind)


def _noise(count: int) -> np.ndarray:
    return np.random.default_rng(1).uniform(-0.5, 0.5, (count, 2))


def _movie(path: Path, form: str, codec: str, pixel_format: str, options: dict[str, str]) -> None:
    with av.open(str(path), "w", format=form) as container:
        container.metadata["title"] = "Grün"
        stream = container.add_stream(codec, rate=Fraction(25), options=options)
        stream.width, stream.height, stream.pix_fmt = *SIZE, pixel_format
        sound = None if form == "mxf" else container.add_stream("aac" if form == "mp4" else "mp2", rate=48000)
        if form == "mov":
            sound = None
        for number in range(5):
            grey = np.full((SIZE[1], SIZE[0], 3), 40 * number, np.uint8)
            grey[:8, number * 8 :] = 255
            frame = av.VideoFrame.from_ndarray(grey, "rgb24").reformat(format=pixel_format)
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
        if sound is not None:
            _sound_into(container, sound)


def _sound_into(container: av.container.OutputContainer, stream: av.AudioStream) -> None:
    form = stream.codec_context.format.name
    kind = np.float32 if form.startswith("flt") else np.int16
    noise = _noise(9600) if kind is np.float32 else _noise(9600) * 32767
    planar = form.endswith("p")
    samples = np.ascontiguousarray(noise.T if planar else noise.reshape(1, -1), dtype=kind)
    frame = av.AudioFrame.from_ndarray(samples, format=form, layout="stereo")
    frame.sample_rate, frame.pts = 48000, 0
    resampler = av.AudioFifo()
    resampler.write(frame)
    while (block := resampler.read(stream.codec_context.frame_size or 1024)) is not None:
        container.mux(stream.encode(block))
    container.mux(stream.encode(None))


def _still(path: Path, depth: str) -> None:
    file = oiio.ImageOutput.create(str(path))
    spec = oiio.ImageSpec(*SIZE, 3, depth)
    spec.attribute("DocumentName", "lake")
    spec.attribute("owner", "nobody")
    spec.attribute("FramesPerSecond", "rational", (24, 1))
    assert file.open(str(path), spec)
    noise = np.random.default_rng(2).random((SIZE[1], SIZE[0], 3), np.float32)
    assert file.write_image(noise)
    file.close()
