"""Speed, as ratios within one run: python tests/bench/ratios.py. It takes some minutes; let nothing else run.

Every number is the least of several turns. Chains are measured on one thread in CPU time, from 16-bit planar
R'G'B' codes to the same; passes in wall time, FFV1 10-bit 4:2:2 in and out, on all cores.
"""

from __future__ import annotations

import os
import platform
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

import av
import chain_alone
import numpy as np
import passes

HEADING = ("raster", "chain", "CPU a frame", "of a copy", "of lut3d", "of NumPy", "of colour-science")


def main() -> None:
    libraries = ".".join(map(str, av.library_versions["libavfilter"]))
    print(f"{_processor()}, {os.cpu_count()} cores; Python {platform.python_version()}, ", end="")
    print(f"NumPy {np.__version__}, libavfilter {libraries}\n")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _line(HEADING)
        _line(("---",) * len(HEADING))
        for row in chain_alone.rows(folder):
            _line(row)
        print("\n| what | ratio |\n|---|---|")
        for facts in (
            chain_alone.facts(),
            passes.ratios(folder),
            passes.inserts(folder),
            passes.memory(folder),
            passes.start_up(),
        ):
            _told(facts)


def _told(facts: Iterable[tuple[str, float]]) -> None:
    for what, ratio in facts:
        _line((what, f"{ratio:.1e}" if ratio < 1e-3 else f"{ratio:.4g}"))


def _line(cells: Iterable[str]) -> None:
    print("| " + " | ".join(cells) + " |", flush=True)


def _processor() -> str:
    try:
        text = Path("/proc/cpuinfo").read_text()
    except OSError:
        return platform.processor() or sys.platform
    return next(line.split(":")[1].strip() for line in text.splitlines() if line.startswith("model name"))


if __name__ == "__main__":
    main()
