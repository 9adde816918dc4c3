"""Which stage of a pass is the limit, and that the progress lines say so."""

import time
from threading import Thread

import pytest

from lamphouse.graph import progress
from lamphouse.graph.transfer.stages import Stages


def test_the_stage_that_is_at_work_longest_is_the_limit():
    stages = Stages()
    assert stages.limit == ""

    def work(stage, seconds):
        with stages.during(stage):
            time.sleep(seconds)

    threads = [Thread(target=work, args=given) for given in (("decoding", 0.001), ("encoding", 0.05))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert stages.limit == "encoding"
    for _ in range(4):
        work("decoding", 0.03)
    assert stages.limit == "decoding"


def test_a_stage_that_fails_has_been_at_work_too():
    stages = Stages()
    with pytest.raises(ZeroDivisionError), stages.during("correction"):
        raise ZeroDivisionError
    assert stages.limit == "correction"


def test_plain_progress_lines_name_the_limit_where_there_is_one(capsys, monkeypatch):
    monkeypatch.setattr(progress, "SECONDS_BETWEEN_LINES", 0)
    with progress.progress("Transfer") as step:
        step(1, 2, "encoding")
        step(2, 2)
    first, last = capsys.readouterr().err.splitlines()
    assert first.endswith("left; encoding is the limit")
    assert last.endswith("0:00:00 left")


@pytest.mark.parametrize(("delivery", "is_resized"), [("rgb-ffv1", False), ("sd-ffv1", True)])
def test_resizing_is_a_stage_of_its_own(
    lamphouse, tmp_path, film, write_stills, monkeypatch, delivery, is_resized
):
    seen = set()
    during = Stages.during
    monkeypatch.setattr(Stages, "during", lambda self, stage: seen.add(stage) or during(self, stage))
    write_stills(tmp_path / "film", film[:2])
    lamphouse("new", tmp_path / "it.reel", "--scan", tmp_path / "film", "--rate", "25")
    lamphouse("transfer", tmp_path / "it.reel", "-o", tmp_path / "master.mkv", "--delivery", delivery)
    assert seen == {"decoding", "correction", "encoding"} | ({"resizing"} if is_resized else set())
