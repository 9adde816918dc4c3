"""Edits of one row of a mapping, beside `with_move` and `with_press`; the other rows keep their places."""

from __future__ import annotations

import msgspec

from lamphouse.viewer.sticks.mapping import Move, StickMap


def without_move(mapping: StickMap, row: int) -> StickMap:
    """Return `mapping` without one of its moves."""
    return msgspec.structs.replace(mapping, moves=mapping.moves[:row] + mapping.moves[row + 1 :])


def without_press(mapping: StickMap, row: int) -> StickMap:
    """Return `mapping` without what one of its buttons does."""
    return msgspec.structs.replace(mapping, presses=mapping.presses[:row] + mapping.presses[row + 1 :])


def turned_round(move: Move, part: int) -> Move:
    """Return `move` with one of its axes, or its buttons, the other way round."""
    amounts = tuple(-a if n == part else a for n, a in enumerate(move.amounts))
    return msgspec.structs.replace(move, amounts=amounts)


def with_amount(move: Move, part: int, size: float) -> Move:
    """Return `move` with another amount for one of its axes, in the way it went before."""
    amounts = tuple((size if a >= 0 else -size) if n == part else a for n, a in enumerate(move.amounts))
    return msgspec.structs.replace(move, amounts=amounts)
