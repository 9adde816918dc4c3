"""Cues, by hand."""

from __future__ import annotations

from typing import Final

from lamphouse.viewer.models.commands.command import Command, done
from lamphouse.viewer.models.desk import Desk

CUEING: Final = (Command("store_cue", "A new cue at the playhead.", done(Desk.store), is_here=True),)
