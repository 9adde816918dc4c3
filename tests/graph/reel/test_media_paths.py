"""Media are found again when the folder of a job moves. All names are invented."""

import shutil
from pathlib import Path

import pytest

from lamphouse.graph.reel.store import media_path, stored_path


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a job's folder with a reel, and a scan beside and below the reel's folder."""
    for folder in ("job/reels/scan", "job/scans/harbour", "elsewhere"):
        (tmp_path / folder).mkdir(parents=True)
    return tmp_path / "job"


@pytest.mark.parametrize(
    ("media", "stored"),
    [
        ("reels/scan/harbour.mkv", "scan/harbour.mkv"),
        ("reels/harbour.mkv", "harbour.mkv"),
        ("scans/harbour", "../scans/harbour"),
        ("scans/not-there-yet.mkv", "../scans/not-there-yet.mkv"),
        ("reels/../scans/harbour", "../scans/harbour"),
        ("scans/harbour/..", "../scans"),
    ],
)
def test_media_below_or_beside_the_reel_are_stored_relative_and_move_with_it(
    job: Path, media: str, stored: str
) -> None:
    assert stored_path(job / "reels/a.reel", job / media) == stored
    moved = job.rename(job.with_name("moved job"))
    assert media_path(moved / "reels/a.reel", stored) == moved.joinpath("reels", stored).resolve()


def test_media_elsewhere_are_stored_absolute_and_found_from_anywhere(job: Path, tmp_path: Path) -> None:
    media = tmp_path / "elsewhere/harbour.mkv"
    stored = stored_path(job / "reels/a.reel", media)
    assert stored == media.as_posix()
    assert media_path(tmp_path / "b.reel", stored) == media


def test_the_root_of_the_disk_does_not_make_everything_a_neighbour() -> None:
    assert stored_path(Path("/lamphouse-a/a.reel"), Path("/lamphouse-b/x.mkv")) == "/lamphouse-b/x.mkv"
    assert stored_path(Path("/lamphouse-a/a.reel"), Path("/lamphouse-a/x.mkv")) == "x.mkv"


def test_paths_typed_from_the_working_folder_are_found(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(job / "reels")
    assert stored_path(Path("a.reel"), Path("../scans/harbour")) == "../scans/harbour"
    assert media_path(Path("a.reel"), "../scans/harbour") == job / "scans/harbour"


def test_a_link_in_the_way_to_the_reel_does_not_lead_astray(job: Path, tmp_path: Path) -> None:
    # Through the link, '..' is not where the name of the link stands but where the folder truly is.
    (tmp_path / "elsewhere/reels").symlink_to(job / "reels")
    reel_file = tmp_path / "elsewhere/reels/a.reel"
    stored = stored_path(reel_file, job / "scans/harbour")
    assert stored == "../scans/harbour"
    assert media_path(reel_file, stored) == job / "scans/harbour"


def test_a_scan_that_is_itself_a_link_stays_stored_by_the_name_beside_the_reel(
    job: Path, tmp_path: Path
) -> None:
    shutil.rmtree(job / "scans/harbour")
    (job / "scans/harbour").symlink_to(tmp_path / "elsewhere")
    assert stored_path(job / "reels/a.reel", job / "scans/harbour") == "../scans/harbour"
    assert media_path(job / "reels/a.reel", "../scans/harbour").resolve() == tmp_path / "elsewhere"
