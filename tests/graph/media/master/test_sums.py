"""Checksums are those of ffmpeg's framemd5 (the command-line program), so that anybody can check them."""

import subprocess

import numpy as np
import pytest

from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.lineup import tone
from lamphouse.graph.media.master.master import Master
from lamphouse.graph.reel.records import Delivery, Sound

KINDS = {
    "ffv1": Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le"),
    "ffv1 4:2:0": Delivery(container="matroska", codec="ffv1", pixel_format="yuv420p"),
    "ffv1 R'G'B'": Delivery(container="matroska", codec="ffv1", pixel_format="gbrp16le", matrix="rgb"),
    "dpx 10": Delivery(container="dpx", codec="dpx", pixel_format="gbrp10le", matrix="rgb", range="full"),
    "dpx 16": Delivery(container="dpx", codec="dpx", pixel_format="gbrp16le", matrix="rgb", range="full"),
    "tiff": Delivery(container="tiff", codec="tiff", pixel_format="rgb48le", matrix="rgb", range="full"),
}


def framemd5(*given: object) -> list[str]:
    command = ["ffmpeg", "-v", "error", *map(str, given), "-f", "framemd5", "-"]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    return [line.rpartition(",")[2].strip() for line in lines if not line.startswith("#")]


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_has_the_checksum_that_ffmpeg_gives_it(written, kind: str) -> None:
    master: Master = written(KINDS[kind], 3, (34, 22), name="m.mkv" if "ffv1" in kind else "m")
    if master.path.is_dir():
        suffix = "tif" if kind == "tiff" else "dpx"
        found = framemd5("-i", master.path / f"m.%06d.{suffix}")
    else:
        found = framemd5("-i", master.path)
    assert found == master.meant.pictures


@pytest.mark.parametrize(
    ("codec", "word"), [("pcm_s16le", "s16le"), ("pcm_s24le", "s32le"), ("flac", "s16le")]
)
def test_a_second_of_sound_has_the_checksum_that_ffmpeg_gives_it(begin, codec: str, word: str) -> None:
    delivery = Delivery(
        container="matroska", codec="ffv1", pixel_format="yuv422p10le", sound=Sound(codec=codec)
    )
    with begin(delivery) as master:
        for number in range(60):
            master.write_filled(black(master))
            master.write_sound(tone(1920 * number, 1920 * (number + 1), 48000, 2))
        master.finish()
    seconds = framemd5(
        "-i", master.path, "-map", "0:a", "-af", "asetnsamples=48000:p=0", "-c:a", f"pcm_{word}"
    )
    assert len(seconds) == 3
    assert master.meant.sound is not None
    assert list(master.meant.sound.all()) == seconds


def black(master: Master):
    blank = master.blank()
    for plane in blank.planes:
        plane[:] = 64
    return blank


@pytest.mark.parametrize("block", [1, 7, 100, 1000])
def test_seconds_of_sound_do_not_depend_on_how_it_comes(block: int) -> None:
    samples = np.arange(2500, dtype=np.int16).reshape(-1, 1)
    whole, parts = SecondSums(1000), SecondSums(1000)
    whole.add(samples)
    for start in range(0, len(samples), block):
        parts.add(samples[start : start + block])
    assert parts.all() == whole.all()
    assert len(whole.all()) == 3
