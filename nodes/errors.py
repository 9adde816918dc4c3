"""The ways in which work ends early, told to a person in one sentence each.

Every layer raises BadInput and CheckFailed and nothing else for what a person can put right; the
command line turns them into exit status 2 and 1, and Stopped into that of an interrupt. Anything else is
our own fault and keeps its traceback. What a person should know of work that goes on is a `Note`.
"""

import re
from collections.abc import Iterable
from difflib import get_close_matches

from lamphouse.nodes.one_line import sentence

# First words that are small within a sentence. Whatever else comes first may be a name, which stays as typed.
_OPENERS = re.compile(r"(A|An|At|Button|Expected|Invalid|It|No|Object|The|There|This) ")


class _Told(Exception):
    """Whatever names and texts the message quotes, it is one line."""

    def __init__(self, message: str) -> None:
        super().__init__(sentence(message))


class BadInput(_Told, ValueError):
    """Input that cannot be used. The message says what, where and what to do."""


class CheckFailed(_Told):
    """A check that ran and found fault. The message says what was found and where."""


class Stopped(Exception):
    """Work that ended early because a person asked for it. The message says what is left of it."""


class Note(UserWarning):
    """A warning that is for the person at the tool: one sentence, which the command line says as it is."""


def stem(told: object) -> str:
    """Return the sentence of an error without its full stop, so that more can follow."""
    return str(told).removesuffix(".")


def clause(told: object) -> str:
    """Return the sentence of an error as a part of another: no full stop, and no capital but of a name."""
    words = stem(told)
    return f"{words[0].lower()}{words[1:]}" if _OPENERS.match(words) else words


def near_names(name: str, known: Iterable[str], *, or_all: bool = True) -> str:
    """Return a hint such as ` (did you mean gain or gamma?)`.

    Where nothing is near, the whole list, or with `or_all` False nothing.
    """
    known = sorted(set(known))  # two cues may have one name
    near = get_close_matches(name, known, n=3, cutoff=0.5)
    if near:
        return f" (did you mean {' or '.join(near)}?)"
    return f" (there is {', '.join(known)})" if known and or_all else ""
