"""What comes from others, or comes back after years: records, lists of shots, bags.

Nothing that lies outside the folder of these may be opened. Of a bag one file is made wrong by chance, which
the check must name.
"""

import hashlib
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from samples import PRESETS, REEL

from lamphouse.graph.check.verify import check_files
from lamphouse.graph.handover.bag.check import check_bag
from lamphouse.graph.handover.bag.manifests import SUMS
from lamphouse.graph.handover.bag.write import write_bag
from lamphouse.graph.handover.lists.arrive import left_lines, take_list, taken_lines
from lamphouse.graph.handover.lists.leave import write_list
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.record import load_record_file, record_path
from lamphouse.graph.reel.store import encode
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput

BAG = "bag"
ENDING = ".bagged"  # of a file of the bag, whose place in it `bag.json` has
LISTS = ("shots.edl", "shots.otio", "shots.ccc", "shots.cdl")


def make_handed(folder: Path) -> None:
    """Make a master's record, its lists and its bag in `folder`, where `pass.reel` and its scan are."""
    chain = json.loads((PRESETS / "chains" / "cdl.json").read_bytes())["chain"]
    cues = [
        {"frame": 0, "name": "one", "settings": {"cdl.slope": [1.1, 1, 0.9]}},
        {"frame": 3, "name": "two", "settings": {"cdl.slope": [0.9, 1, 1]}},
    ]
    (folder / "handed.reel").write_text(json.dumps(REEL | {"sound": None, "chain": chain, "cues": cues}))
    opened = open_reel(folder / "handed.reel", Catalogue())
    pass_ = plan(opened, delivery("tv", opened.reel.deliveries), 0, opened.reel.scan.frames)
    master = folder / "handed.mkv"
    transfer(pass_, master, _silent)
    for name in LISTS:
        write_list(opened, folder / name)
    shutil.copy(record_path(master), folder / "handed.record")
    write_bag(folder / BAG, opened, master, _silent)
    files = sorted(path for path in (folder / BAG).rglob("*") if path.is_file())
    places = {f"{n:02}-{path.name[-20:]}{ENDING}": path for n, path in enumerate(files)}
    for name, path in places.items():
        shutil.copy(path, folder / name)
    (folder / "bag.json").write_text(
        json.dumps({name: path.relative_to(folder / BAG).as_posix() for name, path in places.items()})
    )
    for cue in cues:
        cue["settings"] = {}  # or nothing would be taken in their place
    (folder / "handed.reel").write_text(json.dumps(REEL | {"sound": None, "chain": chain, "cues": cues}))
    for left in folder.glob("handed.mkv*"):
        left.unlink()


def _silent(*_: object) -> None:
    """Tell nobody."""


def read_record(path: Path) -> None:
    """A record is read, and a movie that is not its master is held against it."""
    record = load_record_file(path)
    encode(record.reel)
    for line in check_files(path.with_name("film.mkv"), record).lines():
        _one_line(line)


def read_shots(path: Path) -> None:
    """A list of shots is taken into a reel, by either of its times, and what is left is said."""
    opened = open_reel(path.parent / "handed.reel", Catalogue())
    for by in (None, "record", "source"):
        try:
            taken = take_list(opened, path, by)
        except BadInput as error:
            _one_line(str(error))
            continue
        encode(taken.reel)
        for line in (*taken_lines(taken), *left_lines(taken)):
            _one_line(line)
    take_list(opened, path)


def read_bag(path: Path) -> None:
    """A bag is checked, one file of which is another: it is named, and not read.

    Then with manifests that agree with it, as whoever means harm would make them: then it is read.
    """
    bag = path.parent / BAG
    place = json.loads((path.parent / "bag.json").read_text())[path.name.removeprefix("input-")]
    before, now = (bag / place).read_bytes(), path.read_bytes()
    (bag / place).write_bytes(now)
    faults = check_bag(bag, _silent).faults
    for fault in faults:
        _one_line(fault.sentence)
    if before != now and not faults:
        raise AssertionError(f"{place} was changed, and nothing is said of it")
    if place.startswith("data/"):
        _list_anew(bag, before, now)
        found = check_bag(bag, _silent)
        for line in found.lines():
            _one_line(line)
        if any(fault.kind in ("manifest", "file differs") for fault in found.faults):
            raise AssertionError(f"{place} is as the manifests say, and is said to differ")


def _list_anew(bag: Path, before: bytes, now: bytes) -> None:
    """Put the digests of what was changed into the manifests, and those of the manifests into theirs."""
    changed = [(before, now)]
    for kind in ("manifest", "tagmanifest"):
        changes = []
        for name in SUMS:
            manifest = bag / f"{kind}-{name}.txt"
            old = manifest.read_bytes()
            new = old
            for one, other in changed:
                new = new.replace(_sum(name, one), _sum(name, other))
            manifest.write_bytes(new)
            changes.append((old, new))
        changed = changes


def _sum(name: str, data: bytes) -> bytes:
    return hashlib.new(name, data).hexdigest().encode()


def _one_line(text: str) -> None:
    if not text or "\n" in text:
        raise AssertionError(f"no sentence: {text!r}")


@cache
def _opened() -> list[str]:
    """Return the list of all that is opened from now on: a hook, once set, stays."""
    seen: list[str] = []

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        if event == "open" and isinstance(arguments[0], str | bytes):
            seen.append(os.fsdecode(arguments[0]))

    sys.addaudithook(hook)
    return seen


@contextmanager
def only_within(folder: Path) -> Iterator[None]:
    """Raise AssertionError where a file is opened that is neither in `folder` nor a part of the program."""
    seen = _opened()
    seen.clear()
    yield
    own = (Path(__file__).parents[2], Path(sys.prefix), Path(sys.base_prefix), folder)
    roots = [str(root.resolve()) for root in own]
    system = (
        "/usr",
        "/proc",
        "/sys",
        "/dev/null",
        "/etc/localtime",
        os.environ.get("LAMPHOUSE_CACHE", "/usr"),
    )
    for name in map(os.path.realpath, seen):
        if not any(name == root or name.startswith(f"{root}/") for root in (*roots, *system)):
            raise AssertionError(f"{name} was opened, which lies outside the folder")


def closed(read: Callable[[Path], None]) -> Callable[[Path], None]:
    """Return `read`, which fails where it opens what lies outside the folder of its input."""

    def within(path: Path) -> None:
        with only_within(path.parent):
            read(path)

    return within


# By reader, the endings of the samples that it reads.
HANDED: dict[Callable[[Path], None], tuple[str, ...]] = {
    closed(read_record): (".record",),
    closed(read_shots): LISTS,
    closed(read_bag): (ENDING,),
}
