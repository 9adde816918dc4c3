"""A reel opened on the desk: in a window, or as a picture of that window."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.framing import FRAMING
from lamphouse.viewer.models.desk import Desk


def open_desk(
    reel_file: Path, size: tuple[int, int], master: Path | None = None, *, chain: bool = False
) -> None:
    """Open the reel in a window and let a person work. Raises BadInput where there is no panels."""
    from lamphouse.viewer.window.window import Window

    desk = _desk(reel_file, master)
    with Window(desk, size) as window, closing(desk.recovery):
        window.panels.chain.is_open = chain
        desk.message = f"{desk.message} {desk.recovery.claim()}".strip()
        try:
            window.panels.left_over = desk.recovery.offered()
        except BadInput as error:
            desk.message = f"{desk.message} {error}".strip()
            desk.start_without()
        window.run()


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
    """Write the window as it looks at the place `at` into a PNG file, without a panels."""
    from lamphouse.graph.media.master.still import write_still
    from lamphouse.graph.reel_files.named import refuse_over
    from lamphouse.viewer.window.window import Window

    if picture.suffix.lower() != ".png":
        raise BadInput(f"{picture}: the desk's picture is a PNG file; give a name that ends in .png.")
    desk = _desk(reel_file, master)
    refuse_over(desk.opened, picture)
    names = [*(ref.name for ref in desk.reel.chain.nodes), FRAMING]
    if node and node not in names:
        raise BadInput(f"The chain has no node {node}{near_names(node, names)}.")
    desk.go_to(counter(desk.reel).find(at), 0)
    with Window(desk, size, scale, is_seen=False) as window:
        window.panels.node, window.panels.chain.is_open = node, chain
        pixels = window.picture()
    write_still(picture, pixels, Signal.SRGB)  # the window is the monitor's own codes


def _desk(reel_file: Path, master: Path | None) -> Desk:
    desk = Desk(open_reel(reel_file))
    if master is not None:
        if not master.exists():
            raise BadInput(f"{master} does not exist; give the file or the folder of a finished master.")
        desk.comparison.choose_master(master)
    return desk
