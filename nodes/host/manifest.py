"""The manifest of a plug-in: what it brings, read from its source without running any of it."""

from __future__ import annotations

import ast
import keyword
import tokenize
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lamphouse.nodes.contract import CONTRACT
from lamphouse.nodes.errors import BadInput

NAME: Final = "LAMPHOUSE"
EXAMPLE: Final = f'{NAME} = {{"contract": {CONTRACT}, "nodes": {{"name": "What it does."}}}}'


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a plug-in says: the contract it is written to, and the sentence of each of its nodes."""

    contract: int
    nodes: Mapping[str, str]

    @property
    def misfit(self) -> str:
        """Why this Lamphouse cannot run the plug-in, as a clause, or nothing."""
        if self.contract <= CONTRACT:
            return ""
        return f"needs contract {self.contract}, this Lamphouse has {CONTRACT}; update Lamphouse"


def read_manifest(source: Path) -> Manifest:
    """Return the manifest in the module `source`. Raises BadInput: the file, the line, what is wrong."""
    tree = _parsed(source)
    for statement in tree.body:
        value = _assigned(statement)
        if value is not None:
            return _checked(_literal(value, source), f"{source}, line {statement.lineno}:")
    raise BadInput(f"{source} has no manifest; write {EXAMPLE} at its top.")


def _parsed(source: Path) -> ast.Module:
    try:
        with tokenize.open(source) as file:
            return ast.parse(file.read(), str(source))
    except OSError as error:
        raise BadInput(f"{source} cannot be read ({error.strerror or error}).") from None
    except SyntaxError as error:
        line = f", line {error.lineno}" if error.lineno else ""
        raise BadInput(f"{source}{line} is not Python ({error.msg}).") from None
    except (ValueError, RecursionError, MemoryError) as error:
        raise BadInput(f"{source} is not Python ({error}).") from None


def _assigned(statement: ast.stmt) -> ast.expr | None:
    """Return what `statement` assigns to the manifest's name, if it does."""
    if isinstance(statement, ast.Assign):
        targets: list[ast.expr] = statement.targets
    elif isinstance(statement, ast.AnnAssign):
        targets = [statement.target]
    else:
        return None
    is_manifest = any(isinstance(target, ast.Name) and target.id == NAME for target in targets)
    return statement.value if is_manifest else None


def _literal(value: ast.expr, source: Path) -> Any:
    try:
        return ast.literal_eval(value)
    except (ValueError, TypeError, SyntaxError, RecursionError, MemoryError):
        raise BadInput(
            f"{source}, line {value.lineno}: {NAME} must be written out, for nothing is run to read it; "
            f"write such as {EXAMPLE}."
        ) from None


def _checked(manifest: Any, where: str) -> Manifest:
    contract = manifest.get("contract") if isinstance(manifest, dict) else None
    if type(contract) is not int or contract < 1:
        raise BadInput(f"{where} {NAME} names no contract; write such as {EXAMPLE}.")
    nodes = manifest.get("nodes")
    if contract > CONTRACT:  # its form may be another: take what can be read
        return Manifest(contract, {k: str(v) for k, v in nodes.items()} if isinstance(nodes, dict) else {})
    if not isinstance(nodes, dict) or not nodes:
        raise BadInput(f"{where} {NAME} names no nodes; write such as {EXAMPLE}.")
    for name, sentence in nodes.items():
        if not isinstance(name, str) or not name.isidentifier() or keyword.iskeyword(name):
            raise BadInput(f"{where} a node cannot be called {name!r}; take letters, digits and _.")
        if not isinstance(sentence, str) or not sentence.strip():
            raise BadInput(f"{where} the node {name} has no sentence; say in one what it does.")
    return Manifest(contract, nodes)
