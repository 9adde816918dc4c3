"""What a person is told is one sentence: a capital first, or a path or name as typed; a full stop last.

Common practice, no source. The sources are read, not run, so that no message waits until its fault occurs.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from lamphouse.nodes.errors import BadInput, clause, stem

ROOT = Path(__file__).parent.parent
TOLD = {"BadInput", "CheckFailed", "Stopped", "Held", "Changed", "NotThere"}
ROOMS = ("nodes", "graph", "viewer")


@cache
def _trees(room: str) -> dict[Path, ast.Module]:
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted((ROOT / room).rglob("*.py"))}


def _messages(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield the expression of every message: the first argument of an error, or of a note to a person."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and node.args:
            name = ast.unparse(node.func)
            is_note = name == "warnings.warn" and "Note" in map(ast.unparse, node.args)
            if name in TOLD or is_note:
                yield node.args[0]


def _texts(message: ast.expr) -> Iterator[str]:
    """Yield each form of a message that is written out; "{}" is a place that is filled in."""
    if isinstance(message, ast.IfExp):
        yield from _texts(message.body)
        yield from _texts(message.orelse)
    elif isinstance(message, ast.Constant):
        yield str(message.value)
    elif isinstance(message, ast.JoinedStr):
        yield "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in message.values)


def _is_sentence(text: str) -> bool:
    return bool(re.fullmatch(r"[A-Z'{-][^\n]*[^.?!]\.", text))


def _quoted_whole(tree: ast.AST) -> Iterator[ast.FormattedValue]:
    """Yield where an error that is a sentence stands within another with its capital and its full stop."""
    for handler in ast.walk(tree):
        if isinstance(handler, ast.ExceptHandler) and handler.type and handler.name:
            kinds = {node.id for node in ast.walk(handler.type) if isinstance(node, ast.Name)}
            for node in ast.walk(handler) if TOLD & kinds else ():
                if isinstance(node, ast.FormattedValue) and ast.unparse(node.value) == handler.name:
                    yield node


def _where(path: Path, node: ast.expr) -> str:
    return f"{path.relative_to(ROOT)}:{node.lineno}: {ast.unparse(node)}"


@pytest.mark.slow
def test_there_are_messages_to_look_at() -> None:
    trees = _trees("graph").values()
    assert len([text for tree in trees for message in _messages(tree) for text in _texts(message)]) > 200


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("There is no cue.", True),
        ("{} is cut off.", True),
        ("'{}' is not a place.", True),
        ("--points {} is not a size.", True),
        ("there is no cue.", False),
        ("There is no cue", False),
        ("There is no cue..", False),
        ("Is there a cue?.", False),
        ("There is\nno cue.", False),
    ],
)
def test_a_sentence_is_told_from_what_is_none(text: str, is_one: bool) -> None:
    assert _is_sentence(text) is is_one


@pytest.mark.slow  # the sources are the same on every Python
@pytest.mark.parametrize("room", ROOMS)
def test_every_message_begins_with_a_capital_and_ends_with_a_full_stop(room: str) -> None:
    faults = [
        _where(path, message)
        for path, tree in _trees(room).items()
        for message in _messages(tree)
        if not all(map(_is_sentence, _texts(message)))
    ]
    assert not faults, "\n".join(faults)


@pytest.mark.slow
@pytest.mark.parametrize("room", ["nodes", "graph"])
def test_a_message_within_another_is_a_clause(room: str) -> None:
    faults = [_where(path, quoted) for path, tree in _trees(room).items() for quoted in _quoted_whole(tree)]
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    ("sentence", "within"),
    [
        ("There is no delivery called tape.", "there is no delivery called tape"),
        ("A still is written as .png.", "a still is written as .png"),
        ("The.mov cannot be read.", "The.mov cannot be read"),
        ("There/a.mov cannot be read.", "There/a.mov cannot be read"),
        ("PyAV has no encoder x.", "PyAV has no encoder x"),
        ("Anna.mov is cut off.", "Anna.mov is cut off"),
    ],
)
def test_a_clause_has_no_full_stop_and_its_capital_only_where_a_name_has_it(
    sentence: str, within: str
) -> None:
    assert clause(BadInput(sentence)) == within
    assert stem(BadInput(sentence)) == sentence[:-1]
