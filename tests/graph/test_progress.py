"""Progress where there is no terminal: plain lines, the last of them once."""

import pytest

from lamphouse.graph.progress import plain_progress, progress


def test_the_end_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    step = plain_progress("Work")
    for done in (1, 2, 3, 3, 3):
        step(done, 3)
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("Work: 3 of 3 frames, ")


def test_what_is_no_frame_is_called_by_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    with progress("Checking", "files") as step:
        step(2, 2)
    line = capsys.readouterr().err
    assert line.startswith("Checking: 2 of 2 files, ")
    assert " a second, " in line
