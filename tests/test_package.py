"""What is installed is what stands here: a build that loses a file says nothing of it."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parent.parent
ROOMS = ("nodes", "graph", "viewer", "presets")


def test_the_wheel_made_by_way_of_the_source_archive_holds_every_file(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(tmp_path), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if name.startswith("lamphouse/")}
    files = (path for room in ROOMS for path in (ROOT / room).rglob("*") if path.is_file())
    standing = {f"lamphouse/{p.relative_to(ROOT).as_posix()}" for p in files if "__pycache__" not in p.parts}
    assert len(standing) > 100
    assert held == standing | {
        f"lamphouse/{name}" for name in ("__init__.py", "__main__.py", "api.py", "py.typed")
    }
