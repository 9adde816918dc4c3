"""The delivery that is chosen, in plain words and drawn: every preset has words, and the film its place."""

import msgspec
import pytest

from lamphouse.graph.media.master.delivery import FOLDER, delivery
from lamphouse.graph.reel.presets import preset_names
from lamphouse.graph.transfer.plan import plan
from lamphouse.viewer.models.delivery_words import CODEC_WORDS, PRIMARIES_WORDS, described
from lamphouse.viewer.panels.record.raster import film_box, raster_words


@pytest.fixture
def pass_of(desk):
    """A function that plans a pass over the reel, whose film is 4:3, into a delivery."""

    def of(name, **changes):
        return plan(desk.opened, msgspec.structs.replace(delivery(name, {}), **changes), 0, 40)

    return of


@pytest.mark.parametrize("name", preset_names(FOLDER))
def test_every_preset_is_told_in_words(pass_of, name):
    pass_ = pass_of(name)
    rows = dict(described(pass_))
    assert CODEC_WORDS[pass_.delivery.codec] in rows["file"]
    assert PRIMARIES_WORDS[pass_.colour.primaries] in rows["codes"]
    assert all(rows.values())


def test_what_stands_around_the_film_how_it_runs_and_its_levels_are_told(pass_of):
    rows = dict(described(pass_of("hd-broadcast", bars=1000, black_before=49, black_after=750, slate=250)))
    assert rows["head"] == "bars 1000, slate 250, black 49 frames"
    assert rows["tail"] == "black 750 frames"
    assert rows["time"] == "25 frames a second, interlaced, top field first, each film frame in two pictures"
    assert rows["levels"] == "-5 to 105 per cent, EBU R 103, and nothing beyond"
    assert rows["length"].startswith("2089 frames")  # of these 2049, and 40 of film


def test_film_of_4_to_3_stands_in_the_middle_of_16_to_9_with_an_eighth_of_black_at_each_side(desk, pass_of):
    assert film_box(desk, pass_of("hd-ffv1")) == pytest.approx((0.125, 0, 0.875, 1), abs=1e-3)
    assert raster_words(desk, pass_of("hd-ffv1")) == "1920 x 1080, pillars"
    assert raster_words(desk, pass_of("hd-ffv1", shape="fill")) == "1920 x 1080, filled by the film"
    assert raster_words(desk, pass_of("scan-ffv1")) == "128 x 96, filled by the film"
    assert "letterbox" in raster_words(desk, pass_of("hd-ffv1", width=1080, height=1920))
