"""A reel as it is worked on: opened, with the file that holds it and the nodes that are here."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from lamphouse.graph.chain.installed import installed
from lamphouse.graph.chain.resolve import missing, missing_text
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.reel.records import ChainRef, NodeRef, Reel
from lamphouse.graph.reel.store import change, load, media_path
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, Note
from lamphouse.nodes.values import Settings

if TYPE_CHECKING:
    from lamphouse.graph.chain.program import Program
    from lamphouse.graph.media.scan.scan import Scan


@dataclass(frozen=True, slots=True, eq=False)
class OpenedReel:
    """A reel, the file that holds it and the nodes that its chain may name; and what follows from the three.

    What a reel names is relative to its file, and what a node of its chain is the catalogue knows: so
    whoever reads its media or makes its pictures takes this. Who needs the reel alone takes the reel.
    """

    file: Path
    reel: Reel
    catalogue: Catalogue

    def with_reel(self, reel: Reel) -> OpenedReel:
        """Return another state of the same reel, opened."""
        return replace(self, reel=reel)

    @property
    def folder(self) -> Path:
        """Where files that its settings name are looked for."""
        return self.file.parent

    @property
    def scan_path(self) -> Path:
        """Where its scan lies."""
        return media_path(self.file, self.reel.scan.path)

    @property
    def sound_path(self) -> Path | None:
        """Where its sound lies, if it has any."""
        sound = self.reel.sound
        return None if sound is None else media_path(self.file, sound.path)

    def open_scan(self, *, any_order: bool = False) -> Scan:
        """Return its scan, opened; a Note says where its file is not the one that the reel was made with.

        With `any_order` its frames are to be read in any.

        Raises BadInput where it is of another length or raster.
        """
        from lamphouse.graph.media.scan.open import open_scan

        known = self.reel.scan
        scan = open_scan(self.scan_path, matrix=known.matrix, range_=known.range, any_order=any_order)
        try:
            self.check_scan(scan)
            self._note_fixity(scan)
        except BadInput:
            scan.close()
            raise
        return scan

    def _note_fixity(self, scan: Scan) -> None:
        from lamphouse.graph.media.scan.fixity import difference, fixity_of

        known = self.reel.scan.fixity  # none in a reel of an older version
        if known is None or not (other := difference(known, fixity_of(scan.path))):
            return
        sentence = (
            f"{scan.path} is not the file that {self.file.name} was made with: {other}; bring that one back, "
            "or say that this is right with `lamphouse reel REEL --scan PATH`."
        )
        warnings.warn(sentence, Note, stacklevel=3)

    def check_scan(self, scan: Scan) -> None:
        """Raise BadInput, with what differs, where `scan` is not what the reel was made with."""
        known = self.reel.scan
        found = f"{scan.frames} frames of {scan.width}x{scan.height}"
        made_with = f"{known.frames} of {known.width}x{known.height}"
        if (scan.frames, scan.width, scan.height) != (known.frames, known.width, known.height):
            raise BadInput(
                f"{scan.path} has {found}, but {self.file.name} was made with {made_with}; bring that scan "
                "back and name it with `lamphouse reel REEL --scan PATH`, or make a new reel."
            )

    @property
    def missing(self) -> list[NodeRef]:
        """The nodes of its chain that nothing here declares."""
        return missing(self.reel.chain, self.catalogue)

    @property
    def missing_notes(self) -> tuple[str, ...]:
        """A sentence on those, where there are any and work goes on without them."""
        gone = missing_text(self.missing, self.catalogue) if self.missing else ""
        return (f"{gone}; pictures pass through, settings are kept.",) if gone else ()

    def refuse_missing(self, without: Collection[str] = (), way_on: str = "take it out of the chain") -> None:
        """Raise BadInput where a node of its chain is missing, but for those named in `without`."""
        if refs := [ref for ref in self.missing if ref.name not in without]:
            raise BadInput(f"{missing_text(refs, self.catalogue)}; put that right, or {way_on}.")

    def program(self, chain: ChainRef | None = None) -> Program:
        """Return its chain, or another, made ready. Raises BadInput for one that is not whole."""
        from lamphouse.graph.chain.program import Program

        colour = self.reel.scan.colour
        return Program(
            chain or self.reel.chain,
            colour.transfer,
            self.catalogue,
            self.folder,
            primaries=colour.primaries,
        )

    def controls(self) -> Controls:
        """Return the parameters and switches of its chain."""
        return Controls(self.reel.chain, self.catalogue)

    def settings(self, frame: int) -> Settings:
        """Return every parameter's value at `frame`. Raises BadInput for cues and tracks that cannot be."""
        return CueList(self.reel.cues, self.controls(), self.reel.tracks).at(frame)


def open_reel(file: Path, catalogue: Catalogue | None = None) -> OpenedReel:
    """Return the reel in `file`, opened with the nodes of `catalogue`, or with all of this machine.

    Raises BadInput with the file and the place in it.
    """
    return OpenedReel(file, load(file), installed() if catalogue is None else catalogue)


def change_reel(
    file: Path, edit: Callable[[OpenedReel], Reel], catalogue: Catalogue | None = None
) -> OpenedReel:
    """Save what `edit` makes of the reel in `file`, and return that opened, as `open_reel` does.

    Nobody else changes the file in between. Raises BadInput as `store.change` does.
    """
    nodes = installed() if catalogue is None else catalogue
    return OpenedReel(file, change(file, lambda reel: edit(OpenedReel(file, reel, nodes))), nodes)
