"""CDLs in XML: `.cc`, `.ccc` and `.cdl`, out and in.

ASC CDL v1.2 (2009), second-hand: a ColorCorrection holds a SOPNode and a SatNode; a collection holds
corrections; a decision list ties each to its media.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree as ET

from lamphouse.graph.files.plain_name import plain_name
from lamphouse.graph.files.whole_file import whole_file
from lamphouse.graph.reel.records import Cue
from lamphouse.nodes.cdl import Cdl, Clamp
from lamphouse.nodes.errors import BadInput, clause, near_names
from lamphouse.nodes.luts.cdl_xml import fill_cdl
from lamphouse.nodes.luts.xml_text import xml_bytes, xml_text
from lamphouse.nodes.luts.xml_tree import Element, read_xml
from lamphouse.nodes.regular_file import read_regular

# The ten numbers are those of release 1.2, which brought the saturation; the namespace is that of 1.01, the
# only one that files are known to carry (second-hand). One of 1.2 is known from memory. Both are read.
NAMESPACE: Final = "urn:ASC:CDL:v1.01"

# The form has no place for it: this is how its description says whether a CDL clamps.
MEANT: Final[dict[Clamp, str]] = {"yes": "Meant with clamping", "no": "Meant without clamping"}

# Other spellings are met in files: second-hand.
SOP: Final = ("SOPNode", "ASC_SOP")
SAT: Final = ("SatNode", "SATNode", "ASC_SAT")


@dataclass(frozen=True, slots=True)
class Correction:
    """A CDL as a file holds it: what it is called, the ten numbers, sentences on it."""

    name: str
    cdl: Cdl
    descriptions: tuple[str, ...] = ()


def write_cdl(path: Path, cdl: Cdl, name: str, descriptions: list[str], media: str) -> None:
    """Write `cdl` at `path`, whole or not at all, in the form that its ending asks for.

    `name` becomes its id; `media` is what a decision list refers to. Raises BadInput where it cannot
    be written.
    """
    with whole_file(path) as file:
        file.write(cdl_bytes(path.suffix.lower(), [Correction(name, cdl, tuple(descriptions))], media))


def cdl_bytes(ending: str, corrections: Sequence[Correction], media: str) -> bytes:
    """Return the file of that ending that holds `corrections`, of which a `.cc` has but one.

    Their ids are their names as XML allows them, each once. `media` is what a decision list refers to.
    """
    ids = unique_ids([one.name for one in corrections])
    made = [_correction(one, id_) for one, id_ in zip(corrections, ids, strict=True)]
    if ending == ".cc":
        return xml_bytes(made[0])
    if ending == ".ccc":
        root = ET.Element("ColorCorrectionCollection", xmlns=NAMESPACE)
        root.extend(made)
        return xml_bytes(root)
    root = ET.Element("ColorDecisionList", xmlns=NAMESPACE)
    for one in made:
        decision = ET.SubElement(root, "ColorDecision")
        ET.SubElement(decision, "MediaRef", ref=xml_text(media, "?"))
        decision.append(one)
    return xml_bytes(root)


def _correction(one: Correction, id_: str) -> ET.Element:
    correction, descriptions = ET.Element("ColorCorrection", id=id_), [*one.descriptions]
    if one.cdl.clamp:
        descriptions.append(f"{MEANT[one.cdl.clamp]}; codes of the scan in, video signal out.")
    fill_cdl(correction, one.cdl, lambda value: f"{value:.9g}", descriptions)
    return correction


def cue_id(cue: Cue) -> str:
    """Return what the CDL of a cue is called: its name, or its frame where it has none."""
    return cue.name or f"cue {cue.frame}"


def unique_ids(names: Sequence[str]) -> list[str]:
    """Return the id of each name, as XML allows it; of those alike the second ends in -2, and so on."""
    taken: dict[str, None] = {}
    after: dict[str, int] = {}
    for plain in map(identifier, names):
        free = next(n for n in count(after.get(plain, 1)) if _numbered(plain, n) not in taken)
        after[plain] = free + 1
        taken[_numbered(plain, free)] = None
    return list(taken)


def _numbered(name: str, number: int) -> str:
    return name if number == 1 else f"{name}-{number}"


def identifier(name: str) -> str:
    """Return `name` as an id of XML: letters, digits, - _ and . alone, beginning with a letter."""
    plain = plain_name(name, "")
    return plain if plain[:1].isalpha() else f"cue-{plain}".rstrip("-")


def read_cdl(path: Path, wanted: str | None = None) -> Cdl:
    """Return the CDL in the file `path`: the one whose id is `wanted`, or the only one.

    Raises BadInput for a file that cannot be read, that holds none, or several where none is named.
    """
    corrections = _corrections(path)
    names = [correction.attributes.get("id", "") for correction in corrections]
    if wanted is not None:
        if wanted not in names:
            raise BadInput(
                f"{path} holds no CDL with the id {wanted}{near_names(wanted, filter(None, names))}."
            )
        return _read(corrections[names.index(wanted)], str(path))
    if len(corrections) != 1:
        known = ", ".join(filter(None, names))
        choose = f"name one as {path.name}#ID ({known})" if corrections else "give another file"
        raise BadInput(f"{path} holds {len(corrections)} CDLs; {choose}.")
    return _read(corrections[0], str(path))


def read_corrections(path: Path) -> list[tuple[str, Cdl | str]]:
    """Return the id of every CDL in the file `path`, and the CDL or, as a clause, why it is none.

    Raises BadInput for a file that cannot be read or holds none.
    """
    found = [(each.attributes.get("id", ""), _or_reason(each)) for each in _corrections(path)]
    if not found:
        raise BadInput(f"{path} holds 0 CDLs; give another file.")
    return found


def _or_reason(correction: Element) -> Cdl | str:
    try:
        return _read(correction, "it")
    except BadInput as error:
        return clause(error)


def _corrections(path: Path) -> list[Element]:
    return [element for element in _root(path).walk() if element.name == "ColorCorrection"]


def _root(path: Path) -> Element:
    try:
        return read_xml(read_regular(path), str(path))
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror}); give another file.") from error


def _read(correction: Element, where: str) -> Cdl:
    sop, sat = _child(correction, SOP), _child(correction, SAT)
    numbers: dict[str, Any] = {}
    if sop is not None:
        for tag in ("Slope", "Offset", "Power"):
            numbers[tag.lower()] = _numbers(_child(sop, (tag,)), tag, 3, where)
    if sat is not None:
        (numbers["saturation"],) = _numbers(_child(sat, ("Saturation",)), "Saturation", 1, where)
    cdl = Cdl(**numbers, clamp=_said_of_clamping(correction))
    if cdl.fault:
        raise BadInput(f"{where}: {cdl.fault}; correct the file.")
    return cdl


def _said_of_clamping(correction: Element) -> Clamp:
    """Return "yes", "no", or nothing where no description says it as we do."""
    texts = [element.text for element in correction.walk() if element.name == "Description"]
    return next(
        (clamp for clamp, words in MEANT.items() if any(text.startswith(words) for text in texts)), ""
    )


def _child(element: Element, names: tuple[str, ...]) -> Element | None:
    return next((child for child in element.children if child.name in names), None)


def _numbers(element: Element | None, tag: str, count: int, where: str) -> tuple[float, ...]:
    words = element.text.split() if element is not None else []
    try:
        numbers = tuple(float(word) for word in words)
    except ValueError:
        numbers = ()
    if len(numbers) != count or not all(map(math.isfinite, numbers)):
        wanted = "a number" if count == 1 else f"{count} numbers"
        raise BadInput(f"{where} must have {wanted} in {tag}; correct the file.")
    return numbers
