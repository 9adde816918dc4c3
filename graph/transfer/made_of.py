"""What a pass is made of: everything that decides its frames, by the name that a person has for it.

Two passes of which all of this is equal give equal frames. Where it is not, what differs can be named.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec

from lamphouse import __version__
from lamphouse.graph.files.digest import digest_of_contents, digest_of_files, digest_of_parts
from lamphouse.graph.files.json_document import write_document
from lamphouse.graph.files.record import Record, spread
from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.master.pass_record import MadeOf
from lamphouse.graph.media.scan.scan import STILLS
from lamphouse.graph.reel.records import UNSAID, SoundRef
from lamphouse.graph.reel.store import encode
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.one_line import one_line

if TYPE_CHECKING:
    from lamphouse.graph.transfer.plan import Plan

GONE: Final = "not there"  # whoever opens it says so better


def made_of(pass_: Plan, grade: Grade) -> MadeOf:
    """Return a digest of each thing that decides the frames and the sound of `pass_`."""
    scan = msgspec.structs.replace(pass_.reel.scan, fixity=None)  # that of now is told by itself
    reel = msgspec.structs.replace(
        pass_.reel, about=UNSAID, scan=scan, marks=(), deliveries={}
    )  # none of them makes a frame
    said = {
        "the reel": hashlib.sha256(encode(reel)).hexdigest(),
        "the delivery": _digest(pass_.delivery),
        "the places": f"{pass_.start} to {pass_.stop}",
        "the nodes left out": one_line(", ".join(pass_.without)),
        "the version of Lamphouse": __version__,
    }
    return said | dict(_media(pass_)) | dict(_files(pass_, grade)) | dict(_plugins(pass_))


def _media(pass_: Plan) -> Iterable[tuple[str, str]]:
    reel = pass_.reel
    yield f"the scan {one_line(reel.scan.path)}", _tried(_scan, pass_.opened.scan_path)
    if reel.sound is not None and pass_.delivery.sound is not None:
        digest = _tried(digest_of_parts, pass_.opened.sound_path)
        yield f"the sound {one_line(reel.sound.path)}", digest + _placed(reel.sound)


def _placed(ref: SoundRef) -> str:
    """Return where a sound lies beside the film, where that is not at its beginning and at its rate."""
    plain = SoundRef(path=ref.path)
    if ref == plain:
        return ""
    return f" from frame {ref.starts_at} and {ref.offset} s at {ref.rate}"


def _scan(path: Path) -> str:
    if path.is_dir() or path.suffix.lower() in STILLS:
        from lamphouse.graph.media.scan.still_sequence import find_sequence

        return digest_of_files(list(find_sequence(path).files.values()))
    return digest_of_parts(path)


def _files(pass_: Plan, grade: Grade) -> Iterable[tuple[str, str]]:
    for name in grade.files(range(pass_.start, pass_.stop)):
        yield f"the file {one_line(name)}", _tried(digest_of_contents, [pass_.opened.folder / name])


def _plugins(pass_: Plan) -> Iterable[tuple[str, str]]:
    catalogue = pass_.opened.catalogue
    for node in pass_.reel.chain.nodes:
        if files := catalogue.files(node.kind):
            yield f"the plug-in {catalogue.source(node.kind)}", _tried(digest_of_contents, files)


def _tried(digest: Callable[[Any], str], of: Any) -> str:
    try:
        return digest(of)
    except (OSError, BadInput):
        return GONE


def _digest(record: Record) -> str:
    return hashlib.sha256(write_document(spread(record), "The delivery")).hexdigest()
