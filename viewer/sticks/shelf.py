"""Which mapping each kind of device works by: a person's own one, else a preset, as it is changed now.

Changes work at once and can be undone; only `keep` writes a mapping, and never over another one.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple, get_args

import msgspec

from lamphouse.graph.files.json_document import read_document, write_document
from lamphouse.graph.files.own_file import make_own_folder
from lamphouse.graph.files.record import Record, gather, spread
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.reel.presets import preset_names
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.regular_file import read_regular
from lamphouse.viewer.history import History
from lamphouse.viewer.sticks.mapping import FOLDER, Device, StickMap, stick_map
from lamphouse.viewer.sticks.own import OwnMaps, keep_own, own_file, own_maps

DEVICES: Final[tuple[Device, ...]] = get_args(Device)
FIRST: Final[dict[Device, str]] = {"gamepad": "gamepad", "joysticks": "two-sticks"}
CHOSEN_FILE: Final = "sticks.json"


class Used(NamedTuple):
    """A mapping in use, and the name of what it began as: a preset, or one of a person's own."""

    name: str
    is_own: bool
    mapping: StickMap


class Chosen(Record, frozen=True, kw_only=True):
    """The mapping last chosen for each kind of device, by name."""

    record: str = "chosen-sticks/1"
    gamepad: str = ""
    joysticks: str = ""


class Shelf:
    """All mappings there are, and the one in use for each kind of device.

    `settings` is the folder of a person's settings; with None nothing is read or written there. `troubles`
    are sentences on what could not be read.
    """

    def __init__(self, settings: Path | None = None) -> None:
        self._settings = settings
        self.presets = {name: stick_map(name) for name in preset_names(FOLDER)}
        self.own, troubles = own_maps(settings) if settings else OwnMaps({}, ())
        self.troubles = list(troubles)
        self._chosen = self._read_chosen()
        self._histories = {device: History(self._first(device)) for device in DEVICES}

    def used(self, device: Device) -> Used:
        """Return what the sticks of that kind work by now."""
        return self._histories[device].now

    def names(self, device: Device) -> tuple[list[str], list[str]]:
        """Return the names of a person's own mappings for that kind of device, and of the presets."""
        own = sorted(name for name, mapping in self.own.items() if mapping.device == device)
        return own, sorted(name for name, mapping in self.presets.items() if mapping.device == device)

    def is_kept(self, device: Device) -> bool:
        """Say whether the mapping in use is as its file or its preset has it."""
        used = self.used(device)
        return used.mapping == (self.own if used.is_own else self.presets)[used.name]

    @property
    def unkept(self) -> list[Device]:
        """The kinds of device whose mapping was changed and not kept."""
        return [device for device in DEVICES if not self.is_kept(device)]

    def free_name(self, device: Device) -> str:
        """Return a name to keep the mapping in use under: its own, or one that is free."""
        used = self.used(device)
        if used.is_own:
            return used.name
        taken, number = {name.casefold() for name in (*self.own, *self.presets)}, 1
        while (name := f"my {used.name}" + (f" {number}" if number > 1 else "")).casefold() in taken:
            number += 1
        return name

    def change(self, device: Device, mapping: StickMap, drag: str | None = None) -> None:
        """Work by `mapping` from now on. Changes of one `drag`, one after the other, are one step to undo."""
        self._histories[device].edit(self.used(device)._replace(mapping=mapping), drag)

    def end_drag(self) -> None:
        """Let the next change be a step of its own."""
        for history in self._histories.values():
            history.end_drag()

    def can_undo(self, device: Device) -> bool:
        """Say whether something can be undone."""
        return self._histories[device].can_undo

    def undo(self, device: Device) -> None:
        """Take the last change or choice back."""
        self._histories[device].undo()

    def choose(self, device: Device, name: str, *, is_own: bool) -> None:
        """Work by a mapping that is on the shelf, also at the next start. Raises BadInput like `keep`."""
        self._histories[device].edit(Used(name, is_own, (self.own if is_own else self.presets)[name]))
        self._write_chosen(device, name)

    def back_to_preset(self, device: Device) -> None:
        """Work by the preset that the mapping in use began as, or by the first for its kind of device."""
        used = self.used(device)
        self.choose(device, FIRST[device] if used.is_own else used.name, is_own=False)

    def keep(self, device: Device, name: str) -> None:
        """Keep the mapping in use under a name. Raises BadInput where the name is taken or the disk fails."""
        used, name = self.used(device), name.strip()
        self._check_free(used, name)
        # What the preset says of itself need not hold for what became of it.
        mapping = used.mapping if used.is_own else msgspec.structs.replace(used.mapping, sentence="")
        if self._settings is not None:
            keep_own(self._settings, name, mapping)
        self.own[name] = mapping
        self._histories[device].now = Used(name, True, mapping)  # no step: it is what it was
        self._write_chosen(device, name)

    def _check_free(self, used: Used, name: str) -> None:
        path = own_file(self._settings or Path(), name)
        if used.is_own and used.name == name:
            return
        if name.casefold() in {preset.casefold() for preset in self.presets}:
            raise BadInput(f"{name} is the name of a preset; give another.")
        if name in self.own or (self._settings is not None and path.exists()):
            raise BadInput(f"There is a mapping called {name} already; give another name.")

    def _first(self, device: Device) -> Used:
        """Return the mapping chosen last, else a person's own one, else the preset."""
        own, presets = self.names(device)
        chosen: str = getattr(self._chosen, device)
        if chosen in presets and chosen not in own:
            return Used(chosen, False, self.presets[chosen])
        if own:
            name = chosen if chosen in own else own[0]
            return Used(name, True, self.own[name])
        return Used(FIRST[device], False, self.presets[FIRST[device]])

    def _read_chosen(self) -> Chosen:
        path = self._settings / CHOSEN_FILE if self._settings else None
        if path is None or not path.exists():
            return Chosen()
        try:
            return gather(read_document(read_regular(path), str(path), "a choice of joysticks"), Chosen)
        except (BadInput, OSError) as error:
            self.troubles.append(
                f"{path} cannot be read ({str(error).rstrip('.')}); choose the joysticks' mapping again."
            )
            return Chosen()

    def _write_chosen(self, device: Device, name: str) -> None:
        self._chosen = msgspec.structs.replace(self._chosen, **{device: name})
        if self._settings is not None:
            make_own_folder(self._settings)
            with whole_file(self._settings / CHOSEN_FILE) as file:
                file.write(write_document(spread(self._chosen), str(self._settings)))
