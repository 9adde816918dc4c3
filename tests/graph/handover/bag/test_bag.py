"""A bag as other people's tools read it. The film and every name are invented."""

import json
import re
import shutil
import subprocess
from contextlib import nullcontext
from pathlib import Path
from xml.etree import ElementTree as ET

import bagit
import msgspec
import numpy as np
import OpenImageIO as oiio
import opentimelineio as otio
import pytest
from lxml import etree

from lamphouse.graph.check.proof import prove
from lamphouse.graph.files.locks import locked
from lamphouse.graph.handover.bag.check import check_bag
from lamphouse.graph.handover.bag.readme import FILES, readme
from lamphouse.graph.handover.bag.write import as_made, write_bag
from lamphouse.graph.handover.frame_still import write_frame
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.reel.records import About
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput, CheckFailed

pytestmark = [
    pytest.mark.slow,  # one master is made, graded and handed over: some seconds
    pytest.mark.filterwarnings("ignore:'count' is passed:DeprecationWarning"),  # bagit 1.9 on Python 3.13
]

CUES = ("001-Garden", "002-Gate-50-etc")


def silent(*done):
    """Nobody watches the progress."""


def payload(bag):
    return {path.relative_to(bag / "data").as_posix() for path in (bag / "data").rglob("*") if path.is_file()}


def test_the_library_of_congress_own_validator_finds_the_bag_whole(handed_over):
    """bagit-python, Library of Congress; RFC 8493, 2.1.1 for the two lines."""
    bag = bagit.Bag(str(handed_over.bag))
    assert bag.validate()
    assert set(bag.algorithms) == {"sha256", "sha512"}
    declared = (handed_over.bag / "bagit.txt").read_bytes()
    assert declared == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert len(bag.payload_entries()) == handed_over.handed.files == len(payload(handed_over.bag))


def test_names_that_lead_astray_stay_within_the_bag_and_are_plain(handed_over):
    names = payload(handed_over.bag)
    assert "reel/sea-..-50.reel" in names
    assert "master/sea-0A-master.mkv" in names
    assert {f"cues/{cue}.clf" for cue in CUES} <= names
    assert all(
        set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./")
        for name in names
    )
    beside = {path.name for path in handed_over.bag.parent.iterdir() if not path.name.startswith(".")}
    master = handed_over.master.name
    kept = {f"{master}.record.json", f"{master}.record.json.previous"}
    assert beside == {"film.mkv", "film.wav", handed_over.opened.file.name, master, *kept, "bag"}


def test_the_readme_says_of_every_file_what_it_is(handed_over):
    page = (handed_over.bag / "data" / "README.txt").read_text()
    for name in payload(handed_over.bag):
        pattern = next(pattern for pattern in FILES if Path(name).match(pattern))
        assert pattern in page or name in page
    assert all(len(line) <= 110 for line in page.splitlines())


def test_the_readme_of_a_bag_without_the_master_tells_it_by_its_digest(handed_over):
    record = load_record(handed_over.master)
    page = readme(["README.txt"], "Sea", record, [], ["A note."], with_master=False)
    (digest,) = record.files.values()
    assert f"the master {handed_over.master.name}, SHA-256 {digest}" in page
    assert "Nothing: every cue is carried whole" in page
    assert page.endswith("TO BE KNOWN\nA note.\n")


def test_the_reel_is_handed_over_as_the_master_was_made_of_it_with_the_scan_where_it_is_now(handed_over):
    record, now = load_record(handed_over.master), handed_over.opened.reel
    moved = msgspec.structs.replace(now.scan, path="elsewhere/film.mkv", encoding="srgb")
    changed = msgspec.structs.replace(now, scan=moved, cues=now.cues[:1], about=About(title="Later"))
    made = as_made(handed_over.opened.with_reel(changed), record).reel
    assert (made.scan.path, made.scan.encoding) == ("elsewhere/film.mkv", now.scan.encoding)
    assert (made.cues, made.about.title) == (now.cues, "Later")


def test_framemd5_is_what_ffmpeg_writes_for_the_master(handed_over):
    """FFmpeg's own command, its framemd5 in version 2."""
    ffmpeg = ["ffmpeg", "-v", "error", "-i", handed_over.master, "-map", "0:v", "-fflags", "+bitexact", "-f"]
    written = subprocess.run([*ffmpeg, "framemd5", "-"], check=True, capture_output=True, text=True).stdout
    sums = handed_over.bag / "data" / "master" / "sea-0A-master.mkv.framemd5"
    assert sums.read_text() == written
    assert len(written.splitlines()) == 9 + 15


def test_the_master_in_the_bag_is_proved_by_the_record_beside_it(handed_over):
    master = handed_over.bag / "data" / "master" / "sea-0A-master.mkv"
    found = prove(master, lambda what: nullcontext(silent), lambda: False, quick=True)
    assert found.count == 0
    probe = ["ffprobe", "-v", "error", "-show_entries", "stream=codec_name", "-of", "csv=p=0", master]
    assert subprocess.run(probe, check=True, capture_output=True, text=True).stdout.split() == [
        "ffv1",
        "pcm_s16le",
    ]


def test_what_the_sound_is_and_what_is_heard_of_it_stands_beside_the_master(handed_over):
    """The sums of seconds by ffmpeg's own framemd5 of its samples, a second each."""
    sound = json.loads((handed_over.bag / "data" / "master" / "sea-0A-master.mkv.sound.json").read_text())
    filtered = ["-map", "0:a", "-af", "asetnsamples=8000:p=0", "-c:a", "pcm_s16le", "-fflags", "+bitexact"]
    ffmpeg = ["ffmpeg", "-v", "error", "-i", handed_over.master, *filtered, "-f", "framemd5", "-"]
    written = subprocess.run(ffmpeg, check=True, capture_output=True, text=True).stdout
    sums = [line.split()[-1] for line in written.splitlines() if not line.startswith("#")]
    assert sound["seconds"] == sums
    assert any("BS.1770" in line for line in sound["heard"])


def test_colour_science_reads_the_cube_and_colour_clf_io_the_process_list(handed_over, read_clf, run_clf):
    """Both make of greys what the grade of the first cue makes: its gain of 1.1 (independent readers)."""
    folder = handed_over.bag / "data" / "cues"
    greys = np.tile(np.linspace(0.1, 0.8, 8), (3, 1))
    cube = colour_science().read_LUT(str(folder / f"{CUES[0]}.cube"))
    assert run_clf(read_clf(folder / f"{CUES[0]}.clf"), greys) == pytest.approx(greys * 1.1, abs=1e-6)
    assert pytest.approx(greys * 1.1, abs=2e-4) == cube.apply(greys.T).T


def test_lxml_reads_the_cdls_in_the_structure_of_the_asc(handed_over):
    """Names and namespace of ASC CDL, second-hand: no package has its schema, so structure alone is held."""
    root = etree.parse(handed_over.bag / "data" / "cues" / "all.ccc").getroot()
    asc = "{urn:ASC:CDL:v1.01}"
    assert root.tag == f"{asc}ColorCorrectionCollection"
    corrections = root.findall(f"{asc}ColorCorrection")
    assert len(corrections) == len({one.get("id") for one in corrections}) == 2
    assert all(re.fullmatch(r"[A-Za-z_][\w.-]*", one.get("id")) for one in corrections)  # xs:ID
    for one in corrections:
        assert [child.tag.removeprefix(asc) for child in one] == ["SOPNode", "SatNode"]
        numbers = [child for child in one[0] if child.tag != f"{asc}Description"]
        assert [child.tag.removeprefix(asc) for child in numbers] == ["Slope", "Offset", "Power"]
        assert all(len(list(map(float, child.text.split()))) == 3 for child in numbers)
    slope = corrections[0].findtext(f"{asc}SOPNode/{asc}Slope").split()
    assert [float(number) for number in slope] == pytest.approx([1.1] * 3)


def test_opentimelineio_reads_the_timeline_with_a_clip_for_each_cue(handed_over):
    timeline = otio.adapters.read_from_file(str(handed_over.bag / "data" / "lists" / "sea-..-50.otio"))
    assert [clip.source_range.duration.value for clip in timeline.find_clips()] == [8, 4]
    events = (handed_over.bag / "data" / "lists" / "sea-..-50.edl").read_text()
    assert [line[:3] for line in events.splitlines() if re.match(r"\d{3} ", line)] == ["001", "002"]


def test_a_still_of_light_is_the_one_of_srgb_codes_decoded(handed_over):
    """IEC 61966-2-1 by colour-science, pictures by OpenImageIO."""
    colour, stem = colour_science(), str(handed_over.bag / "data" / "cues" / f"{CUES[0]}-graded")
    codes, light = (oiio.ImageBuf(f"{stem}{end}").get_pixels(oiio.FLOAT) for end in (".png", ".exr"))
    decoded = colour.models.eotf_sRGB(np.clip(codes, 0, 1))
    inside = (light > 0.001) & (light < 1)
    assert inside.mean() > 0.5
    assert np.abs(decoded - light)[inside].max() < 1e-3


def test_dublin_core_is_in_the_bag_in_the_form_of_oai(handed_over):
    """Namespaces of OAI-PMH 2.0 and the DCMI, read by the standard library's own parser."""
    root = ET.parse(handed_over.bag / "data" / "metadata" / "dublin-core.xml").getroot()
    dc = "{http://purl.org/dc/elements/1.1/}"
    assert root.tag == "{http://www.openarchives.org/OAI/2.0/oai_dc/}dc"
    assert [one.text for one in root.findall(f"{dc}identifier")][:2] == ["ARC 1/23", "R-007"]
    assert root.findtext(f"{dc}description") == "Shown once; <b>faded</b>."
    assert root.findtext(f"{dc}type") == "MovingImage"


def test_the_reserved_fields_hold_what_the_client_calls_the_reel_and_no_field_of_his_own(handed_over):
    """RFC 8493, 2.2.2; the title tries to bring a field of its own in a second line."""
    info = bagit.Bag(str(handed_over.bag)).info
    assert info["External-Identifier"] == ["ARC 1/23", "R-007"]
    assert info["External-Description"] == r"The Sea\x0aBag-Size: 1 TB. Shown once; <b>faded</b>."
    assert info["Bag-Size"].endswith("MB")
    assert not any(key.startswith("Bag-Size") and key != "Bag-Size" for key in info)


def test_what_no_lut_carries_is_told_by_cue_with_its_cost(handed_over):
    document = json.loads((handed_over.bag / "data" / "cues" / "cues.json").read_text())
    first, second = ([one["what"] for one in cue["not_carried"]] for cue in document)
    assert first == ["What tracks move from frame to frame"]
    assert second == ["Corrections by area (sky_line)", "Framing", "The transition of 3 frames into it"]
    costs = [one["mean"] for cue in document for one in cue["not_carried"]]
    assert all(0.1 < cost < 60 for cost in costs), costs
    page = (handed_over.bag / "data" / "README.txt").read_text()
    assert "The transition of 3 frames into it; CIEDE2000" in page


@pytest.mark.parametrize("what", ["tracks", "area", "framing", "transition"])
def test_what_leaving_it_out_costs_is_the_mean_ciede2000_between_stills(handed_over, tmp_path, what):
    """Sharma, Wu and Dalal (2005) by colour-science, from sRGB codes of stills (IEC 61966-2-1)."""
    reel = handed_over.opened.reel
    first, second = reel.cues
    cut = msgspec.structs.replace(second, begins="cut", length=0)
    settings = {
        key: value for key, value in second.settings.items() if not key.startswith(("sky_blend", "framing"))
    }
    flat, square = (
        msgspec.structs.replace(second, settings=settings | {key: second.settings[key]})
        for key in ("framing.size", "sky_blend.amount")
    )
    # What is left out, which frames show it, and which row of the document has it.
    less, frames, row = {
        "tracks": (msgspec.structs.replace(reel, tracks=()), (1, 2, 3), (0, 0)),
        "area": (msgspec.structs.replace(reel, cues=(first, flat)), (8, 9, 10, 11), (1, 0)),
        "framing": (msgspec.structs.replace(reel, cues=(first, square)), (8, 9, 10, 11), (1, 1)),
        "transition": (msgspec.structs.replace(reel, cues=(first, cut)), (6, 7), (1, 2)),
    }[what]
    colour = colour_science()
    space, costs = colour.RGB_COLOURSPACES["sRGB"], []
    for frame in frames:
        labs = []
        for one in (reel, less):
            still = tmp_path / f"{frame}.png"
            write_frame(handed_over.opened.with_reel(one), frame, still)
            light = colour.models.eotf_sRGB(oiio.ImageBuf(str(still)).get_pixels(oiio.FLOAT)).reshape(-1, 3)
            labs.append(colour.XYZ_to_Lab(light @ space.matrix_RGB_to_XYZ.T, space.whitepoint))
            still.unlink()
        costs.append(colour.delta_E(*labs, method="CIE 2000").mean())
    document = json.loads((handed_over.bag / "data" / "cues" / "cues.json").read_text())
    found = document[row[0]]["not_carried"][row[1]]
    assert found["mean"] == pytest.approx(np.mean(costs), abs=0.02)
    assert found["largest"] == pytest.approx(max(costs), abs=0.02)


def test_the_hand_over_is_the_last_event_of_the_record_and_of_the_masters_own(handed_over):
    copy = load_record(handed_over.bag / "data" / "master" / "sea-0A-master.mkv")
    own = load_record(handed_over.master)
    kinds = ["creation", "fixity check", "information package creation"]
    assert [event.kind for event in copy.events] == kinds
    assert copy.events == own.events
    assert own.events[1].outcome == own.read_back


def test_a_bag_is_checked_where_neither_reel_nor_scan_is(handed_over, tmp_path):
    bag = shutil.copytree(handed_over.bag, tmp_path / "elsewhere")
    found = check_bag(bag, silent)
    assert found.lines()[0].startswith("Every byte of")
    assert found.count == 0


def test_nothing_that_is_there_is_written_over(handed_over, tmp_path):
    opened, master = handed_over.opened, handed_over.master
    taken = tmp_path / "taken"
    for make in (taken.mkdir, lambda: taken.rmdir() or taken.write_text("x")):
        make()
        with pytest.raises(BadInput, match="is there already and is never written over"):
            write_bag(taken, opened, master, silent)
    assert taken.read_text() == "x"
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]


def test_of_two_at_once_the_second_is_told_who_writes(handed_over, tmp_path):
    with locked(tmp_path / "bag", 0), pytest.raises(BadInput, match="in use by"):
        write_bag(tmp_path / "bag", handed_over.opened, handed_over.master, silent)
    assert not (tmp_path / "bag").exists()


@pytest.mark.parametrize("end", [KeyboardInterrupt(), OSError(28, "No space left on device")])
def test_a_hand_over_that_ends_early_leaves_nothing(handed_over, tmp_path, end):
    def stop(*done):
        raise end

    ended = KeyboardInterrupt if isinstance(end, KeyboardInterrupt) else BadInput
    before = record_path(handed_over.master).read_bytes()
    with pytest.raises(ended):
        write_bag(tmp_path / "bag", handed_over.opened, handed_over.master, stop)
    assert list(tmp_path.iterdir()) == []
    assert record_path(handed_over.master).read_bytes() == before


def test_on_a_disk_that_is_too_small_nothing_is_left_and_one_sentence_says_why(handed_over, small_disk):
    with pytest.raises(BadInput, match=r"cannot be written \(No space left on device\)"):
        write_bag(small_disk / "bag", handed_over.opened, handed_over.master, silent)
    assert list(small_disk.iterdir()) == []


def test_a_master_that_is_not_what_its_record_says_is_not_handed_over(handed_over, tmp_path):
    master = tmp_path / handed_over.master.name
    shutil.copy(record_path(handed_over.master), record_path(master))
    data = bytearray(handed_over.master.read_bytes())
    data[len(data) // 2] ^= 1
    master.write_bytes(data)
    with pytest.raises(CheckFailed, match="is not what its record says"):
        write_bag(tmp_path / "bag", handed_over.opened, master, silent)
    assert not (tmp_path / "bag").exists()


def test_a_reel_that_is_not_the_masters_is_refused(handed_over, tmp_path):
    reel = msgspec.structs.replace(handed_over.opened.reel, rate="18")
    with pytest.raises(BadInput, match="the rate"):
        write_bag(tmp_path / "bag", handed_over.opened.with_reel(reel), handed_over.master, silent)
