"""The writer's thread: order, errors from either side, bounded memory, nothing left running."""

import threading
from collections.abc import Iterator

import pytest

from lamphouse.graph.media.master.write_behind import write_behind


def writers() -> list[str]:
    return [thread.name for thread in threading.enumerate() if thread.name == "encode"]


def test_items_are_written_in_order_on_another_thread() -> None:
    written: list[tuple[int, str]] = []
    write_behind(range(50), lambda n: written.append((n, threading.current_thread().name)))
    assert written == [(n, "encode") for n in range(50)]
    assert not writers()


def test_an_error_in_writing_stops_the_maker_and_is_raised() -> None:
    made: list[int] = []

    def items() -> Iterator[int]:
        for n in range(10_000):
            made.append(n)
            yield n

    def write(n: int) -> None:
        if n == 3:
            raise OSError("disk is full")

    with pytest.raises(OSError, match="disk is full"):
        write_behind(items(), write, depth=2)
    # Four were taken, two wait, one is being put, one is made before the failure is seen.
    assert 4 <= len(made) <= 8
    assert not writers()


def test_an_error_in_making_is_raised_after_what_was_made_is_written() -> None:
    written: list[int] = []

    def items() -> Iterator[int]:
        yield from range(7)
        raise ValueError("frame 7 cannot be read")

    with pytest.raises(ValueError, match="frame 7"):
        write_behind(items(), written.append, depth=2)
    assert written == list(range(7))
    assert not writers()


def test_no_more_than_two_beyond_the_depth_are_alive() -> None:
    depth, lock = 3, threading.Lock()
    alive, most = 0, 0

    def items() -> Iterator[int]:
        nonlocal alive, most
        for n in range(200):
            with lock:
                alive += 1
                most = max(most, alive)
            yield n

    def write(n: int) -> None:
        nonlocal alive
        threading.Event().wait(0.0005)
        with lock:
            alive -= 1

    write_behind(items(), write, depth)
    assert depth < most <= depth + 2
    assert alive == 0
