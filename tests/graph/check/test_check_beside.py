"""A check beside a pass finds what a check of the finished master finds, and the record keeps it."""

import json

import pytest
from typer.testing import CliRunner

from lamphouse.graph.check.beside import BesidePass
from lamphouse.graph.check.check import check
from lamphouse.graph.check.parts import PARTS
from lamphouse.graph.check.settings import settings_of
from lamphouse.graph.check.subject import subject_of
from lamphouse.graph.commands.cli import _app
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.reel.records import Delivery
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.errors import BadInput, CheckFailed

STRICT = settings_of(["levels.high=60"])  # invented, so that there are faults to find
DELIVERY = Delivery(container="matroska", codec="ffv1", pixel_format="yuv422p10le", bars=2, black_after=3)


@pytest.mark.parametrize("reads_back", [True, False], ids=["read back", "as sent"])
def test_beside_a_pass_is_found_what_a_check_of_its_master_finds(made, tmp_path, reads_back):
    master = tmp_path / "checked.mkv"
    pass_ = plan(made.opened, DELIVERY, 0, 12)
    beside = BesidePass(pass_.span, master, STRICT, reads_back=reads_back)
    transfer(pass_, master, lambda *done: None, reads_back=reads_back, onlooker=beside)
    found = beside.end()
    again = check(subject_of(master, STRICT), PARTS, lambda *done: None, lambda: False)
    assert found.count
    assert found.document() == again.document()
    kept = load_record(master).checks
    assert [one.sentence for one in kept.found] == [one.sentence for one in (*found.faults, *found.others)]
    assert kept.found[0].weight == "fault"
    assert not (tmp_path / "checked.mkv.record.json.previous").exists()


def test_the_command_tells_it_at_its_end(made, tmp_path):
    asked = ["--to", "4", "--check", "-o", tmp_path / "out.mkv", "--delivery", "scan-ffv1"]
    result = CliRunner().invoke(_app(), ["transfer", *map(str, [made.reel_file, *asked])])
    assert result.exception is None or isinstance(result.exception, CheckFailed)
    assert "Levels by EBU R 103" in result.stdout
    assert "guidance and no certificate" in result.stdout
    assert "was not checked for flashing" not in result.stdout
    assert load_record(tmp_path / "out.mkv").checks.said[0].startswith("Levels by EBU R 103")


def passed(made, master, *typed):
    asked = [made.reel_file, "--to", 4, "-o", master, "--delivery", "scan-ffv1", *typed]
    return CliRunner().invoke(_app(), ["transfer", *map(str, asked)])


def test_the_command_takes_the_parts_and_settings_that_check_takes_and_finds_the_same(made, tmp_path):
    master, chosen = tmp_path / "out.mkv", ["levels,timecode", "levels.high=60"]
    result = passed(made, master, "--check-only", chosen[0], "--check-set", chosen[1])
    assert "The check found faults" in str(result.exception)
    again = CliRunner().invoke(
        _app(), ["check", str(master), "--only", chosen[0], "--set", chosen[1], "--json"]
    )
    (found,) = json.loads(again.stdout)["masters"]
    kept = load_record(master).checks
    assert kept.said == tuple(found["said"])
    told = [*found["faults"], *found["others"]]
    assert [one.sentence for one in kept.found] == [one["sentence"] for one in told]
    assert {one.kind for one in kept.found} == {"levels"}
    assert (kept.only, kept.settings) == (("levels", "timecode"), ("levels.high=60",))


def test_an_insert_takes_what_was_found_from_the_record_and_says_so(insertable):
    made, master = insertable
    checked = master.with_name("checked.mkv")
    passed(made, checked, "--check-only", "levels")
    insert = ["insert", str(made.reel_file), str(checked)]
    nothing = CliRunner().invoke(_app(), [*insert, "--stale"])
    assert "no longer keeps" not in nothing.stderr
    assert load_record(checked).checks.said
    mended = CliRunner().invoke(_app(), [*insert, "--from", "1", "--to", "3"])
    assert mended.exception is None
    assert "no longer keeps what a check beside its pass had found" in mended.stderr
    assert load_record(checked).checks is None


@pytest.mark.parametrize("typed", [("--check-only", "levls"), ("--check-set", "levels.hgh=60")])
def test_a_part_or_setting_that_there_is_not_is_told_before_the_pass(made, tmp_path, typed):
    result = passed(made, tmp_path / "out.mkv", *typed)
    assert isinstance(result.exception, BadInput)
    assert "did you mean" in str(result.exception)
    assert not list(tmp_path.iterdir())
