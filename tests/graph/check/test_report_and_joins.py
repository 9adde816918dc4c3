"""The page of a master, and the joins of its inserts. The film is invented."""

import re

import msgspec
import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.check.joins import step_between
from lamphouse.graph.commands.cli import _app
from lamphouse.graph.media.master.record import Insert, load_record, save_record
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput, CheckFailed


def said(*typed):
    result = CliRunner().invoke(_app(), [*map(str, typed)])
    return result.stdout, result.exception


def with_insert(master, first=13, stop=17):
    record = load_record(master)
    insert = Insert(first=first, stop=stop, why="Cue Gate was changed", made=record.made)
    save_record(master, msgspec.structs.replace(record, inserts=(insert,)))


def test_a_step_is_the_mean_ciede2000_of_areas():
    """Two flat greys, by colour-science from the same numbers."""
    colour = colour_science()
    one, other = np.full((3, 48, 64), 0.5, np.float32), np.full((3, 48, 64), 0.55, np.float32)
    space = colour.RGB_COLOURSPACES["ITU-R BT.709"]
    lab = [
        colour.XYZ_to_Lab(space.matrix_RGB_to_XYZ @ np.full(3, v**2.4), space.whitepoint) for v in (0.5, 0.55)
    ]
    assert step_between(one, other) == pytest.approx(colour.delta_E(*lab, method="CIE 2000"), abs=1e-4)
    assert step_between(one, one) == 0


def test_the_joins_of_an_insert_are_measured_and_shown(copy, tmp_path):
    with_insert(copy)
    text, error = said("verify", copy, "--quick", "--joins", tmp_path / "joins")
    assert error is None
    joins = [line for line in text.splitlines() if line.startswith("Join")]
    assert joins[0].startswith("Join: Frame 13 (10:00:00:08, cue Gate) is ")
    assert joins[1].startswith("Join: Frame 17 (10:00:00:12, cue Gate) is ")
    steps = [float(line.partition(" is ")[2].split()[0]) for line in joins]
    assert steps[0] > 10  # the shot changes at the first
    assert steps[1] < 1
    shown = {path.name for path in (tmp_path / "joins").iterdir()}
    assert shown == {f"insert-000013-000017-{what}.jpg" for what in ("before", "first", "last", "after")}


def test_an_insert_at_the_end_has_one_join(copy, tmp_path):
    with_insert(copy, 20, 33)
    text, _ = said("verify", copy, "--quick", "--joins", tmp_path / "joins")
    assert text.count("Join: ") == 1
    assert len(list((tmp_path / "joins").iterdir())) == 3


def test_a_master_without_inserts_says_so(copy, tmp_path):
    text, _ = said("verify", copy, "--quick", "--joins", tmp_path / "joins")
    assert "has no inserts" in text
    assert not (tmp_path / "joins").exists()


def test_the_page_has_all_that_the_record_knows(copy, made, tmp_path):
    with_insert(copy)
    text, error = said("report", copy, "-o", tmp_path / "report", "--reel", made.reel_file)
    assert error is None
    assert text.strip().endswith("index.html: every shot before and after.")
    page, record = (tmp_path / "report" / "index.html").read_text(), load_record(copy)
    for known in (
        "All 33 frames were decoded, and every code is as it was written.",
        "Cue Gate was changed",
        record.made.who,
        record.files["whole.mkv"],
        record.made_of["the delivery"],
        "09:59:59:20 to 10:00:01:02",
        "no certificate",
    ):
        assert known in page
    assert [path.name for path in (tmp_path / "report").iterdir()] == ["index.html"]
    alts = re.findall(r'<img src="data:image/jpeg;base64,[^"]+"[^>]* alt="([^"]+)"', page)
    assert {"Gate as scanned", "Gate in the master", "Frame 16 of the master, last"} <= set(alts)


def test_where_the_scan_is_gone_the_page_says_so_and_shows_the_master_alone(copy, tmp_path):
    _, error = said("report", copy, "-o", tmp_path / "report")
    assert error is None
    page = (tmp_path / "report" / "index.html").read_text()
    assert "the master&#39;s alone, without the scan" in page
    assert "Gate in the master" in page
    assert "Gate as scanned" not in page


def test_what_cannot_be_reported_is_refused(copy, tmp_path):
    assert "There is no reel" in str(said("report", copy, "-o", tmp_path / "a", "--reel", tmp_path / "b")[1])
    copy.unlink()
    assert isinstance(said("report", copy, "-o", tmp_path / "a")[1], BadInput)


@pytest.mark.slow
def test_a_master_with_a_real_insert_is_proved_and_its_joins_are_told(insertable, tmp_path):
    made, master = insertable
    said("cue", made.reel_file, 8, "--set", "primary.gain=0.9")
    stale, error = said("verify", master, made.reel_file)
    assert isinstance(error, CheckFailed)
    assert "Frame 13 (10:00:00:08, cue Gate) and those up to frame 20" in stale
    assert "the settings there have changed since" in stale
    assert said("insert", made.reel_file, master, "--stale")[1] is None
    happened = [event.kind for event in load_record(master).events]
    assert happened == ["creation", "fixity check", "modification", "fixity check"]
    text, error = said("verify", master, made.reel_file, "--joins", tmp_path / "joins")
    assert error is None, text
    assert text.count("Join: ") == 2
