"""Deliveries by name: presets that can be written, a reel's own before them, and faults in words."""

import json
from inspect import signature

import msgspec
import numpy as np
import pytest

from lamphouse.graph.commands.transfers import transfer
from lamphouse.graph.media.codes.raster import raster_of
from lamphouse.graph.media.master.containers import CONTAINERS
from lamphouse.graph.media.master.delivery import delivery, delivery_names
from lamphouse.graph.media.master.read_back import read_back
from lamphouse.nodes.errors import BadInput

PRESETS = delivery_names({})


def test_there_are_the_usual_deliveries_and_a_default():
    lossless = {"hd-ffv1", "scan-ffv1", "sd-ffv1", "rgb-ffv1", "hd-v210", "tiff-16", "dpx-10"}
    for_editing = {"hd-prores-hq", "hd-prores-4444", "hd-dnxhr-hqx", "hd-25i-prores-hq", "hd-25i-dnxhd"}
    of_other_colour = {"projection-tiff", "uhd-bt2020-ffv1", "density-dpx"}
    interlaced = {
        "hd-25i-prores-hq",
        "hd-25i-dnxhd",
        "hd-25i-ffv1",
        "hd-29i-ffv1",
        "sd-625i-ffv1",
        "sd-525i-ffv1",
    }
    viewing = {"viewing-h264", "viewing-h265", "viewing-timecode"}
    assert lossless | for_editing | of_other_colour | interlaced | viewing <= set(PRESETS)
    for_broadcast = {"hd-broadcast", "sd-broadcast"}
    assert {name for name in PRESETS if delivery(name, {}).levels != "full"} == for_broadcast
    assert signature(transfer).parameters["delivery"].default in PRESETS


@pytest.mark.parametrize("name", PRESETS)
def test_every_preset_says_what_it_is_and_can_be_written(begin, name):
    preset = delivery(name, {})
    assert preset.sentence.endswith(".")
    assert not preset.other
    width, height = raster_of(preset, 48, 36)
    with begin(preset, f"out{CONTAINERS[preset.container].suffix}", size=(48, 36)) as master:
        master.write(np.zeros((3, height, width), np.float32))
        master.write_sound(np.zeros((2, 1920), np.float32))
        master.finish()
    assert read_back(master.path, master.meant).frames == 1


def test_a_reels_own_delivery_stands_beside_the_presets():
    own = {"tv": delivery("sd-ffv1", {})}
    assert delivery("tv", own).height == 576
    assert delivery_names(own) == ["tv", *PRESETS]


@pytest.mark.parametrize("name", ["hd-ffv1", "broadcast.json"])
def test_a_reels_own_delivery_never_takes_the_name_of_a_preset_or_of_a_file(name):
    own = {name: delivery("sd-ffv1", {})}
    with pytest.raises(BadInput, match=f"called {name}.*rename it under deliveries"):
        delivery(name, own)
    assert delivery("sd-ffv1", own).height == 576


def test_a_delivery_may_be_a_file(tmp_path):
    path = tmp_path / "mine.json"
    kind = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le"}
    path.write_text(json.dumps(kind | {"black_after": 750, "sound": {"codec": "flac"}}))
    found = delivery(str(path), {})
    assert (found.black_after, found.sound.codec, found.sound.rate) == (750, "flac", 48000)


def test_an_unknown_delivery_is_refused_with_near_names():
    with pytest.raises(BadInput, match="did you mean hd-ffv1"):
        delivery("hd_ffv1", {})


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("{", "is cut off; it ends at line 1, before the delivery does"),
        ('{"container": "matroska"}', "codec"),
        ('{"container": "film", "codec": "ffv1", "pixel_format": "yuv420p"}', "container"),
    ],
)
def test_a_file_that_is_no_delivery_is_refused(tmp_path, text, word):
    path = tmp_path / "mine.json"
    path.write_text(text)
    with pytest.raises(BadInput, match=word) as caught:
        delivery(str(path), {})
    assert str(path) in str(caught.value)
    with pytest.raises(BadInput, match="cannot be read"):
        delivery(str(tmp_path / "none.json"), {})


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"codec": "ffv2"}, "no picture encoder called ffv2 .did you mean ffv1"),
        ({"codec": "aac"}, "no picture encoder called aac"),
        ({"pixel_format": "yuv422p11le"}, "did you mean yuv422p1"),
        ({"matrix": "rgb"}, "does not go with matrix rgb"),
        ({"width": None}, "width and height"),
        ({"width": 0}, "width is 0"),
        ({"resize": "lanczos4"}, "lanczos3"),
        ({"pixel_aspect": "wide"}, "12/11"),
        ({"pixel_aspect": "1/0"}, "12/11"),
        ({"bars": -1}, "bars is -1"),
        ({"other": {"colour": "x"}}, "has no colour"),
    ],
)
def test_a_delivery_that_contradicts_itself_is_refused(changes, word):
    own = {"mine": msgspec.structs.replace(delivery("hd-ffv1", {}), **changes)}
    with pytest.raises(BadInput, match=word):
        delivery("mine", own)
