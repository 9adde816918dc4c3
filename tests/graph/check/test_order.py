"""What happened to a row of pictures is named by the least that explains it. Rows are invented."""

import random

import pytest

from lamphouse.graph.check.order import Difference, align

# Bars, bars, black, then film, one letter a picture, then black: as masters begin and end.
MEANT = "==.abcdefghij..."


def found(row: str) -> list[str | None]:
    return [None if picture == "?" else picture for picture in row]


@pytest.mark.parametrize(
    ("row", "differences"),
    [
        ("==.abcdefghij...", []),
        ("==.abcefghij...", [Difference("missing", 6, 7)]),
        ("==.abghij...", [Difference("missing", 5, 9)]),
        ("==.abccdefghij...", [Difference("extra", 6, 7, 5)]),
        ("==.abccefghij...", [Difference("elsewhere", 6, 7, 5)]),
        ("==.abcedfghij...", [Difference("swapped", 6, 7, 7)]),
        ("==.ibcdefghaj...", [Difference("swapped", 3, 4, 11)]),
        ("==.abcXefghij...", [Difference("differs", 6, 7)]),
        ("==.abXYZfghij...", [Difference("differs", 5, 8)]),
        ("==.abc?efghij...", []),
        ("==abcdefghij...", [Difference("missing", 2, 3)]),
        ("==.abcdefghij..", [Difference("missing", 15, 16)]),
        ("==.abcdefghij", [Difference("missing", 13, 16)]),
        ("==.abcdefghij....", [Difference("extra", 16, 17, 15)]),
        ("==.abcd", [Difference("missing", 7, 16)]),
        ("==.abcdefghijX..", [Difference("differs", 13, 14)]),
        ("==.abcdefghij..X", [Difference("differs", 15, 16)]),
        ("Xabcdefghij...", [Difference("differs", 0, 1), Difference("missing", 1, 3)]),
        ("", [Difference("missing", 0, 16)]),
        ("==.bcadefghij...", [Difference("missing", 3, 4), Difference("extra", 6, 7, 3)]),
        ("==.acdXfghij...", [Difference("missing", 4, 5), Difference("differs", 7, 8)]),
    ],
)
def test_what_happened_is_named(row: str, differences: list[Difference]) -> None:
    assert list(align(MEANT, found(row)).differences) == differences


def test_each_found_picture_has_its_place() -> None:
    assert align("abcd", list("abbd")).places == (0, 1, 2, 3)
    assert align("abcd", list("abd")).places == (0, 1, 3)
    assert align("abcd", list("aabcd")).places == (None, 0, 1, 2, 3) or align(
        "abcd", list("aabcd")
    ).places == (0, None, 1, 2, 3)


@pytest.mark.parametrize("seed", range(50))
def test_whatever_is_done_to_a_row_every_picture_is_accounted_for(seed: int) -> None:
    chance = random.Random(seed)
    row = [chance.choice("abcdefgh.") for _ in range(60)]
    for _ in range(chance.randrange(1, 8)):
        at = chance.randrange(len(row))
        row[at : at + chance.randrange(3)] = chance.choices("abcXY.", k=chance.randrange(3))
    meant = [chance.choice("abcdefgh.") for _ in range(60)] if seed % 5 == 0 else list("abcdefgh." * 7)
    result = align(meant, row)
    assert len(result.places) == len(row)
    known = [place for place in result.places if place is not None]
    assert known == sorted(set(known))
    gone = [n for d in result.differences if d.kind == "missing" for n in range(d.first, d.stop)]
    assert sorted(known + gone) == list(range(len(meant)))
    told = set()
    for d in result.differences:
        told |= {d.first, d.other} if d.kind == "swapped" else set(range(d.first, d.stop))
    for place, picture in zip(result.places, row, strict=True):
        assert place is None or place in told or meant[place] == picture
