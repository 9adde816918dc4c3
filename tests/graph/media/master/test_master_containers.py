"""What other programs read in masters of every movie preset, at a small raster: all that was asked for."""

import zlib
from fractions import Fraction

import msgspec
import numpy as np
import pytest

from lamphouse import __version__
from lamphouse.graph.media.codes.encode_planes import component_planes
from lamphouse.graph.media.codes.pixel_layout import layout_of
from lamphouse.graph.media.master.containers import CONTAINERS, is_movie
from lamphouse.graph.media.master.decoded import Picture, decoded_movie
from lamphouse.graph.media.master.delivery import checked, delivery, delivery_names
from lamphouse.graph.media.master.lineup import tone
from lamphouse.graph.media.master.mxf_header import settle_header
from lamphouse.graph.media.master.read_back import read_back
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.reel.records import Sound
from lamphouse.graph.time.rate import video_rate
from lamphouse.nodes.errors import BadInput

SIZE = 256, 120  # the smallest that DNxHR takes; what is not larger than standard definition stays as it is
PRESETS = [name for name in delivery_names({}) if is_movie(delivery(name, {}).container)]
FFV1 = ("ffv1", None, "[0][0][0][0]")
# Codec, profile, tag, as ffprobe 5 names them.
ASKED = {
    "hd-prores-hq": ("prores", "HQ", "apch"),
    "hd-25i-prores-hq": ("prores", "HQ", "apch"),
    "hd-prores-4444": ("prores", "4444", "ap4h"),
    "hd-dnxhr-hqx": ("dnxhd", "DNXHR HQX", "[0][0][0][0]"),
    "hd-25i-dnxhd": ("dnxhd", "DNXHD", "[0][0][0][0]"),
    "hd-v210": ("v210", None, "v210"),
    "viewing-h264": ("h264", "High", "avc1"),
    "viewing-timecode": ("h264", "High", "avc1"),
    "viewing-h265": ("hevc", "Main 10", "hvc1"),
}
# Primaries, transfer and matrix by the names that ffprobe has for ITU-T H.273; of BT.601 by lines.
COLOURS = {
    "bt709": ("bt709", "bt709", "bt709"),
    "rgb": ("bt709", "bt709", "gbr"),
    "bt2020": ("bt2020", "bt2020-10", "bt2020nc"),
    "bt601 of 576": ("bt470bg", "smpte170m", "bt470bg"),
    "bt601 of 486": ("smpte170m", "smpte170m", "smpte170m"),
}
FIELDS = {"progressive": "progressive", "top-first": "tt", "bottom-first": "bb"}
# What MediaInfo 23 calls the same.
CALLED = {
    "hd-prores-hq": ("ProRes", "422 HQ", "4:2:2"),
    "hd-prores-4444": ("ProRes", "4444", "4:4:4"),
    "hd-dnxhr-hqx": ("VC-3", "RI", "4:2:2"),
    "hd-25i-prores-hq": ("ProRes", "422 HQ", "4:2:2"),
    "hd-25i-dnxhd": ("VC-3", "HD", "4:2:2"),
    "hd-v210": ("YUV", None, "4:2:2"),
    "viewing-h264": ("AVC", "High", "4:2:0"),
    "viewing-h265": ("HEVC", "Main 10", "4:2:0"),
}


def small(preset):
    """The preset at a small raster, of pixels that are not square; DNxHD has no small ones."""
    if preset.width is not None and preset.width <= 720:
        return preset
    if preset.options.get("profile") == "dnxhd":
        return preset
    shape = {"width": SIZE[0], "height": SIZE[1], "pixel_aspect": "12/11"}
    return msgspec.structs.replace(preset, **shape)


@pytest.fixture(scope="module")
def films():
    """A function that returns three pictures of slow colour with a step in it, R'G'B'."""

    def pictures(width, height):
        x, y = np.meshgrid(np.linspace(0.1, 0.9, width), np.linspace(0.2, 0.8, height))
        shades = [np.stack([x * s, y, np.where(x > 0.5, 0.7, 0.3)]) for s in (1, 0.9, 0.8)]
        return [np.float32(picture) for picture in shades]

    return pictures


@pytest.fixture
def made(begin, films):
    """A function that writes a master of a preset at a small raster, with tone, and returns it."""

    def make(name, rate=None):
        preset = small(delivery(name, {}))
        rate = Fraction(rate) if rate else video_rate(preset.rate or "25")
        place = {"rate": rate, "size": (preset.width, preset.height), "reel": "Reel 7"}
        with begin(preset, f"m{CONTAINERS[preset.container].suffix}", **place) as master:
            count = 1 if preset.height > 1000 else 3
            for number, picture in enumerate(films(preset.width, preset.height)[:count]):
                master.write(picture)
                at = [round(48000 / rate * n) for n in (number, number + 1)]
                master.write_sound(tone(*at, 48000, 2))
            master.finish()
        return master

    return make


def stream_of(found, kind):
    return next(stream for stream in found["streams"] if stream["codec_type"] == kind)


@pytest.mark.parametrize("name", PRESETS)
def test_ffprobe_reads_what_was_asked_for(made, ffprobe, name):
    master = made(name)
    asked = master.delivery
    found = ffprobe(master.path, "-show_format", "-count_frames")
    stream, sound = stream_of(found, "video"), stream_of(found, "audio")
    read = tuple(stream.get(key) for key in ("codec_name", "profile", "codec_tag_string"))
    assert read == ASKED.get(name, FFV1)
    # ProRes 4444 is of 12 bits whatever its encoder is given.
    assert stream["pix_fmt"] == ("yuv444p12le" if name == "hd-prores-4444" else asked.pixel_format)
    assert (stream["width"], stream["height"]) == (asked.width, asked.height)
    assert Fraction(stream["sample_aspect_ratio"].replace(":", "/")) == Fraction(asked.pixel_aspect)
    assert Fraction(stream["r_frame_rate"]) == master.rate
    assert (int(stream["nb_read_frames"]), float(stream["start_time"])) == (master.frames, 0)
    assert stream["field_order"] == FIELDS[asked.scanning]
    colour = tuple(stream[f"color_{of}"] for of in ("primaries", "transfer", "space"))
    lines = f" of {asked.height}" if asked.matrix == "bt601" else ""
    assert colour == COLOURS[asked.matrix + lines]
    # MOV has no place for the range, and v210 none either, being of video range.
    assert stream.get("color_range", "tv") == ("pc" if asked.range == "full" else "tv")
    assert sound["codec_name"] == asked.sound.codec
    assert (sound["sample_rate"], sound["channels"]) == ("48000", 2)
    told = [found["format"]["tags"], *(s.get("tags", {}) for s in found["streams"])]
    told = {key.lower(): value for tags in told for key, value in tags.items()}
    assert told["timecode"].replace(";", ":") == "10:00:00:00"
    assert "Reel 7" in told.values()
    assert any(f"Lamphouse {__version__}" in value for value in told.values())


@pytest.mark.parametrize("name", CALLED)
def test_mediainfo_reads_what_was_asked_for(made, mediainfo, name):
    master = made(name)
    found, asked = mediainfo(master.path), master.delivery
    video, sound = found["Video"], found["Audio"]
    assert (video["Format"], video.get("Format_Profile"), video["ChromaSubsampling"]) == CALLED[name]
    assert (video["Width"], video["Height"]) == (str(asked.width), str(asked.height))
    shape = Fraction(asked.width, asked.height) * Fraction(asked.pixel_aspect)
    assert float(video["DisplayAspectRatio"]) == pytest.approx(float(shape), abs=1e-3)
    assert (video["FrameRate"], video["FrameCount"]) == ("25.000", str(master.frames))
    colour = ("colour_primaries", "transfer_characteristics", "matrix_coefficients")
    assert [video[of] for of in colour] == ["BT.709"] * 3
    assert (sound["SamplingRate"], sound["Channels"]) == ("48000", "2")
    if not name.startswith("viewing"):
        assert (sound["Format"], sound["BitDepth"]) == ("PCM", "24")
        scan = {"progressive": ("Progressive", None), "top-first": ("Interlaced", "TFF")}
        assert (video["ScanType"], video.get("ScanOrder")) == scan[asked.scanning]
    assert found["Other"]["TimeCode_FirstFrame"] == "10:00:00:00"


@pytest.mark.parametrize("name", sorted({*delivery_names({})} - {*PRESETS}))
def test_stills_are_what_was_asked_for(begin, films, ffprobe, mediainfo, name):
    preset = msgspec.structs.replace(delivery(name, {}), width=None, height=None)
    with begin(preset, "stills", size=(96, 54), aspect=Fraction(12, 11)) as master:
        master.write(films(96, 54)[0])
        master.finish()
    (still,) = master.path.iterdir()
    image, stream = mediainfo(still)["Image"], stream_of(ffprobe(still), "video")
    bits = {"gbrp10le": 10, "rgb48le": 16}[preset.pixel_format]
    kinds = {"dpx": "DPX", "tiff": "Raw"}  # what it calls TIFF that is not compressed
    assert (image["Format"], image["Width"], image["Height"]) == (kinds[preset.container], "96", "54")
    assert (image["BitDepth"], image["ColorSpace"]) == (str(bits), "RGB")
    assert (stream["codec_name"], stream["pix_fmt"]) == (preset.codec, preset.pixel_format)
    assert Fraction(stream["sample_aspect_ratio"].replace(":", "/")) == Fraction(12, 11)


@pytest.mark.slow  # MediaConch rests half a second over each
def test_mediaconch_finds_that_every_matroska_preset_conforms(made, mediaconch, tmp_path):
    names = [name for name in PRESETS if delivery(name, {}).container == "matroska"]
    paths = [made(name).path.rename(tmp_path / f"{name}.mkv") for name in names]
    said = mediaconch(*paths).splitlines()
    assert sorted(line for line in said if line) == sorted(f"pass! {path}" for path in paths)


@pytest.mark.parametrize("name", ["hd-prores-hq", "hd-prores-4444", "hd-dnxhr-hqx", "hd-25i-prores-hq"])
def test_a_coding_for_editing_stays_far_within_what_a_lossy_one_may_take(made, name):
    master = made(name)
    assert max(read_back(master.path, master.meant, rate=Fraction(25)).distances) < 0.1  # of 8: as measured


@pytest.mark.parametrize("name", ["hd-25i-prores-hq", "hd-25i-dnxhd"])
def test_fields_that_differ_stay_apart_in_their_lines(begin, name):
    preset = msgspec.structs.replace(small(delivery(name, {})), sound=None)
    with begin(
        preset, f"m{CONTAINERS[preset.container].suffix}", size=(preset.width, preset.height)
    ) as master:
        picture = np.zeros((3, preset.height, preset.width), np.float32)
        picture[:, ::2], picture[:, 1::2] = 0.25, 0.75
        master.write(picture)
        master.finish()
    (found,) = (part for part in decoded_movie(master.path) if isinstance(part, Picture))
    assert found.codes.interlaced_frame
    luma = component_planes(found.codes, layout_of(found.codes.format))[0][:100].mean(axis=1)
    # 64 + 876 * signal: ITU-R BT.709. Coded as one picture, such lines would not come back.
    assert np.abs(luma - np.tile([283, 721], 50)).max() < 2


def test_the_frames_of_prores_carry_their_own_colour_tags(made, ffprobe):
    # SMPTE RDD 36: bytes 14 to 16 of the frame header, which follows a size, "icpf", and a size of two bytes.
    master = made("hd-prores-hq")
    with open_scan(master.path) as scan:
        assert scan.frames == 3
    packet = next(part for part in decoded_movie(master.path) if isinstance(part, Picture)).packet
    data = bytes(packet)
    assert data[4:8] == b"icpf"
    assert tuple(data[22:25]) == (1, 1, 1)  # ITU-T H.273: BT.709


def test_v210_comes_back_code_by_code_but_for_those_kept_for_timing(begin):
    preset = msgspec.structs.replace(delivery("hd-v210", {}), width=98, height=1030, sound=None)
    with begin(preset, "m.mov", size=(98, 1030)) as master:
        blank = master.blank()
        codes = np.arange(1024, dtype=np.uint16)
        for plane in blank.planes:
            plane[:] = 512
            plane[:1024] = codes[:, None]
        master.write_filled(blank)
        master.finish()
    assert read_back(master.path, master.meant).exact
    (found,) = (part for part in decoded_movie(master.path) if isinstance(part, Picture))
    for plane in component_planes(found.codes, layout_of(found.codes.format)):
        # ITU-R BT.656 keeps 0 to 3 and 1020 to 1023 of 10 bits: from memory.
        assert np.array_equal(plane[:1024, 5], np.clip(codes, 4, 1019))


@pytest.mark.parametrize("name", ["hd-prores-hq", "hd-dnxhr-hqx", "hd-v210", "viewing-h265"])
def test_equal_masters_are_equal_bytes_and_others_are_not(made, name, tmp_path):
    first = made(name).path.rename(tmp_path / "first")
    second = made(name)
    assert zlib.crc32(first.read_bytes()) == zlib.crc32(second.path.read_bytes())


def test_every_mxf_has_an_identifier_of_its_own_in_all_places(made, begin, ffprobe, films):
    def umids(path):
        found = ffprobe(path, "-show_format")
        tags = [found["format"]["tags"], *(stream["tags"] for stream in found["streams"])]
        return {key: value for each in tags for key, value in each.items() if key.endswith("umid")}

    one = made("hd-dnxhr-hqx")
    with begin(one.delivery, "other.mxf", size=SIZE, reel="Reel 7") as other:
        for picture in films(*SIZE)[:2]:
            other.write(picture)
        other.finish()
    mine, others = umids(one.path), umids(other.path)
    assert set(mine) >= {"material_package_umid", "file_package_umid"}
    assert len(set(mine.values())) == len(mine)
    assert not set(mine.values()) & set(others.values())
    assert len({value[34:-2] for value in mine.values()}) == 1  # SMPTE ST 330: one material number for all


@pytest.mark.parametrize("rate", CONTAINERS["mxf"].rates)
def test_mxf_takes_each_of_its_rates(made, ffprobe, rate):
    master = made("hd-dnxhr-hqx", rate)
    assert Fraction(stream_of(ffprobe(master.path), "video")["r_frame_rate"]) == rate
    assert read_back(master.path, master.meant, rate=Fraction(rate)).frames == 3


@pytest.mark.parametrize("rate", ["16", "50/3", "18"])
def test_mxf_refuses_other_rates_before_the_pass_and_mov_takes_them(made, rate, tmp_path):
    with pytest.raises(
        BadInput, match=r"^mxf takes 23.976, 24, 25, 29.97, 30, 48, 50, 59.94 or 60 frames a second"
    ):
        made("hd-dnxhr-hqx", rate)
    assert not list(tmp_path.iterdir())
    master = made("hd-prores-hq", rate)
    assert read_back(master.path, master.meant, rate=Fraction(rate)).frames == 3


@pytest.mark.parametrize(
    ("name", "changes", "said"),
    [
        ("hd-prores-hq", {"range": "full"}, "prores_ks holds video range"),
        ("hd-v210", {"range": "full"}, "v210 holds video range"),
        ("hd-prores-hq", {"pixel_format": "yuv444p10le"}, "prores_ks with profile hq is of yuv422p10le, not"),
        (
            "hd-prores-4444",
            {"pixel_format": "yuva444p10le"},
            "profile 4444 is of yuv444p10le, not yuva444p10le",
        ),
        ("hd-dnxhr-hqx", {"pixel_format": "yuv422p"}, "dnxhd with profile dnxhr_hqx is of yuv422p10le, not"),
        ("hd-v210", {"pixel_format": "yuv420p"}, "v210 does not take pixel format yuv420p"),
        ("hd-v210", {"container": "mxf"}, "mxf takes no picture encoder called v210"),
        ("hd-dnxhr-hqx", {"sound": Sound(codec="aac")}, "mxf takes no sound encoder called aac"),
        ("hd-dnxhr-hqx", {"sound": Sound(rate=44100)}, "MXF takes sound at 48000 Hz, not 44100"),
        ("hd-dnxhr-hqx", {"scanning": "top-first"}, "DNxHR is progressive alone"),
        ("hd-prores-hq", {"options": {"vendor": "abcd"}}, "prores_ks has no option vendor"),
    ],
)
def test_what_a_coding_or_a_container_has_no_place_for_is_refused(name, changes, said):
    with pytest.raises(BadInput, match=said):
        checked(msgspec.structs.replace(delivery(name, {}), **changes), "mine")


@pytest.mark.parametrize(
    ("name", "size", "said"),
    [
        ("hd-dnxhr-hqx", (64, 48), "want 256x120 or more"),
        ("hd-v210", (63, 48), "whole samples of chroma, each 2 wide"),
    ],
)
def test_a_raster_that_an_encoder_refuses_is_a_sentence_before_the_pass(begin, name, size, said, tmp_path):
    preset = msgspec.structs.replace(delivery(name, {}), width=None, height=None)
    with pytest.raises(BadInput, match=said):
        begin(preset, f"m{CONTAINERS[preset.container].suffix}", size=size)
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_no_mxf_is_not_touched(tmp_path):
    path = tmp_path / "a.mxf"
    path.write_bytes(bytes(5000))
    with pytest.raises(ValueError, match="header"):
        settle_header(path, Fraction(2), bytes(15))
    assert path.read_bytes() == bytes(5000)
