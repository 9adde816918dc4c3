"""What several commands take: the reel, a place on it, JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

ReelFile = Annotated[Path, typer.Argument(metavar="REEL", help="The reel, NAME.reel.")]
Place = Annotated[str, typer.Argument(metavar="AT", help="A place: timecode, feet+frames or frame number.")]
Json = Annotated[bool, typer.Option("--json", help="Write JSON for other programs.")]
