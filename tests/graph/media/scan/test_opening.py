"""Which files are opened as movies and sound. The forms of the lists: as in FFmpeg's documentation."""

import os

import pytest

from lamphouse.graph.files.digest import digest_of_contents, digest_of_parts
from lamphouse.graph.media.master.pass_record import read_record
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.sound.read import open_sound
from lamphouse.nodes.errors import BadInput

LISTS = {
    "a concat list": "ffconcat version 1.0\nfile 'film.mkv'\n",
    "a playlist": "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nfilm.mkv\n#EXT-X-ENDLIST\n",
    "a manifest": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static">'
    '<Period><AdaptationSet><Representation id="0" bandwidth="1"><BaseURL>film.mkv</BaseURL>'
    "</Representation></AdaptationSet></Period></MPD>",
    "a session": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
    "m=video 5004 RTP/AVP 96\na=rtpmap:96 H264/90000\n",
}


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("read", [open_scan, lambda path: open_sound(path, 48000)], ids=["scan", "sound"])
def test_a_list_of_other_files_is_no_scan_and_no_sound(tmp_path, numbered_movie, name, read):
    numbered_movie(tmp_path / "film.mkv", "ffv1", count=3)
    path = tmp_path / "list.mkv"
    path.write_text(LISTS[name])
    with pytest.raises(BadInput, match=r"list\.mkv cannot be"):
        read(path)


@pytest.mark.parametrize("name", ["http:x.mkv", "concat:film.mkv|film.mkv", "pipe:0", "lavfi:color.mkv"])
def test_a_name_with_a_colon_is_a_file_of_that_name_and_nothing_else(
    tmp_path, monkeypatch, numbered_movie, name
):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BadInput, match="does not exist"):
        open_scan(tmp_path / name)
    numbered_movie(tmp_path / "film.mkv", "ffv1", count=3)
    (tmp_path / "film.mkv").rename(tmp_path / name)
    with open_scan(tmp_path / name) as scan:
        assert scan.frames == 3


@pytest.mark.parametrize("name", ["scan.mkv", "scan.0001.tif", "scan.wav"])
def test_a_pipe_is_not_waited_for(tmp_path, name):
    os.mkfifo(tmp_path / name)
    with pytest.raises(BadInput, match="pipe or a device"):
        open_scan(tmp_path / name)
    with pytest.raises(BadInput):
        open_sound(tmp_path / name, 48000)


@pytest.mark.parametrize("name", ["scan.mkv", "scan.0001.dpx"])
def test_a_device_is_not_read(tmp_path, name):
    (tmp_path / name).symlink_to("/dev/zero")
    with pytest.raises(BadInput, match="pipe or a device"):
        open_scan(tmp_path / name)


@pytest.mark.parametrize("read", [digest_of_parts, lambda path: digest_of_contents([path])], ids=["a", "b"])
def test_what_is_no_file_is_not_digested_for_ever(tmp_path, read):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "endless").symlink_to("/dev/zero")
    for name in ("pipe", "endless"):
        with pytest.raises(OSError, match="pipe or a device"):
            read(tmp_path / name)


def test_a_pipe_in_the_place_of_a_pass_s_record_is_no_record(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert read_record(tmp_path / "pipe") is None
