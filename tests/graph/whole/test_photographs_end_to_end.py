"""Frame n of the master is frame n of the scan under the settings at n, on real photographs.

The expected codes are worked out here anew, from the formulae of the standards and of the primary, by plain
NumPy; scikit-image's bundled photographs, panned and zoomed, are the film.
"""

from pathlib import Path

import av
import msgspec
import numpy as np
import OpenImageIO as oiio
import pytest
import skimage.data
import skimage.transform

from lamphouse.graph.media.delivery import delivery
from lamphouse.graph.media.read_back import read_back
from lamphouse.graph.reel import Cue
from lamphouse.graph.start import Start, start_reel
from lamphouse.graph.store import save
from lamphouse.graph.transfer import plan, transfer
from lamphouse.nodes.catalogue import Catalogue

FRAMES, WIDTH, HEIGHT = 30, 128, 96
ARRIVES, OVER = 22, 14
FIRST = {"primary.gain": 1.2, "primary.gain_balance": (1.1, 1.0, 0.9), "saturation.amount": 0.8}
SECOND = {
    "primary.gain": 0.7,
    "primary.gamma": 1.25,
    "primary.lift": 0.04,
    "primary.lift_balance": (0.02, 0.0, -0.03),
    "saturation.amount": 1.3,
}
# Luma weights of ITU-R BT.709-6.
WEIGHTS = np.array([0.2126, 0.7152, 0.0722])


def photographs() -> list[np.ndarray]:
    """Panned and zoomed over two photographs, a cut between them; R'G'B' 0..1, (h, w, 3)."""
    shots = [skimage.data.astronaut(), skimage.data.coffee()]
    frames = []
    for n in range(FRAMES):
        photograph = shots[n >= FRAMES // 2]
        size = 300 - 4 * n
        window = photograph[2 * n : 2 * n + size * HEIGHT // WIDTH, 3 * n : 3 * n + size]
        frames.append(skimage.transform.resize(window / 255, (HEIGHT, WIDTH), anti_aliasing=True))
    return frames


def write_stills(folder: Path, ending: str, bits: int, container: str) -> Path:
    folder.mkdir()
    for n, frame in enumerate(photographs()):
        spec = oiio.ImageSpec(WIDTH, HEIGHT, 3, "uint16")
        spec["oiio:BitsPerSample"] = bits
        out = oiio.ImageBuf(spec)
        out.set_pixels(oiio.ROI(), np.ascontiguousarray(frame, np.float32))
        assert out.write(str(folder / f"{container}.{n:04}.{ending}"))
    return folder


def write_h264(path: Path) -> Path:
    with av.open(str(path), "w") as movie:
        stream = movie.add_stream("libx264", rate=25, options={"bf": "3", "g": "12", "crf": "12"})
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        for frame in photographs():
            codes = np.round(frame * 255).astype(np.uint8)
            movie.mux(stream.encode(av.VideoFrame.from_ndarray(codes, "rgb24")))
        movie.mux(stream.encode(None))
    return path


def decoded_stills(folder: Path, bits: int) -> list[np.ndarray]:
    """R'G'B' of every still; OpenImageIO gives ten-bit codes at the top of sixteen."""
    codes = [oiio.ImageBuf(str(p)).get_pixels("uint16") >> (16 - bits) for p in sorted(folder.iterdir())]
    return [c / (2**bits - 1) for c in codes]


def decoded_h264(path: Path) -> list[np.ndarray]:
    """R'G'B' of every frame in order of display: video range, BT.601 (SD, no tag), chroma left-sited."""
    pictures = []
    with av.open(str(path)) as movie:
        for frame in movie.decode(video=0):
            luma = (plane(frame, 0) - 16) / 219
            blue, red = ((upsampled(plane(frame, i)) - 128) / 224 for i in (1, 2))
            r, b = luma + 1.402 * red, luma + 1.772 * blue
            pictures.append(np.stack([r, (luma - 0.299 * r - 0.114 * b) / 0.587, b], axis=-1))
    return pictures


def plane(frame: av.VideoFrame, index: int) -> np.ndarray:
    part = frame.planes[index]
    rows = np.frombuffer(part, np.uint8).reshape(part.height, part.line_size)
    return rows[:, : part.width].astype(np.float64)


def upsampled(chroma: np.ndarray) -> np.ndarray:
    """4:2:0 to 4:4:4: samples stand on every other column, and midway between two rows."""
    height, width = chroma.shape
    rows = (np.arange(2 * height) - 0.5) / 2
    columns = np.arange(2 * width) / 2
    tall = np.stack([np.interp(rows, np.arange(height), c) for c in chroma.T], axis=1)
    return np.stack([np.interp(columns, np.arange(width), row) for row in tall])


def settings_at(n: int) -> dict[str, np.ndarray]:
    """Equal ratios for gain and gamma, equal steps for the rest, under 3 t^2 - 2 t^3."""
    t = min(max((n - (ARRIVES - OVER)) / OVER, 0), 1)
    share = 3 * t**2 - 2 * t**3
    neutral = {"gain": 1, "gamma": 1, "lift": 0, "gain_balance": 1, "lift_balance": 0, "amount": 1}
    values = {}
    for name, default in neutral.items():
        key = f"saturation.{name}" if name == "amount" else f"primary.{name}"
        a, b = (np.asarray(s.get(key, default), np.float64) for s in (FIRST, SECOND))
        ratio = name in ("gain", "gamma", "gain_balance")
        values[name] = a * (b / a) ** share if ratio else a + (b - a) * share
    return values


def corrected(picture: np.ndarray, n: int) -> np.ndarray:
    s = settings_at(n)
    lift = s["lift"] + s["lift_balance"]
    y = s["gain"] * s["gain_balance"] * (picture + lift * (1 - picture))
    y = np.sign(y) * np.abs(y) ** (1 / s["gamma"])
    luma = (y @ WEIGHTS)[..., None]
    return luma + s["amount"] * (y - luma)


def ten_bit_422(picture: np.ndarray) -> list[np.ndarray]:
    """Codes before rounding, ITU-R BT.709-6; chroma filtered 1 2 1 and taken at every other column."""
    luma = picture @ WEIGHTS
    planes = [64 + 876 * luma]
    for channel, scale in ((2, 1.8556), (0, 1.5748)):
        chroma = np.pad((picture[..., channel] - luma) / scale, ((0, 0), (1, 1)), mode="edge")
        filtered = (chroma[:, :-2] + 2 * chroma[:, 1:-1] + chroma[:, 2:]) / 4
        planes.append(512 + 896 * filtered[:, ::2])
    return [np.clip(p, 4, 1019) for p in planes]


def sixteen_bit_rgb(picture: np.ndarray) -> list[np.ndarray]:
    return [np.clip(65535 * picture[..., c], 0, 65535) for c in (1, 2, 0)]


def master_codes(path: Path) -> list[list[np.ndarray]]:
    frames = []
    with av.open(str(path)) as movie:
        for frame in movie.decode(video=0):
            rows = [np.frombuffer(p, np.uint16).reshape(p.height, -1)[:, : p.width] for p in frame.planes]
            frames.append([r.astype(np.float64) for r in rows])
    return frames


def make_scan(folder: Path, kind: str) -> tuple[Path, list[np.ndarray]]:
    if kind == "h264":
        scan = write_h264(folder / "scan.mp4")
        return scan, decoded_h264(scan)
    ending, bits = {"tiff": ("tif", 16), "dpx": ("dpx", 10)}[kind]
    scan = write_stills(folder / "scan", ending, bits, "reel")
    return scan, decoded_stills(scan, bits)


@pytest.mark.parametrize(
    ("name", "expected", "slack"),
    # float32 holds a 16-bit code to a few hundredths; rounding to the nearest may fall either way of a tie.
    [("scan-ffv1", ten_bit_422, 0.01), ("rgb-ffv1", sixteen_bit_rgb, 0.25)],
)
@pytest.mark.parametrize("kind", ["tiff", "dpx", "h264"])
def test_every_frame_is_the_scans_under_its_settings(
    tmp_path: Path, kind: str, name: str, expected, slack: float
) -> None:
    scan, pictures = make_scan(tmp_path, kind)
    reel_file, master_file = tmp_path / "film.reel", tmp_path / "master.mkv"
    cues = (
        Cue(frame=0, settings=FIRST),
        Cue(frame=ARRIVES, settings=SECOND, arrive="transition", over=OVER, ease="soft"),
    )
    reel = msgspec.structs.replace(start_reel(reel_file, Start(scan, rate="25")).reel, cues=cues)
    save(reel_file, reel)

    pass_ = plan(reel, reel_file, delivery(name, {}), 0, FRAMES)
    master = transfer(pass_, master_file, Catalogue(), lambda done, total: None)

    found = master_codes(master_file)
    assert len(found) == len(pictures) == FRAMES
    for n, planes in enumerate(found):
        meant = expected(corrected(pictures[n].astype(np.float64), n))
        for got, exact in zip(planes, meant, strict=True):
            assert np.abs(got - exact).max() <= 0.5 + slack, f"frame {n}"
    assert read_back(master_file, master.sums).exact
