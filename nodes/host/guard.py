"""Somebody else's maths at work: what it raises in the middle of a pass is one sentence that names it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any

from lamphouse.nodes.declare import Node
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.host.cause import cause


def guarded(node: Node) -> Node:
    """Return `node` with a body and a derive that raise nothing but BadInput.

    An array function is left: whatever runs it says so already.
    """
    body = node.body if node.is_array else _guarded(node.body, node.name)
    return replace(node, body=body, derive=node.derive and _guarded(node.derive, node.name))


def _guarded(function: Callable[..., Any], name: str) -> Callable[..., Any]:
    @wraps(function)
    def call(*arguments: Any) -> Any:
        try:
            return function(*arguments)
        except BadInput:
            raise
        except Exception as error:
            raise BadInput(
                f"The node {name} failed ({cause(error)}); switch it off, or ask its author."
            ) from error

    return call
