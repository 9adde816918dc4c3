"""Ctrl-C in work that several threads share.

Left to itself it raises KeyboardInterrupt between any two steps of the main thread, also where that waits for
the others to end, and then what they still use is closed under them. So while they run it is a wish, which
the main thread looks at between frames. Whoever presses it again is not made to wait: the process ends there
and then, as if it had been killed, which every file that is being written must bear anyway.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Final

INTERRUPTED: Final = 128 + signal.SIGINT  # exit status, as shells have it
SHOW_CURSOR: Final = "\x1b[?25h"  # ECMA-48 private mode 25, which a live line of progress may have reset


Asked = Callable[[], bool]


def never() -> bool:
    """Say that nobody asks for a stop."""
    return False


@contextmanager
def stopping(last_words: str, also: Asked = never) -> Iterator[Asked]:
    """Yield a function that says whether Ctrl-C has been pressed inside; pressed again it ends the process.

    `last_words` is the sentence that is said then. It says so too where `also` does, for whoever asks by
    another way. On other threads than the main one, and where somebody else has seen to Ctrl-C already, only
    that is left.
    """
    wish = _Wish(last_words, also)
    is_ours = (
        threading.current_thread() is threading.main_thread()
        and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )
    if not is_ours:
        yield wish.is_asked
        return
    signal.signal(signal.SIGINT, wish.hear)
    try:
        yield wish.is_asked
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


class _Wish:
    def __init__(self, last_words: str, also: Asked) -> None:
        self._last_words, self._also, self._asked = last_words, also, False

    def is_asked(self) -> bool:
        return self._asked or self._also()

    def hear(self, number: int, frame: FrameType | None) -> None:
        if self._asked:
            start = SHOW_CURSOR + "\n" if sys.stderr.isatty() else ""
            # Not through sys.stderr, whose lock another thread may hold.
            os.write(2, f"{start}lamphouse: {self._last_words}\n".encode(errors="replace"))
            os._exit(INTERRUPTED)
        self._asked = True
