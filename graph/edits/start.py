"""The start of a reel: what its scan says, what a person says, and a setting for this stock."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.edits.counters import of_scan, with_start
from lamphouse.graph.edits.scan_colour import check_words, fields_of, sentence, taken
from lamphouse.graph.edits.sound import Offset, parse_offset
from lamphouse.graph.media.scan.fixity import fixity_of
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.media.sound.facts import sound_facts, sound_notes
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.film_shapes import squeezed
from lamphouse.graph.reel.presets import DEFAULT_CHAIN, StockPreset, chain_preset, stock_preset
from lamphouse.graph.reel.records import UNSAID, About, ChainRef, Counting, Cue, Reel, ScanRef, SoundRef
from lamphouse.graph.reel.store import save, stored_path
from lamphouse.graph.time.footage import frames_per_foot
from lamphouse.graph.time.rate import parse_rate, rate_text
from lamphouse.nodes.colour_encoding import TRANSFERS
from lamphouse.nodes.errors import BadInput


@dataclass(frozen=True, slots=True)
class Start:
    """What a person says when a reel is started; None where they leave it to us."""

    scan: Path
    sound: Path | None = None
    rate: str | None = None
    gauge: str = "35mm"
    encoding: str | None = None
    chain: str | None = None
    stock: str | None = None
    matrix: str | None = None
    range: str | None = None
    shape: str | None = None  # of the film's picture
    start: str | None = None
    counting: Counting | None = None
    sound_rate: str | None = None
    sound_offset: str | None = None
    primaries: str | None = None
    about: About = UNSAID


@dataclass(frozen=True, slots=True)
class Started:
    """A new reel, and what a person should know of its scan."""

    reel: Reel
    notes: tuple[str, ...]


def new_reel(
    reel_file: Path, start: Start, step: Step | None = None, checked: tuple[str, ...] | None = None
) -> Started:
    """Write a new reel to `reel_file`, where nothing is. Raises BadInput, and as `start_reel` does."""
    if reel_file.exists():
        raise BadInput(f"{reel_file} exists; remove it first, or give another name.")
    started = start_reel(reel_file, start, step, checked)
    save(reel_file, started.reel)
    return started


def start_reel(
    reel_file: Path, start: Start, step: Step | None = None, checked: tuple[str, ...] | None = None
) -> Started:
    """Return a new reel for `reel_file`, with one cue at frame 0. Raises BadInput for what cannot be.

    `step` is told how far the numbering of a long scan has come. `checked` is what `Scan.check_all` found,
    where that is known already.
    """
    _beginning(start)  # what cannot be is told before a long scan is numbered
    with open_scan(start.scan, matrix=start.matrix, range_=start.range, step=step) as scan:
        reel = reel_from(reel_file, start, scan)
        found = scan.check_all(step) if checked is None else checked
        return Started(reel, (*scan.notes, *found, *_notes(start, scan, reel)))


def reel_from(reel_file: Path, start: Start, scan: Scan) -> Reel:
    """Return the new reel for `reel_file` of an opened scan. Raises BadInput for what cannot be."""
    stock, chain, cue = _beginning(start)
    start = _for_stock(start, stock, scan)
    reel = Reel(
        about=start.about,
        scan=_scan_ref(reel_file, scan, start),
        sound=_sound_ref(reel_file, start, scan),
        gauge=start.gauge,
        shape=start.shape,
        rate=rate_text(_rate(start.rate, scan)),
        chain=chain,
        cues=(cue,),
    )
    return _with_start(reel, start, scan)


def _beginning(start: Start) -> tuple[StockPreset | None, ChainRef, Cue]:
    """Return the stock, the chain and the first cue, whatever the scan is. Raises BadInput."""
    check_words(start.encoding, start.primaries)
    frames_per_foot(start.gauge)
    stock = stock_preset(start.stock) if start.stock else None
    _refuse_other_signal(start, stock)
    chain = chain_preset(start.chain or (stock.chain if stock else DEFAULT_CHAIN)).chain
    cue = Cue(frame=0, name="start", settings=_stock_settings(start.stock, stock, chain))
    return stock, chain, cue


def _refuse_other_signal(start: Start, stock: StockPreset | None) -> None:
    """Raise BadInput where a person says video, or light, for a stock that is for densities."""
    if stock is None or stock.encoding is None or start.encoding is None:
        return
    if not _is_same_signal(start.encoding, stock.encoding):
        raise BadInput(
            f"The stock {start.stock} is for a scan in {stock.encoding}, and --encoding says "
            f"{start.encoding}; leave --encoding out, or choose another stock."
        )


def _for_stock(start: Start, stock: StockPreset | None, scan: Scan) -> Start:
    """Return what a person says, with the encoding of the stock where neither they nor the tags say such."""
    if stock is None or stock.encoding is None or start.encoding is not None:
        return start
    tag = scan.stated.transfer
    if tag is not None and tag.name is not None and _is_same_signal(tag.name, stock.encoding):
        return start
    return replace(start, encoding=stock.encoding)


def _is_same_signal(encoding: str, other: str) -> bool:
    return TRANSFERS[encoding].signal is TRANSFERS[other].signal


def _notes(start: Start, scan: Scan, reel: Reel) -> Iterator[str]:
    stock = stock_preset(start.stock) if start.stock else None
    of_stock = stock.encoding if stock is not None else None
    if stock is not None:
        yield stock.sentence
    if of_stock is not None and start.encoding is None:
        yield f"The scan is taken as {reel.scan.encoding}, which is what the stock {start.stock} is for."
    yield sentence(scan.stated, reel.scan.colour, is_said=bool(start.encoding or of_stock))
    if scan.timecode is not None:
        yield _timecode_note(scan.timecode, reel)
    if (sound := start.sound or (scan.path if scan.has_sound else None)) is not None:
        yield from sound_notes(sound, reel)


def _with_start(reel: Reel, start: Start, scan: Scan) -> Reel:
    """Return the reel with the start that a person gives, else its scan's, where that is one."""
    if start.start is None and scan.timecode is not None:
        with suppress(BadInput):
            found, counting = of_scan(scan.timecode, scan.rate, reel.rate)
            return with_start(reel, found, start.counting or counting)
    return with_start(reel, start.start, start.counting)


def _timecode_note(timecode: str, reel: Reel) -> str:
    begins = counter(reel).readings(0).timecode
    if timecode == begins:
        return f"The counters start at the scan's own timecode, {timecode}; --start says otherwise."
    return f"The scan carries timecode {timecode}, and the counters start at {begins}."


def _scan_ref(reel_file: Path, scan: Scan, start: Start) -> ScanRef:
    return ScanRef(
        path=stored_path(reel_file, start.scan),
        **fields_of(taken(scan.stated, start.encoding, start.primaries)),
        frames=scan.frames,
        width=scan.width,
        height=scan.height,
        pixel_aspect=str(squeezed(scan.pixel_aspect, None, start.shape)),
        matrix=start.matrix,
        range=start.range,
        fixity=fixity_of(scan.path),
    )


def _sound_ref(reel_file: Path, start: Start, scan: Scan) -> SoundRef | None:
    path = start.sound or (scan.path if scan.has_sound else None)
    if path is None:
        if start.sound_rate or start.sound_offset:
            raise BadInput("There is no sound to say that of; give --sound.")
        return None
    rate, offset = _recorded(start, scan), Offset()
    if start.sound_offset:
        offset = parse_offset(start.sound_offset, start.gauge, sound_facts(path).rate)
    return SoundRef(
        path=stored_path(reel_file, path), starts_at=offset.frames, offset=str(offset.seconds), rate=rate
    )


def _recorded(start: Start, scan: Scan) -> str | None:
    """Return the film frames a second at which the sound was recorded: a movie's own at the movie's rate."""
    if start.sound_rate is not None:
        return rate_text(parse_rate(start.sound_rate))
    if start.sound not in (None, start.scan) or scan.rate is None:
        return None
    with suppress(BadInput):  # no rate of film: it is taken for the reel's
        return rate_text(scan.rate)
    return None


def _rate(given: str | None, scan: Scan) -> Fraction:
    if given is not None:
        return parse_rate(given)
    if scan.rate is None:
        raise BadInput(f"{scan.path} does not say its rate; give --rate, such as 18 or 24.")
    return parse_rate(str(scan.rate))


def _stock_settings(name: str | None, stock: StockPreset | None, chain: ChainRef) -> dict[str, Any]:
    if stock is None:
        return {}
    where = f"The stock {name} does not fit this chain: "
    return dict(Controls(chain, installed()).check(stock.settings, where))
