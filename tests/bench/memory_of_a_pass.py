"""Whether the memory of a pass grows with the length of the reel: python tests/bench/memory_of_a_pass.py.

Prints the peak resident memory of a pass with read-back over 5,000 and over 100,000 frames, each in a fresh
process, and what a frame more takes: its checksums and its place in the records, and no more.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import av
import numpy as np

WIDTH, HEIGHT, FRAMES, FEW = 64, 48, 100_000, 5_000
MOST = 200  # bytes a frame


def make_scan(path: Path) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv422p10le"
        for number in range(FRAMES):
            grey = np.full((HEIGHT, WIDTH, 3), number % 256, np.uint8)
            picture = av.VideoFrame.from_ndarray(grey, "rgb24").reformat(format="yuv422p10le")
            picture.pts = number
            container.mux(stream.encode(picture))
        container.mux(stream.encode(None))


def peak(reel: Path, stop: int) -> int:
    command = [sys.executable, "-m", "lamphouse", "transfer", str(reel), "--delivery", "scan-ffv1"]
    command += ["-o", str(reel.with_name(f"to-{stop}.mkv")), "--to", str(stop)]
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"the pass over {stop} frames ended with status {child.returncode}")
    return usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)  # KiB on Linux, bytes on macOS


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        scan, reel = Path(folder, "scan.mkv"), Path(folder, "long.reel")
        make_scan(scan)
        command = [sys.executable, "-m", "lamphouse", "new", str(reel), "--scan", str(scan)]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        few, all_ = peak(reel, FEW), peak(reel, FRAMES)
    more = (all_ - few) / (FRAMES - FEW)
    print(
        f"{FEW} frames: {few / 2**20:.1f} MiB; {FRAMES} frames: {all_ / 2**20:.1f} MiB; "
        f"{more:.0f} bytes a frame, where {MOST} are allowed"
    )
    sys.exit(0 if more <= MOST else 1)


if __name__ == "__main__":
    main()
