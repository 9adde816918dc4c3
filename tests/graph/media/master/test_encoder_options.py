"""What a delivery may ask of an encoder. Options that name files: as FFmpeg's own help lists them."""

import pytest

from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.encoder_options import ENCODERS, OPTIONS, SOUND_ENCODERS, Amount, Bits
from lamphouse.graph.reel.records import Delivery, Sound
from lamphouse.nodes.errors import BadInput

FORMS = {
    "libx264": {"container": "mp4", "codec": "libx264", "pixel_format": "yuv420p"},
    "libx265": {"container": "mp4", "codec": "libx265", "pixel_format": "yuv420p"},
    "prores_ks": {"container": "matroska", "codec": "prores_ks", "pixel_format": "yuv444p10le"},
    "dnxhd": {"container": "mxf", "codec": "dnxhd", "pixel_format": "yuv444p10le"},
    "v210": {"container": "mov", "codec": "v210", "pixel_format": "yuv422p10le"},
    "ffv1": {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"},
    "tiff": {
        "container": "tiff",
        "codec": "tiff",
        "pixel_format": "rgb48le",
        "matrix": "rgb",
        "range": "full",
    },
    "dpx": {"container": "dpx", "codec": "dpx", "pixel_format": "gbrp10le", "matrix": "rgb", "range": "full"},
}


@pytest.mark.parametrize(
    ("codec", "options"),
    [
        ("libx264", {"x264-params": "dump-yuv={file}"}),
        ("libx264", {"x264-params": "stats={file}:pass=1"}),
        ("libx264", {"flags": "+pass1", "stats": "{file}"}),
        ("libx264", {"flags": "+pass1", "passlogfile": "{file}"}),
        ("libx264", {"x264opts": "qpfile={file}"}),
        ("libx265", {"x265-params": "csv={file}"}),
        ("libx265", {"x265-params": "csv={file}:csv-log-level=2"}),
        ("libx264", {"preset": "medium:dump-yuv={file}"}),
        ("libx264", {"tune": "film\nstats={file}"}),
        ("ffv1", {"flags": "+pass1", "stats_out": "{file}"}),
        ("tiff", {"compression_algo": "{file}"}),
        ("dpx", {"stats": "{file}"}),
    ],
)
def test_an_option_through_which_an_encoder_would_write_a_file_is_refused(tmp_path, begin, codec, options):
    victim = tmp_path / "profile"
    victim.write_text("mine")
    asked = {name: value.format(file=victim) for name, value in options.items()}
    record = Delivery(**FORMS[codec], options=asked)
    with pytest.raises(BadInput, match=f"{codec} (has no option|takes)"):
        delivery("tv", {"tv": record})
    with pytest.raises(BadInput, match=f"{codec} (has no option|takes)"):
        begin(record, f"out{CONTAINERS[record.container].suffix}", size=(64, 48))
    assert victim.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [victim]


@pytest.mark.parametrize(
    ("codec", "options", "said"),
    [
        ("libx264", {"crf": "-1"}, "takes a number from 0 to 51 as crf, not -1"),
        ("libx264", {"crf": "1e1"}, "takes a number from 0 to 51"),
        ("libx264", {"crf": "２０"}, "takes a number"),
        ("libx264", {"preset": "hasty"}, "ultrafast, superfast.*or placebo as preset, not hasty"),
        ("libx264", {"maxrate": "8MB"}, "bits such as 8000k or 8M"),
        ("libx264", {"maxrate": "999999M"}, "up to 2000M"),
        ("libx264", {"bf": "9999999999"}, "a whole number from 0 to 16"),
        ("libx264", {"crs": "20"}, "no option crs that a delivery may set .did you mean crf"),
        ("ffv1", {"g": "12"}, "takes 1 as g"),
        ("ffv1", {"level": "1"}, "takes 3 as level"),
    ],
)
def test_a_refusal_names_the_option_and_says_what_is_allowed(codec, options, said):
    with pytest.raises(BadInput, match=said):
        delivery("tv", {"tv": Delivery(**FORMS[codec], options=options)})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"codec": "libx264rgb"}, "matroska takes no picture encoder called libx264rgb"),
        ({"codec": "mjpeg", "container": "mp4"}, "mp4 takes no picture encoder called mjpeg"),
        ({"sound": Sound(codec="vorbis")}, "no sound encoder called vorbis"),
        ({"sound": Sound(codec="pcm_s24le"), "container": "mp4", "codec": "libx264"}, "called pcm_s24le"),
        ({"container": "tiff"}, "tiff takes no picture encoder called ffv1"),
    ],
)
def test_a_container_takes_the_encoders_that_are_known_to_go_into_it(changes, said):
    with pytest.raises(BadInput, match=said):
        delivery("tv", {"tv": Delivery(**FORMS["ffv1"] | changes)})


def _values(allowed):
    """The ends of what is allowed, or all choices."""
    match allowed:
        case Amount(low, high):
            return [f"{low:g}", f"{high:g}", f"{high - 0.5:g}"]
        case Bits():
            return ["8000000", "8000k", "8M"]
        case range():
            return [str(allowed[0]), str(allowed[-1])]
    return list(allowed)


@pytest.mark.parametrize("codec", OPTIONS)
def test_no_allowed_option_is_unknown_to_its_encoder(codec):
    import av

    coder = av.CodecContext.create(codec, "w")
    asked = {name: _values(allowed)[-1] for name, allowed in OPTIONS[codec].items()}
    record = delivery("tv", {"tv": Delivery(**FORMS[codec], options=asked)})
    coder.width, coder.height, coder.pix_fmt = 640, 480, record.pixel_format
    coder.framerate, coder.options = 25, record.options
    try:
        coder.open()
    except (av.FFmpegError, ValueError):
        pass  # together they may contradict each other; what is unknown is left in the options all the same
    else:
        assert not coder.options


@pytest.mark.parametrize("name", ["ffv1", "prores_ks", "libx264", "libx265"])
def test_masters_are_written_with_what_people_ask_for(tmp_path, begin, name):
    asked = {
        "ffv1": {"coder": "range_tab", "context": "1", "slices": "4", "slicecrc": "1"},
        "prores_ks": {"profile": "4444"},
        "libx264": {"crf": "18.5", "preset": "ultrafast", "tune": "film", "profile": "high", "level": "4.1"},
        "libx265": {"crf": "20", "preset": "ultrafast", "profile": "main"},
    }[name]
    record = delivery("tv", {"tv": Delivery(**FORMS[name], options=asked)})
    with begin(record, f"out{CONTAINERS[record.container].suffix}", size=(64, 48)) as master:
        for _ in range(3):
            master.write_filled(_black(master))
        master.finish()
    assert master.path.exists()


def _black(master):
    blank = master.blank()
    for plane in blank.planes:
        plane[:] = 0
    return blank


def test_every_encoder_that_a_container_takes_has_its_list_of_options():
    assert {codec for codecs in ENCODERS.values() for codec in codecs} == set(OPTIONS)
    assert set(ENCODERS) == set(SOUND_ENCODERS)
