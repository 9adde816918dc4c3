"""The report as a file: what it says, what it holds, how large it can be. The film is invented."""

import html
import re

import msgspec
import numpy as np
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.handover.report import write_report
from lamphouse.graph.handover.report.collection import write_collection
from lamphouse.graph.handover.report.shots import stretches
from lamphouse.graph.handover.report.small_pictures import held, room_of_a_shot
from lamphouse.graph.media.master.record import load_record
from lamphouse.graph.media.scan.movie import MovieScan
from lamphouse.graph.reel.records import Cue, Delivery
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.errors import BadInput, CheckFailed

LARGEST = 15_000_000  # bytes of a page of a hundred shots, as was asked for


def seen(text: str) -> str:
    """Return the text of a page as a person reads it."""
    body = text.partition("<body>")[2].partition("<script>")[0]
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())


def test_the_page_is_one_file_that_asks_for_nothing(page):
    text = page.read_text(encoding="utf-8")
    assert [file.name for file in page.parent.iterdir()] == ["index.html"]
    addresses = re.findall(r'\b(?:src|href|action|srcset|poster|data)="([^"]*)"', text)
    assert addresses
    assert all(re.match(r"data:image/|data:,|#", address) for address in addresses)
    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'; img-src data:; style-src 'sha256-" in text
    assert not re.search(r"<(video|audio|iframe|object|embed|img[^>]*\.gif)|autoplay", text)


def test_names_stand_on_the_page_as_text(page):
    text = page.read_text(encoding="utf-8")
    assert text.count("<script") == 1
    for name in ("<script>alert(1)</script>", 'a "quoted" name', "it's & so on", "splice <i>", "it's a reel"):
        assert name in seen(text)


def test_each_shot_says_in_words_what_was_done_and_then_in_numbers(page):
    said = seen(page.read_text(encoding="utf-8"))
    assert "A third of a stop up, colours 20 % stronger." in said  # 2.4 log2(1.1) is 0.33 (ITU-R BT.1886)
    assert "Slightly warmer in the middle tones and the highlights." in said
    assert "primary.gain 1.1 Brightens or darkens the highlights. 0.1 to 8; neutral is 1" in said
    assert "Before the first cue" in said
    assert "Left as it was scanned." in said
    assert "Moved from frame to frame (3 frames, 2 keys from -0.1 to 0.1)" in said


def test_what_needs_eyes_is_said_with_its_place_the_gravest_first(page):
    eyes = seen(
        "<body>" + page.read_text(encoding="utf-8").partition('id="eyes"')[2].partition("</section>")[0]
    )
    assert eyes.index("To be mended. Frame 8") < eyes.index("To be looked at. Soft shot, 3 frames gulls")
    assert "10:00:00:05, 0+05 ft, frame 5" in eyes
    assert "It <b>may</b> flash." in eyes
    assert "ITU-R BT.1702" in eyes
    assert "splice" not in eyes


def test_transitions_inserts_checks_and_proof_stand_on_the_page(page, made):
    said = seen(page.read_text(encoding="utf-8"))
    for known in (
        "How visible the transition is",
        "its largest step from one frame to the next is",
        "The second cue was changed",
        'Frame 8 (10:00:00:05, cue a "quoted" name) repeats frame 7.',
        "All 15 frames were decoded, and every code is as it was written.",
        "no certificate",
        made.record.files["master.mkv"],
        made.record.made_of["the delivery"],
        made.record.made.versions["PyAV"],
        "25 fps",
        "All else is good.",
        "Harbour & <hills>",
        "Report of a finished master for An archive",
        "AB 12",
        "Water damage",
    ):
        assert known in said


def test_pictures_before_and_after_lie_over_each_other(page):
    """The master's raster is wider than the scan's: both are shown in the master's."""
    text = page.read_text(encoding="utf-8")
    sizes = re.findall(
        r'<figure class="(?:before|after)"><img src="[^"]+" width="(\d+)" height="(\d+)"', text
    )
    assert len(sizes) == 2 * 5
    assert set(sizes) == {("64", "36")}


def test_without_the_scan_the_page_says_so_and_shows_the_master(made, tmp_path):
    gone = msgspec.structs.replace(made.reel.scan, path="gone.mkv")
    record = msgspec.structs.replace(made.record, reel=msgspec.structs.replace(made.reel, scan=gone))
    text = write_report(tmp_path / "report", made.master, record).read_text(encoding="utf-8")
    assert "The pictures are the master's alone, without the scan" in seen(text)
    assert text.count('<div class="pair alone"') == 5
    assert "How visible" not in text
    assert "A third of a stop up" in text


@pytest.mark.parametrize("stills", [False, True])
def test_a_reel_without_cues_and_of_one_frame_has_a_page(made, tmp_path, stills):
    opened = made.opened.with_reel(msgspec.structs.replace(made.reel, cues=(), marks=(), tracks=()))
    coding = {
        "container": "tiff",
        "codec": "tiff",
        "pixel_format": "rgb48le",
        "matrix": "rgb",
        "range": "full",
    }
    movie = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"}
    master = tmp_path / ("m" if stills else "m.mkv")
    asked = plan(opened, Delivery(**(coding if stills else movie)), 4, 5)
    transfer(asked, master, lambda *done: None, reads_back=not stills)
    said = seen(write_report(tmp_path / "report", master, load_record(master)).read_text(encoding="utf-8"))
    assert "1 shot" in said
    assert "The whole reel" in said
    assert ("It was not read back when it was made." in said) == stills


def test_a_shot_is_shown_where_its_own_settings_hold(made):
    """Not where the transition into the next has begun, nor outside the master."""
    cues = (Cue(frame=10), Cue(frame=50, begins="transition", length=30), Cue(frame=60))
    reel = msgspec.structs.replace(made.reel, cues=cues)
    found = [(s.index, s.first, s.stop, s.shown) for s in stretches(reel, 4, 55)]
    assert found == [(None, 4, 10, 7), (0, 10, 50, 15), (1, 50, 55, 52)]
    assert [(s.index, s.first, s.stop) for s in stretches(reel, 12, 20)] == [(0, 12, 20)]


@pytest.mark.parametrize("shots", [1, 100, 1000])
def test_pictures_of_noise_keep_to_their_room(shots):
    """Noise is what JPEG makes largest. Two pictures and four plots a shot, a third larger as text."""
    noise = np.random.default_rng(3).uniform(0, 1, (3, 480, 640)).astype(np.float32)
    room = room_of_a_shot(shots)
    found = held(noise, room * 2 // 5)
    assert len(found.address) <= room * 2 / 5 * 4 / 3 + 40
    assert shots * room * 4 / 3 < LARGEST * 0.85  # the rest is for words
    assert found.width / found.height == pytest.approx(4 / 3, rel=0.02)


def test_a_picture_is_shown_as_it_looks_on_a_display():
    """By ITU-R BT.1886 and IEC 61966-2-1: signal 0.5 is light 0.1895, which is code 120 of sRGB."""
    from base64 import b64decode
    from io import BytesIO

    from PIL import Image

    found = held(np.full((3, 16, 16), 0.5, np.float32), 10_000)
    codes = np.asarray(Image.open(BytesIO(b64decode(found.address.partition(",")[2]))))
    assert np.abs(codes.astype(int) - 120).max() <= 1


def test_frames_that_cannot_be_read_are_said_and_there_is_a_page_all_the_same(made, tmp_path, monkeypatch):
    read = MovieScan.read_coded

    def damaged(scan, frame):
        if scan.path == made.master and frame in (5, 8):
            raise BadInput(f"Frame {frame} is damaged; make it anew.")
        return read(scan, frame)

    monkeypatch.setattr(MovieScan, "read_coded", damaged)
    text = seen(write_report(tmp_path / "report", made.master, made.record).read_text(encoding="utf-8"))
    assert "A picture is missing here: Frame 8 is damaged; make it anew." in text
    assert "The joins of inserts cannot be shown: Frame 5 is damaged; make it anew." in text
    assert "The second cue was changed" in text


def said(*typed):
    result = CliRunner().invoke(_app(), ["report", *map(str, typed)])
    return result.stdout.splitlines(), result.exception


def test_of_a_folder_each_master_with_a_record_has_a_report_and_all_have_a_page(made, tmp_path):
    """The scan that lies there too is no master."""
    lines, error = said(made.master.parent, "-o", tmp_path / "all")
    assert error is None
    assert lines[0] == f"{made.master}: There are 3 things to be looked at."
    assert lines[1].startswith(str(tmp_path / "all" / "index.html"))
    assert len(lines) == 2
    assert (tmp_path / "all" / "master-report" / "index.html").exists()
    assert 'href="master-report/index.html"' in (tmp_path / "all" / "index.html").read_text()


def test_what_cannot_be_reported_is_told_and_the_rest_goes_on(made, tmp_path):
    lines, error = said(tmp_path / "gone.mkv", made.master.parent / "film.mkv", "-o", tmp_path / "all")
    assert isinstance(error, CheckFailed)
    assert len(lines) == 3
    assert "no report" in (tmp_path / "all" / "index.html").read_text()
    (tmp_path / "empty").mkdir()
    for words in ([tmp_path / "empty"], [made.master, made.master.parent, "--reel", made.opened.file]):
        assert isinstance(said(*words, "-o", tmp_path / "b")[1], BadInput)


def test_masters_of_one_name_have_folders_of_their_own(report, tmp_path):
    masters = [tmp_path / "a" / "M.mkv", tmp_path / "b" / "m.mkv"]
    _, rows = write_collection(tmp_path / "all", masters, lambda master, folder: report)
    assert [row.folder for row in rows] == ["M-report", "m-report-2"]
