"""The checksum of every picture of a master as a file that anybody makes again: ffmpeg's framemd5.

It is what `ffmpeg -i MASTER -map 0:v -fflags +bitexact -f framemd5 -` writes, version 2 of the form.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import av

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.media.codes.sums import frame_size
from lamphouse.graph.media.master.decoded import Picture
from lamphouse.graph.media.master.read_back import decoded
from lamphouse.graph.media.master.record import MasterRecord
from lamphouse.nodes.errors import BadInput

STILL: Final = "rgb48le"  # six bytes a pixel, as ffmpeg decodes stills of R', G', B' of any depth


def write_framemd5(path: Path, master: Path, record: MasterRecord) -> None:
    """Write the file at `path`, whole or not at all.

    Checksums are the record's where it has them all, else those of a decoding of `master`. Raises BadInput
    where that cannot be decoded or `path` not be written.
    """
    with whole_file(path) as file:
        file.write(framemd5(record, _sums(master, record)).encode("ascii"))


def _sums(master: Path, record: MasterRecord) -> list[str]:
    if len(record.pictures) == record.span.frames:
        return list(record.pictures)
    try:
        return [part.sum for part in decoded(master) if isinstance(part, Picture)]
    except (av.FFmpegError, OSError) as error:
        reason = error.strerror or error
        raise BadInput(f"{master} cannot be decoded ({reason}); run `lamphouse verify` on it.") from error


def framemd5(record: MasterRecord, sums: list[str]) -> str:
    """Return the text of the file for a master of those checksums."""
    facts = record.facts
    width, height = map(int, facts["the raster"].split("x"))
    size = frame_size(av.VideoFrame(width, height, facts.get("the pixel format", STILL)))
    rate = record.span.rate
    head = [
        "#format: frame checksums",
        "#version: 2",
        "#hash: MD5",
        f"#tb 0: {rate.denominator}/{rate.numerator}",
        "#media_type 0: video",
        "#codec_id 0: rawvideo",
        f"#dimensions 0: {width}x{height}",
        f"#sar 0: {_aspect(facts.get('the pixel aspect', '1'))}",
        "#stream#, dts,        pts, duration,     size, hash",
    ]
    rows = (f"0, {n:>10}, {n:>10}, {1:>8}, {size:>8}, {found}" for n, found in enumerate(sums))
    return "\n".join([*head, *rows]) + "\n"


def _aspect(stated: str) -> str:
    """Return the pixel aspect as ffmpeg writes it, 0/1 where none is stated."""
    wide, _, high = stated.partition("/")
    return f"{wide}/{high or 1}" if wide.isdigit() else "0/1"
