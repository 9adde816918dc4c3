"""The desk opened by a command: in a window, or as a picture of that window."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from lamphouse.graph.files.folders import settings_folder
from lamphouse.graph.reel.counters import counter
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.framing import FRAMING
from lamphouse.viewer.models.preferences import preferred
from lamphouse.viewer.models.starting import Starting


def open_desk(
    reel_file: Path | None,
    size: tuple[int, int],
    master: Path | None = None,
    *,
    scale: float = 0.0,
    chain: bool = False,
) -> None:
    """Open the reel, or the start page, in a window and let a person work.

    Raises BadInput where there is no screen, or no such reel.
    """
    from lamphouse.viewer.window.pages import Pages, made_desk
    from lamphouse.viewer.window.window import Window

    desk = None if reel_file is None else made_desk(reel_file, master)
    mine, trouble = preferred(settings_folder())
    with (
        Window(size, scale, preferred=mine) as window,
        closing(Starting(settings_folder(), window.wake)) as starting,
        closing(Pages(window, starting)) as pages,
    ):
        if desk is not None:
            pages.open(desk).panels.chain.is_open = chain
            desk.message = f"{desk.message} {trouble}".strip()
        window.run(pages)


def draw_desk(
    reel_file: Path,
    picture: Path,
    at: str,
    size: tuple[int, int],
    *,
    scale: float = 1.0,
    node: str = "",
    chain: bool = False,
    master: Path | None = None,
) -> None:
    """Write the window as it looks at the place `at` into a PNG file, without a screen."""
    from lamphouse.graph.media.master.still import write_still
    from lamphouse.graph.reel_files.named import refuse_over
    from lamphouse.viewer.window.pages import made_desk
    from lamphouse.viewer.window.session import Session
    from lamphouse.viewer.window.window import Window

    _refuse_other_than_png(picture)
    desk = made_desk(reel_file, master)
    refuse_over(desk.opened, picture)
    names = [*(ref.name for ref in desk.reel.chain.nodes), FRAMING]
    if node and node not in names:
        raise BadInput(f"The chain has no node {node}{near_names(node, names)}.")
    desk.go_to(counter(desk.reel).find(at), 0)
    with Window(size, scale, is_seen=False) as window, closing(Session(window, desk)) as session:
        session.panels.node, session.panels.chain.is_open = node, chain
        pixels = session.picture()
    write_still(picture, pixels, Signal.SRGB)  # the window is the monitor's own codes


def draw_start(picture: Path, size: tuple[int, int], *, scale: float = 1.0) -> None:
    """Write the start page into a PNG file, without a screen."""
    from lamphouse.graph.media.master.still import write_still
    from lamphouse.viewer.window.start_view import StartView
    from lamphouse.viewer.window.window import Window

    _refuse_other_than_png(picture)
    with (
        Window(size, scale, is_seen=False) as window,
        closing(Starting(settings_folder(), window.wake)) as starting,
        closing(StartView(window, starting)) as view,
    ):
        pixels = window.picture(view)
    write_still(picture, pixels, Signal.SRGB)


def _refuse_other_than_png(picture: Path) -> None:
    if picture.suffix.lower() != ".png":
        raise BadInput(f"{picture}: the desk's picture is a PNG file; give a name that ends in .png.")
