"""Reels, grades, passes, proofs and checks for programs of your own; `lamphouse.graph.api` says all of it."""

from lamphouse.graph.api import Pictures, Reel, Transferred, check, verify
from lamphouse.nodes.errors import BadInput, CheckFailed, Note, Stopped

__all__ = [
    "BadInput",
    "CheckFailed",
    "Note",
    "Pictures",
    "Reel",
    "Stopped",
    "Transferred",
    "check",
    "verify",
]
