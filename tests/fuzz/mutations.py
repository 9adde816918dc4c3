"""Inputs made wrong by chance: each from a whole one and a number, the same every time."""

import json
import random
import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

# What readers have been seen to stumble over. Texts are put in as they are, also into binary files.
TOKENS = (
    *(
        b"\0",
        b"\xff\xfe",
        b"\xc3",
        b"\xed\xa0\x80",
        b"\xe2\x80\xa8",
        b"\x1b[31m",
        b"\n",
        b"\r\n",
        b'"',
        b"\\",
    ),
    *(b"\\ud800", b"\\u0000", b"\\n", b"NaN", b"Infinity", b"-Infinity", b"1e999", b"-1e999", b"1e308"),
    *(b"null", b"true", b"[]", b"{}", b'""', b"-1", b"0", b"0.5", b"1/0", b"1e999999999", b"9" * 25),
    *(b"9" * 400, b"9" * 5000, b"2147483648", b"4294967295", b"9223372036854775808", b"[" * 2000),
    *(b'{"a":' * 2000, b"<a>" * 300, b"&x;", b"<!DOCTYPE a>", b'encoding="utf-7"', b"../../x", b"/dev/zero"),
    *(b"\x7f\xff\xff\xff", b"\xff\xff\xff\xff", b"\x00\x00\x00\x00", b"\x80\x00\x00\x00", b"\xff" * 8),
)
NUMBERS = (
    *(
        b"0",
        b"-1",
        b"2",
        b"1e-3",
        b"1e30",
        b"-1e300",
        b"1e999",
        b"nan",
        b"inf",
        b"256",
        b"65536",
        b"65537",
        b"1_0",
    ),
    *(
        b"99999999",
        b"1e999999999",
        b"9" * 400,
        b"0x10",
        b"1/0",
        b"1/3",
        "\u0663".encode(),
        b"-0",
        b".5",
        b"1.",
    ),
)
VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 2, 0.5, -0.0, 1e308, 10**12, 2**63, -(2**63), 10**30, 10**400, [], {}, ""),
    *(
        "\ud800",
        "\udc80",
        "\0",
        "a\nb",
        "\x1b[31m",
        "1e999999999",
        "1/0",
        "nan",
        "9" * 5000,
        "../..",
        "/dev/zero",
    ),
    *(
        "scan",
        "primary",
        "on",
        "off",
        "even",
        "transition",
        "hd-ffv1",
        "x.json",
        "libx264",
        "libx265",
        "mp4",
        "rgb",
    ),
    *("dpx", "tiff", "yuv420p", "gbrp10le", "gray", "full", "30000/1001", "23:59:59:23", "10:00:00;00"),
    *([[0, 0], [1, 1]], [0, 0, 0], [1e308] * 3, {"a": []}, [[[[]]]], {"x264-params": "stats=a"}),
)
WORD = re.compile(rb'"[^"\n]{0,80}"|[0-9.eE+-]+|[A-Za-z_]+')
NUMBER = re.compile(rb"[0-9.eE+-]+")
LONGEST = 40  # bytes of a piece that is moved about


def mutated(data: bytes, number: int) -> bytes:
    """Return `data` with one to six changes, or rarely something that was never whole."""
    chance = random.Random(number)
    if chance.random() < 0.02:
        return chance.choice((b"", chance.randbytes(chance.randrange(3000)), chance.choice(TOKENS)))
    for _ in range(chance.choice((1, 1, 1, 1, 2, 4))):
        data = chance.choice(CHANGES)(data, chance)
    return data


def _place(data: bytes, chance: random.Random) -> int:
    # Headers stand at the head: half of all changes are made there.
    end = min(len(data), 600) if chance.random() < 0.5 else len(data)
    return chance.randrange(end + 1)


def _flipped(data: bytes, chance: random.Random) -> bytes:
    at = _place(data, chance)
    return data[:at] + bytes(byte ^ 1 << chance.randrange(8) for byte in data[at : at + 1]) + data[at + 1 :]


def _overwritten(data: bytes, chance: random.Random) -> bytes:
    at, piece = _place(data, chance), chance.randbytes(chance.randrange(1, 9))
    return data[:at] + piece + data[at + len(piece) :]


def _cut(data: bytes, chance: random.Random) -> bytes:
    return data[: _place(data, chance)]


def _taken_out(data: bytes, chance: random.Random) -> bytes:
    at = _place(data, chance)
    return data[:at] + data[at + chance.randrange(1, LONGEST) :]


def _doubled(data: bytes, chance: random.Random) -> bytes:
    at = _place(data, chance)
    piece = data[at : at + chance.randrange(1, LONGEST)]
    return data[:at] + piece * chance.randrange(2, 4) + data[at + len(piece) :]


def _put_in(data: bytes, chance: random.Random) -> bytes:
    at, token = _place(data, chance), chance.choice(TOKENS)
    return data[:at] + token + data[at:]


def _put_over(data: bytes, chance: random.Random) -> bytes:
    at, token = _place(data, chance), chance.choice(TOKENS)
    return data[:at] + token + data[at + len(token) :]


def _word(data: bytes, chance: random.Random) -> bytes:
    """Put something else in the place of one word, number or quoted text: in half of all cases its like."""
    words = list(WORD.finditer(data[:20_000]))
    if not words:
        return _put_in(data, chance)
    word = chance.choice(words)
    like = (
        NUMBERS if NUMBER.fullmatch(word[0]) else (chance.choice(words)[0], b'"\\ud800"', b'""', b'"a\\nb"')
    )
    token = chance.choice(like if chance.random() < 0.5 else TOKENS)
    return data[: word.start()] + token + data[word.end() :]


def _value(data: bytes, chance: random.Random) -> bytes:
    """Put another value, which JSON can hold, in the place of one of a document; else change a word."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return _word(data, chance)
    if not isinstance(document, dict) or not document:
        return _word(data, chance)
    places = list(_places(document))
    inner, key = chance.choice(places)
    if chance.random() < 0.15:
        del inner[key]
    else:
        inner[key] = deepcopy(chance.choice((*VALUES, *(held[name] for held, name in places))))
    return json.dumps(document).encode()


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    members = list(value.items()) if isinstance(value, dict) else list(enumerate(value))
    for key, member in members:
        yield value, key
        if isinstance(member, dict | list):
            yield from _places(member)


CHANGES = (
    _flipped,
    _overwritten,
    _cut,
    _taken_out,
    _doubled,
    _put_in,
    _put_over,
    _word,
    _word,
    *[_value] * 6,
)
