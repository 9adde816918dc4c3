"""Lamphouse: transfer cine film to video and grade it shot by shot."""

from pathlib import Path

__version__ = "0.1.0"

# In a checkout the sources lie at the repository root. Putting that root first
# makes tracebacks and coverage show the real files instead of the links here.
_root = Path(__file__).resolve().parent.parent.parent
if Path(__file__).parent.parent.name == ".pkg" and (_root / "nodes").is_dir():
    __path__.insert(0, str(_root))
