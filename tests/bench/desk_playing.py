"""A reel played on the desk: python tests/bench/desk_playing.py REEL [--size 1600x1000] [--seconds 6].

For each speed, in a real window: pictures a second that were seen and that were wanted, by the desk's own
counters, and what a turn of the desk took. Where there is no screen the same is drawn by EGL into a picture
of that size, with no swap. Nothing is saved; work on a copy all the same: a desk keeps files beside a reel.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
import warnings
from collections.abc import Iterator
from contextlib import closing, contextmanager
from fractions import Fraction
from pathlib import Path
from typing import Any

import desk_picture

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.opengl import GL, glfw
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.window import window as window_module
from lamphouse.viewer.window.pages import made_desk
from lamphouse.viewer.window.session import Session
from lamphouse.viewer.window.window import Window

SPEEDS = ("1", "-1", "1/2", "10", "-10")
SECOND = 1_000_000_000
SETTLED = 1.0  # seconds that a speed is given to come to its pace
IDLE = 0.002  # seconds between turns where no screen's events wake anybody


def main() -> None:
    """Print the table for the reel that is named."""
    asked = _asked()
    width, height = map(int, asked.size.split("x"))
    with _window((width, height), has_screen=not asked.no_screen) as window:
        print(
            f"{desk_picture.said(GL.GL_RENDERER)}, {asked.size}, {'seen' if window.is_seen else 'by EGL'}\n"
        )
        print("| speed | wanted a second | seen a second | share | median turn | longest turn |")
        print("|---|---|---|---|---|---|")
        for speed in asked.speeds:
            with closing(Session(window, made_desk(asked.reel))) as session:
                _say(speed, *_played(session, Fraction(speed), asked.seconds))


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("reel", type=Path)
    parser.add_argument("--size", default="1600x1000")
    parser.add_argument("--seconds", type=float, default=6.0)
    parser.add_argument("--speeds", nargs="*", default=SPEEDS)
    parser.add_argument("--no-screen", action="store_true", help="By EGL, also where there is a screen.")
    return parser.parse_args()


def _say(speed: str, wanted: float, seen: float, turns: list[float]) -> None:
    middle, longest = statistics.median(turns) * 1e3, max(turns) * 1e3
    share = f"{seen / wanted:.2f} | {middle:.1f} ms | {longest:.1f} ms"
    print(f"| {speed} | {wanted:.1f} | {seen:.1f} | {share} |", flush=True)


def _played(session: Session, speed: Fraction, seconds: float) -> tuple[float, float, list[float]]:
    """Return pictures a second that were wanted and seen at a speed, and the seconds of each turn."""
    desk = session.desk
    now = time.monotonic_ns()
    desk.transport = desk.transport.looping((0, desk.reel.scan.frames), now).run(speed, now)
    _turned(session, SETTLED)
    begun, before = time.monotonic(), _seen(desk)
    turns = _turned(session, seconds)
    seen = (_seen(desk) - before) / (time.monotonic() - begun)
    return float(desk.transport.rate * min(Fraction(1), abs(speed))), seen, turns


def _seen(desk: Desk) -> int:
    return desk.transport.shown - desk.transport.dropped


def _turned(session: Session, seconds: float) -> list[float]:
    """Let the desk turn as its window lets it; return how long each turn took that drew anything new."""
    taken, end = [], time.monotonic() + seconds
    while (start := time.monotonic()) < end:
        before = session.loop.state.sight
        sleep = session.turn()
        if session.loop.state.sight != before:
            taken.append(time.monotonic() - start)
        if not session.window.is_seen:
            time.sleep(min(sleep / SECOND, IDLE))
        elif sleep > 0:
            glfw.wait_events_timeout(sleep / SECOND)
        else:
            glfw.poll_events()
    return taken or [0.0]


@contextmanager
def _window(size: tuple[int, int], *, has_screen: bool) -> Iterator[Window]:
    """Open a window on the screen, or else without one, or else on the first device that EGL lists."""
    for is_seen in (True, False) if has_screen else (False,):
        try:
            opened = Window(size, 1.0, is_seen=is_seen)
        except BadInput as error:
            print(error, file=sys.stderr)
            continue
        with opened:
            yield opened
        return
    with desk_picture.first_device(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # GLFW says that its window has no context: it is the device's
        window_module.opened = _without_graphics
        with Window(size, 1.0, is_seen=False) as opened:
            yield opened


def _without_graphics(glfw: Any, size: tuple[int, int], title: str = "", *, is_seen: bool) -> Any:
    glfw.init_hint(glfw.PLATFORM, glfw.PLATFORM_NULL)
    glfw.init()
    glfw.default_window_hints()
    glfw.window_hint(glfw.CLIENT_API, glfw.NO_API)
    return glfw.create_window(*size, title, None, None)


if __name__ == "__main__":
    main()
