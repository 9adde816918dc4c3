"""A master being written. It appears under its name only when it is complete and on the disk."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Final, Protocol, Self

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import Blank, Cut, encode_into
from lamphouse.graph.media.codes.raster import Shape, aspect_of, raster_of
from lamphouse.graph.media.codes.sums import SecondSums
from lamphouse.graph.media.master.containers import CONTAINERS, is_movie
from lamphouse.graph.media.master.decoded import LOSSLESS
from lamphouse.graph.media.master.likeness import means_of
from lamphouse.graph.media.master.movie_out import MovieOut
from lamphouse.graph.media.master.pass_record import Frame, PassRecord
from lamphouse.graph.media.master.read_back import Meant, ReadBack
from lamphouse.graph.media.master.stills_out import StillsOut
from lamphouse.graph.media.master.under_way import UnderWay, remove
from lamphouse.graph.reel.records import Delivery
from lamphouse.nodes.errors import BadInput

MEDIA: Final = (".mkv", ".mp4", ".mov", ".avi", ".mxf", ".tif", ".tiff", ".dpx", ".exr", ".png", ".wav")
DISK_FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


class Output(Protocol):
    """What a master is written into, under its working name."""

    @property
    def sound(self) -> SecondSums | None:
        """Checksums of the samples written so far, where their coding is lossless."""

    def blank(self) -> Blank:
        """Return the next picture, to be filled."""

    def sum_of(self, filled: Blank) -> str:
        """Return the checksum of a picture, as it must come back."""

    def write(self, filled: Blank) -> int:
        """Write the next picture and return the CRC-32 of what holds it."""

    def continues(self, extradata: bytes | None) -> bool:
        """Say whether frames that were made under this header may stand beside those written here."""

    def copy(self, data: bytes) -> None:
        """Write the next picture as the bytes that were made of it before."""

    def write_sound(self, block: NDArray[np.float32]) -> None:
        """Write the next samples (channels, n)."""

    def finish(self) -> None:
        """Complete what is written."""

    def close(self) -> None:
        """Let go of what is written, as it is."""


class Master:
    """A master under way: pictures in order, the sound of a picture after it, then `finish`.

    `meant` is what it must hold, for a read-back; `record` is told of each frame. Whoever opened it leaves
    its `with` block once no other thread uses it: that closes what is not finished, and what has more than a
    frame stays under its working name. Where writing fails, BadInput says why.
    """

    def __init__(
        self,
        way: UnderWay,
        delivery: Delivery,
        shape: Shape,
        rate: Fraction,
        output: Output,
        *,
        goes_on: bool = False,
    ) -> None:
        self.path, self.delivery, self.shape, self.rate = way.master, delivery, shape, rate
        self.meant = Meant()
        self.is_lossless = delivery.codec in LOSSLESS
        self.frames = 0
        self.kept = 0  # frames that an earlier pass made
        self.cuts: list[Cut] = []  # what was cut of each frame
        self.notes: tuple[str, ...] = ()  # what the pass met that a person should know of
        self.record: PassRecord | None = None
        self.seen_by: Callable[[int, Blank], None] | None = None  # is shown each picture, with its number
        self.found: ReadBack | None = None  # what reading it back found, where somebody did
        self._part, self._output = way.part, output
        self._is_open, self._goes_on = True, goes_on

    def write(self, picture: NDArray[np.float32]) -> None:
        """Write the next picture: R'G'B', (3, height, width) of the delivery's raster."""
        raster = (3, self.shape.height, self.shape.width)
        if picture.shape != raster:
            raise ValueError(f"a picture of this master has the shape {raster}, not {picture.shape}")
        with self._told():
            blank = self._output.blank()
            encode_into(picture, blank.planes, blank.coding)
        self.write_filled(blank)

    def blank(self) -> Blank:
        """Return a picture of this master to be filled, on any thread, and given to `write_filled`."""
        with self._told():
            return self._output.blank()

    def write_filled(self, filled: Blank) -> None:
        """Write the next picture, which `blank` gave and whose planes have been filled."""
        with self._told():
            picture = self._mean(filled)  # before a reader can meet it
            if self.seen_by is not None:
                self.seen_by(self.frames, filled)
            self.frames += 1
            self.cuts.append(filled.cut)
            packet = self._output.write(filled)
            if self.record is not None:
                self.record.add(self.frames - 1, Frame(picture, packet, *filled.cut))

    def _mean(self, filled: Blank) -> str:
        if not self.is_lossless:
            self.meant.means.append(means_of(filled.planes, filled.coding.layout.bits))
            return ""
        picture = self._output.sum_of(filled)
        self.meant.pictures.append(picture)
        return picture

    def can_keep(self, extradata: bytes | None) -> bool:
        """Say whether frames that were made under this header may stand in it beside its own."""
        return self._output.continues(extradata)

    def keep(self, data: bytes, frame: Frame) -> None:
        """Write the next picture as what was made of it before."""
        with self._told():
            self.meant.pictures.append(frame.picture)
            self.cuts.append(frame.cut)
            self.frames += 1
            self._output.copy(data)
            self.kept += 1
            if self.record is not None:
                self.record.add(self.frames - 1, frame)

    def note_read_back(self, frames: int) -> None:
        """Write down that so many frames have been read back and found good."""
        if self.record is not None:
            with self._told():
                self.record.read_back(frames)

    def write_sound(self, block: NDArray[np.float32]) -> None:
        """Write the next samples (channels, n), full scale 1. They must begin before the second picture."""
        with self._told():
            self._output.write_sound(block)
            self.meant.sound = self._output.sound

    def complete(self) -> None:
        """Complete the master and force it to disk, still under its working name."""
        with self._told():
            self._output.finish()
            if self._part.is_file():
                _sync_file(self._part)
        self._is_open = False

    def finish(self) -> None:
        """Give the master its name, and complete it first where it is not."""
        if self._is_open:
            self.complete()
        if os.path.lexists(self.path):
            raise BadInput(
                f"{self.path} has appeared meanwhile; the finished master is {self._part}: rename it."
            )
        try:
            self._part.replace(self.path)
        except OSError as error:
            raise BadInput(
                f"{self.path} cannot be given its name ({error.strerror}); the finished master is "
                f"{self._part}: rename it."
            ) from error
        _sync_folder(self.path.parent)

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise BadInput(_sentence(error, self.path, self.frames)) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if not self._is_open:
            return
        self._is_open = False
        self._output.close()
        # The first waits for its sound: nothing of it need be in the file yet.
        if self.frames <= 1 and not self._goes_on:
            remove(self._part)


def open_master(
    path: Path,
    delivery: Delivery,
    *,
    rate: Fraction,
    timecode: str,
    width: int,
    height: int,
    pixel_aspect: Fraction,
    reel: str = "",
    first: int = 0,
    goes_on: bool = False,
) -> Master:
    """Begin a master at `path`: a movie file, or a folder of numbered stills.

    `timecode` is that of the first frame, `reel` the name of its reel; `width`, `height` and `pixel_aspect`
    are the scan's, and the master's where the delivery has no raster of its own; `first` is the number of the
    first still. Until it is finished it is `NAME.part`; where it `goes_on` that is a folder with stills of an
    earlier pass.
    Raises BadInput for a name that is taken or does not fit, and for a delivery that cannot be written.
    """
    way = UnderWay(path)
    check_name(path, delivery)
    shape = Shape(*raster_of(delivery, width, height), aspect_of(delivery, pixel_aspect))
    if not goes_on:
        _claim(way.part, delivery.container)
    try:
        if is_movie(delivery.container):
            movie = MovieOut(way.part, delivery, shape, rate=rate, timecode=timecode, reel=reel)
            return Master(way, delivery, shape, rate, movie)
        stills = StillsOut(way.part, path.name, delivery, shape, rate=rate, timecode=timecode, first=first)
        return Master(way, delivery, shape, rate, stills, goes_on=goes_on)
    except BaseException:
        if not goes_on:
            remove(way.part)
        raise


def check_name(path: Path, delivery: Delivery) -> None:
    """Raise BadInput where a master of `delivery` cannot be called `path`, or something is."""
    fitting = CONTAINERS[delivery.container].suffix
    suffix = path.suffix.lower()
    if fitting and suffix != fitting:
        raise BadInput(f"{path}: a {delivery.container} master is called NAME{fitting}; give such a name.")
    if not fitting and suffix in MEDIA:
        raise BadInput(
            f"{path}: {delivery.container} stills go into a folder; give a name without {path.suffix}."
        )
    if os.path.lexists(path):
        raise BadInput(f"{path} exists already; remove or rename it first, or choose another name.")


def _claim(part: Path, container: str) -> None:
    """Take the working name, so that a second pass cannot write into it, nor this one through a link."""
    try:
        if is_movie(container):
            part.touch(exist_ok=False)
        else:
            part.mkdir()
    except FileExistsError as error:
        raise BadInput(f"{part} is there already; remove it, or choose another name.") from error
    except OSError as error:
        what = part if part.parent.is_dir() else f"{part.parent}, the folder of the master,"
        raise BadInput(f"{what} cannot be written to ({error.strerror}); choose another place.") from error


def _sync_file(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())


def _sync_folder(path: Path) -> None:
    with suppress(OSError):  # some systems cannot, and then there is nothing to be done
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sentence(error: OSError, path: Path, frames: int) -> str:
    reason = error.strerror or str(error)
    at = f"at frame {max(frames, 1) - 1} of {path}"
    if error.errno in DISK_FULL:
        place = path.absolute().parent
        return f"The disk is full ({reason}) {at}; make room in {place} or choose another place."
    return f"Nothing more can be written {at} ({reason}); see to the disk or choose another place."
