"""What lies ready of a master is kept in order, from one file or many, and each frame once."""

from collections.abc import Generator
from pathlib import Path

import pytest

from lamphouse.graph.media.master.pass_record import Frame
from lamphouse.graph.media.master.ready import Ready
from lamphouse.graph.media.master.resume import Kept
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.nodes.errors import BadInput


class Left:
    """Frames that were left, each of which says where it lies and its number."""

    extradata = b""

    def __init__(self, name: str, first: int, stop: int, read_back: int = 0, breaks_at: int = 1000) -> None:
        self.path, self.first, self._breaks_at = Path(name), first, breaks_at
        self.known = [Frame(f"{name}{number}", number) for number in range(first, stop)]
        self.read_back = self.known[:read_back]

    def kept(self) -> Generator[Kept, None, None]:
        for frame in self.known[: self._breaks_at]:
            yield frame.picture.encode(), frame

    def make_room(self, way: UnderWay) -> None:
        raise NotImplementedError


def kept(ready: Ready) -> list[str]:
    return [data.decode() for data, _ in ready.kept()]


def test_frames_come_in_order_from_files_in_any_order() -> None:
    ready = Ready([Left("c", 6, 8), Left("a", 0, 2), Left("b", 2, 3)])
    assert kept(ready) == ["a0", "a1", "b2", "c6", "c7"]
    assert list(ready.gaps(10)) == [range(3, 6), range(8, 10)]


def test_of_frames_that_lie_in_several_files_one_is_taken_and_the_longest_comes_first() -> None:
    ready = Ready([Left("short", 2, 3), Left("long", 2, 6), Left("late", 4, 8), Left("within", 5, 7)])
    assert kept(ready) == ["long2", "long3", "long4", "long5", "late6", "late7"]
    assert list(ready.gaps(8)) == [range(0, 2)]


def test_nothing_ready_is_one_gap_and_all_ready_is_none() -> None:
    assert list(Ready().gaps(5)) == [range(5)]
    assert list(Ready([Left("a", 0, 5)]).gaps(5)) == []
    assert Ready([Left("a", 3, 3)]).runs == ()


def test_what_was_read_back_is_known_by_its_number_however_files_overlap() -> None:
    ready = Ready([Left("a", 1, 4, read_back=2), Left("b", 2, 7, read_back=4)])
    known = [frame and frame.picture for frame in ready.read_back]
    assert known == [None, "a1", "a2", None, "b4", "b5"]


def test_the_record_of_the_pass_begins_with_what_lies_ready_from_the_first_frame_on() -> None:
    frames, read_back = Ready([Left("a", 0, 3, read_back=2), Left("b", 5, 6)]).left
    assert ([frame.picture for frame in frames], read_back) == (["a0", "a1", "a2"], 2)
    assert Ready([Left("b", 5, 6)]).left == ([], 0)


def test_a_frame_that_is_not_what_it_was_is_refused_with_its_file() -> None:
    ready = Ready([Left("a", 0, 3), Left("b", 3, 6, breaks_at=1), Left("c", 6, 9)])
    with pytest.raises(BadInput, match=r"^b is not what its record says at frame 4 of the master; remove"):
        kept(ready)
