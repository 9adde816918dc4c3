"""Words of older files, put in those of today. What is not as it should be stays, for the reader to name."""

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

Document = dict[str, Any]
Words = Mapping[str, str]

# By the kinds of nodes as reel/1 and sticks/1 have them.
KINDS: Final[Words] = {"passage": "mix", "white": "white_balance"}
PARAMETERS: Final[Mapping[str, Words]] = {
    "passage": {"key": "share"},
    "secondary": {"turn": "hue_shift"},
    "ellipse": {"centre_across": "centre_x", "centre_down": "centre_y"},
    "lut": {"takes": "input", "gives": "output", "between": "interpolation"},
    "knee": {
        "high": "highlights_amount",
        "high_start": "highlights_start",
        "high_end": "highlights_end",
        "low": "shadows_amount",
        "low_start": "shadows_start",
        "low_end": "shadows_end",
    },
}
CUE: Final[Words] = {"arrive": "begins", "over": "length"}


def to_reel_2(document: Document) -> Document:
    """Return a reel of version 1 as version 2 has it. A node that bears its old kind's name gets the new."""
    kinds = _kinds_by_name(document)
    names = _names(kinds)

    def key(old: str) -> str:
        node, dot, rest = old.partition(".")
        return f"{names.get(node, node)}{dot}{_parameter(rest, kinds.get(node, ''))}"

    def node(old: Document) -> Document:
        old = _with(old, "name", str, lambda name: names.get(name, name))
        old = _with(old, "kind", str, lambda kind: KINDS.get(kind, kind))
        return _with(old, "inputs", list, lambda wires: [_word(wire, names) for wire in wires])

    def chain(old: Document) -> Document:
        old = _with(old, "nodes", list, lambda nodes: _each(nodes, node))
        return _with(old, "output", str, lambda output: names.get(output, output))

    def cue(old: Document) -> Document:
        return _with(_renamed(old, CUE), "settings", dict, lambda s: {key(k): v for k, v in s.items()})

    document = _with({**document, "record": "reel/2"}, "chain", dict, chain)
    return _with(document, "cues", list, lambda cues: _each(cues, cue))


def to_sticks_2(document: Document) -> Document:
    """Return a mapping of sticks of version 1 as version 2 has it: nodes are known by their names alone."""

    def control(old: str) -> str:
        node, dot, rest = old.partition(".")
        kind = re.sub(r"_\d+$", "", node)
        return f"{_name(node, kind)}{dot}{_parameter(rest, kind)}"

    return _with(
        {**document, "record": "sticks/2"},
        "moves",
        list,
        lambda moves: _each(moves, lambda move: _with(move, "control", str, control)),
    )


def _kinds_by_name(document: Document) -> dict[str, str]:
    chain = document.get("chain")
    nodes = chain.get("nodes") if isinstance(chain, dict) else None
    refs = [ref for ref in nodes if isinstance(ref, dict)] if isinstance(nodes, list) else []
    pairs = ((ref.get("name"), ref.get("kind")) for ref in refs)
    return {name: kind for name, kind in pairs if isinstance(name, str) and isinstance(kind, str)}


def _names(kinds: Words) -> dict[str, str]:
    new = {name: _name(name, kind) for name, kind in kinds.items()}
    return {old: name for old, name in new.items() if name not in kinds}


def _name(name: str, kind: str) -> str:
    if kind in KINDS and re.fullmatch(rf"{kind}(_\d+)?", name):
        return KINDS[kind] + name.removeprefix(kind)
    return name


def _parameter(rest: str, kind: str) -> str:
    """Return `PARAM` or `PARAM.on`, the switch of one, in today's words."""
    parameter, dot, switch = rest.partition(".")
    return f"{PARAMETERS.get(kind, {}).get(parameter, parameter)}{dot}{switch}"


def _word(value: object, words: Words) -> object:
    return words.get(value, value) if isinstance(value, str) else value


def _renamed(mapping: Document, words: Words) -> Document:
    """Return `mapping` with its keys in new words; a stranger's field that has one of those makes room."""
    strangers = {new: f"{new}_before" for new in words.values()}
    return {words.get(key) or strangers.get(key, key): value for key, value in mapping.items()}


def _each(members: list[Any], change: Callable[[Document], Document]) -> list[Any]:
    return [change(member) if isinstance(member, dict) else member for member in members]


def _with(mapping: Document, name: str, kind: type, change: Callable[[Any], object]) -> Document:
    """Return `mapping` with its member `name` changed, where that is of the kind that it should be."""
    member = mapping.get(name)
    return {**mapping, name: change(member)} if isinstance(member, kind) else mapping
