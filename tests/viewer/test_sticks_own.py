"""A person's own mappings: kept whole, found again, never written over, never in a preset's way."""

import json

import msgspec
import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.sticks.mapping import decode_stick_map, encode_stick_map, stick_map
from lamphouse.viewer.sticks.own import keep_own, own_maps
from lamphouse.viewer.sticks.shelf import Shelf

PAD = stick_map("gamepad")
QUICK = msgspec.structs.replace(PAD, sensitivity=3.0)


def test_without_own_mappings_each_kind_of_device_has_its_preset_and_nothing_is_written(tmp_path):
    shelf = Shelf(tmp_path / "none yet")
    assert [shelf.used(d).mapping for d in ("gamepad", "joysticks")] == [PAD, stick_map("two-sticks")]
    assert (shelf.troubles, shelf.unkept) == ([], [])
    assert not (tmp_path / "none yet").exists()


def test_an_own_mapping_comes_before_the_preset_of_its_device_at_the_next_start(tmp_path):
    shelf = Shelf(tmp_path)
    shelf.change("gamepad", QUICK)
    assert (shelf.unkept, shelf.free_name("gamepad")) == (["gamepad"], "my gamepad")
    shelf.keep("gamepad", " night shift ")
    assert shelf.unkept == []
    again = Shelf(tmp_path)
    assert again.used("gamepad") == ("night shift", True, msgspec.structs.replace(QUICK, sentence=""))
    assert again.used("joysticks").mapping == stick_map("two-sticks")
    assert [path.name for path in (tmp_path / "sticks").iterdir()] == ["night shift.json"]


def test_what_was_chosen_last_is_in_use_at_the_next_start_a_preset_too(tmp_path):
    shelf = Shelf(tmp_path)
    for name, sensitivity in (("b", 2.0), ("a", 3.0)):
        shelf.change("gamepad", msgspec.structs.replace(PAD, sensitivity=sensitivity))
        shelf.keep("gamepad", name)
    shelf.choose("gamepad", "b", is_own=True)
    assert Shelf(tmp_path).used("gamepad").mapping.sensitivity == 2.0
    shelf.back_to_preset("gamepad")
    assert Shelf(tmp_path).used("gamepad") == ("gamepad", False, PAD)
    assert Shelf(tmp_path).names("gamepad") == (["a", "b"], ["gamepad"])
    (tmp_path / "sticks.json").write_text("{")
    damaged = Shelf(tmp_path)
    assert damaged.used("gamepad").name == "a"
    assert "sticks.json cannot be read" in damaged.troubles[0]


def test_a_damaged_file_is_one_sentence_the_preset_is_used_and_the_file_is_left(tmp_path):
    folder = tmp_path / "sticks"
    folder.mkdir()
    (folder / "mine.json").write_bytes(encode_stick_map(QUICK)[:200])
    (folder / "zero.json").write_text('{"device": "joysticks", "sensitivity": 0}')
    before = {path: path.read_bytes() for path in folder.iterdir()}
    shelf = Shelf(tmp_path)
    assert shelf.used("gamepad").mapping == PAD
    assert shelf.used("joysticks").mapping == stick_map("two-sticks")
    first, second = shelf.troubles
    assert first.startswith(f"{folder / 'mine.json'} is cut off; it ends at line")
    assert "zero.json: a sensitivity of 0 moves nothing" in second
    assert all(said.endswith(".") and said.count(". ") == 0 for said in shelf.troubles)
    shelf.change("gamepad", QUICK)
    with pytest.raises(BadInput, match="There is a mapping called mine already"):
        shelf.keep("gamepad", "mine")
    assert shelf.used("gamepad").mapping == QUICK
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_what_a_later_version_wrote_survives_a_change_that_is_kept(tmp_path):
    folder = tmp_path / "sticks"
    folder.mkdir()
    move = {"control": "a.b", "axes": [0], "amounts": [1], "curve": "x"}
    text = json.dumps({"record": "sticks/1", "device": "gamepad", "rumble": True, "moves": [move]})
    (folder / "mine.json").write_text(text)
    shelf = Shelf(tmp_path)
    shelf.change("gamepad", msgspec.structs.replace(shelf.used("gamepad").mapping, dead_zone=0.3))
    shelf.keep("gamepad", "mine")
    kept = msgspec.json.decode((folder / "mine.json").read_bytes())
    assert (kept["rumble"], kept["moves"][0]["curve"], kept["dead_zone"]) == (True, "x", 0.3)


@pytest.mark.parametrize(
    "name", ["", "../out", "a/b", "a\\b", ".hidden", "con:", "a" * 99, "x\ny", "gamepad"]
)
def test_a_name_that_could_lead_elsewhere_or_is_a_presets_is_refused(tmp_path, name):
    shelf = Shelf(tmp_path)
    with pytest.raises(BadInput, match=r"is not a name for a mapping|is the name of a preset"):
        shelf.keep("gamepad", name)
    assert list(tmp_path.iterdir()) == []


def test_a_mapping_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    keep_own(tmp_path, "mine", PAD)
    path = tmp_path / "sticks" / "mine.json"
    before = path.read_bytes()
    assert decode_stick_map(before, "") == PAD

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(BadInput, match="No space left on device"):
        keep_own(tmp_path, "mine", QUICK)
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == ["mine.json"]
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match=r"cannot be made .*LAMPHOUSE_SETTINGS"):
        keep_own(tmp_path / "file", "mine", QUICK)


def test_a_mapping_of_another_device_is_not_written_over(tmp_path):
    shelf = Shelf(tmp_path)
    shelf.change("gamepad", QUICK)
    shelf.keep("gamepad", "mine")
    with pytest.raises(BadInput, match="There is a mapping called mine already"):
        shelf.keep("joysticks", "mine")
    assert own_maps(tmp_path).maps["mine"].device == "gamepad"


def test_changes_and_choices_are_undone_one_by_one_and_a_drag_is_one():
    shelf = Shelf()
    for zone in (0.2, 0.3, 0.4):
        shelf.change("gamepad", msgspec.structs.replace(PAD, dead_zone=zone), drag="dead_zone")
    shelf.end_drag()
    shelf.change("gamepad", msgspec.structs.replace(PAD, dead_zone=0.5), drag="dead_zone")
    shelf.back_to_preset("gamepad")
    zones = []
    while shelf.can_undo("gamepad"):
        shelf.undo("gamepad")
        zones.append(shelf.used("gamepad").mapping.dead_zone)
    assert zones == [0.5, 0.4, 0.15]
