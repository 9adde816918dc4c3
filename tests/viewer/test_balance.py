"""A push on a pad moves the picture toward that bar of the vectorscope, whatever the chain does to it."""

import numpy as np
import pytest

from lamphouse.graph.chain.program import Program
from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.demo.clean import clean_film
from lamphouse.graph.grade.probe import Probe, Sample, effect, sampled, slopes, steering
from lamphouse.graph.media.codes.decode_planes import to_rgb
from lamphouse.graph.reel.presets import chain_preset, preset_names, stock_preset
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.contract import Kind, Node, Parameter, Reach, Signal, Travel
from lamphouse.viewer.models.balance import REACH, aimed, by_sign

BALANCES = [p for p in Catalogue().find("primary").parameters if p.name.endswith("balance")]
BALANCE = next(p for p in BALANCES if p.name == "gain_balance")
CLOSE = np.cos(np.radians(15))  # what was asked for
PUSH = 0.1  # of the plane


def against(picture, p):
    """A plug-in's: more of a number is less of the next channel, and all of it in the shadows."""
    pixels = np.asarray(picture)
    return pixels - 0.1 * np.roll(p.points, 1) * np.exp(-4 * pixels)


POINTS = Parameter(
    "points", "Invented.", (0.0, 0.0, 0.0), kind=Kind.TRIPLE, low=-3.0, high=3.0, travel=Travel.LINEAR
)
PLUG_IN = Node("against", "Invented.", Signal.VIDEO, Reach.POINT, (POINTS,), against, is_array=True)
CATALOGUE = Catalogue(nodes=(*NODES, PLUG_IN))
SKY = {"sky_blend.amount": 0.8, "sky_line.full": 0.25, "sky_line.clear": 0.5}
FAR = {
    "cdl.slope": [1.3, 0.9, 0.8],
    "cdl.power": [0.8, 1.1, 1.3],
    "primary.gamma": 1.4,
    "primary.gain_balance": [0.8, 1.1, 1.2],
}
NEGATIVE = stock_preset("tungsten-colour-negative").settings
CASES = {
    **{name: (chain_preset(name).chain, {}) for name in preset_names("chains") if name != "sky"},
    "sky behind its matte": (chain_preset("sky").chain, SKY),
    "cdl far from neutral": (chain_preset("cdl").chain, FAR),
    "faded print": (chain_preset("faded-print").chain, stock_preset("faded-colour-print").settings),
    "colour negative": (chain_preset("negative").chain, NEGATIVE),
    "negative with blue halved": (
        chain_preset("negative").chain,
        NEGATIVE | {"primary.gain_balance": [1.2, 1.0, 0.5], "saturation.amount": 0.6},
    ),
    "a plug-in's": (
        ChainRef(nodes=(NodeRef(name="more", kind="against", inputs=("scan",)),), output="more"),
        {},
    ),
}


@pytest.fixture(scope="session")
def demo_tones():
    """Frames of the demo's clean film, its warm dark leader and a bright cold shot, (3, 24, 32) each."""
    with clean_film() as movie:
        pictures = [to_rgb(movie.read_coded(number)) for number in (10, 333)]
    return [np.float64(picture[:, 12::24, 12::24]) for picture in pictures]


def probed(name, picture):
    """The chain of a case, its scan of `picture`, and its settings."""
    chain, given = CASES[name]
    controls = Controls(chain, CATALOGUE)
    settings = controls.effective(controls.check(given, ""))
    encoding = "density" if "negative" in name and given else "video"
    if encoding == "density":  # the film that prints so: D = base + gamma (white - Dp / contrast)
        printed = -2.4 * np.log10(np.maximum(picture, 0.01))
        gamma = np.array(settings["film_base.gamma"])[:, None, None]
        density = gamma * (settings["film_base.white"] - printed / settings["film_base.contrast"])
        picture = (density / 0.002 + 95) / 1023
    return controls, Probe(Program(chain, encoding, CATALOGUE), settings), Sample(picture)


def on_the_plane(video):
    """Mean Cb and Cr by colour-science, -0.5 to 0.5."""
    colour = colour_science()
    whole = {"K": colour.WEIGHTS_YCBCR["ITU-R BT.709"], "out_range": (0, 1, -0.5, 0.5), "out_legal": False}
    return colour.RGB_to_YCbCr(np.moveaxis(video, 0, -1).reshape(-1, 3), **whole).mean(axis=0)


@pytest.mark.parametrize("name", CASES)
def test_every_pad_of_a_chain_moves_the_picture_toward_each_of_six_bars(name, demo_tones, colour_bars):
    # Where the bars stand is read off the table of codes; where the picture went, colour-science reckons.
    bars = {
        bar["name"]: np.subtract(bar["bt709"]["75"][1:], 512)
        for bar in colour_bars
        if len(set(bar["rgb"])) > 1
    }
    assert len(bars) == 6
    for picture in demo_tones:
        controls, probe, whole = probed(name, picture)
        pads = {key: p for key, p in controls.parameters.items() if p.kind.axes == 2}
        assert pads
        for key, parameter in pads.items():
            for bar, target in bars.items():
                way = target / np.hypot(*target)
                moved = pushed(probe, whole, key, parameter, PUSH * way)
                length = np.hypot(*moved[1:])
                assert moved[1:] @ way / length > CLOSE, (key, bar, moved)
                assert 0.0005 < length < 1.6 * REACH * PUSH, (key, bar, length)
                if parameter.kind is not Kind.WHITE:  # of two numbers none is left to hold luma with
                    assert abs(moved[0]) < 0.12 * length + 2e-4, (key, bar, moved)


def pushed(probe, whole, key, parameter, push):
    """How far the mean of the picture went in luma, Cb and Cr."""
    few, value = sampled(whole.pixels, whole.pixel_aspect), probe.settings[key]
    aim = aimed(parameter, slopes(lambda v: probe.video(few, key, v), parameter, value))
    before = on_the_plane(probe.video(whole, key, value))
    return on_the_plane(probe.video(whole, key, aim.pushed(value, *push))) - before


def test_a_grey_goes_with_the_handle_half_as_far_and_keeps_its_luma():
    def video(gain):
        return np.full((3, 1), 0.5) * np.array(gain)[:, None]

    aim = aimed(BALANCE, slopes(video, BALANCE, (1, 1, 1)))
    moved = on_the_plane(video(aim.pushed((1, 1, 1), 0.02, -0.01)))
    assert moved == pytest.approx((0.5, 0.02 * REACH, -0.01 * REACH), abs=2e-4)


@pytest.mark.parametrize("parameter", [*BALANCES, POINTS], ids=lambda p: p.name)
@pytest.mark.parametrize("slope", [None, [[0.1, 0.5, 0.1], [0.3, 0.2, -0.4], [-0.5, 0.3, 0.1]]])
def test_the_handle_stands_where_it_was_pushed_to_and_pushes_that_cancel_change_nothing(parameter, slope):
    aim = by_sign(parameter) if slope is None else aimed(parameter, np.array(slope))
    assert aim.point_of(parameter.default) == (0, 0)
    value = aim.pushed(parameter.default, 0.12, -0.07)
    assert aim.point_of(value) == pytest.approx((0.12, -0.07), abs=1e-12)
    for push in ((0.02, 0.1), (-0.2, 0.05), (0.06, -0.08)):
        value = aim.pushed(value, *push)
    assert value == pytest.approx(parameter.default, abs=1e-12)
    far = aim.pushed(parameter.default, 50.0, -50.0)
    assert all(parameter.low <= v <= parameter.high for v in far)


@pytest.mark.parametrize("slope", [None, [[0.2, 0.7], [-0.9, -1.1], [1.2, -0.8]]])
def test_a_white_is_pushed_from_kelvin_too_back_again_and_stays_a_white(slope):
    source = Catalogue().find("white_balance").parameter("source")
    aim = by_sign(source) if slope is None else aimed(source, np.array(slope))
    assert aim.point_of(source.default) == (0, 0)
    x, y = colour_science().CCT_to_xy(4300.0, method="CIE Illuminant D Series")
    assert aim.point_of(4300.0) == pytest.approx(aim.point_of((x, y)), abs=1e-9)
    value = aim.pushed(4300.0, 0.04, -0.02)
    assert aim.pushed(value, -0.04, 0.02) == pytest.approx((x, y), abs=1e-12)
    for push in ((9, 9), (-9, 9), (9, -9), (-9, -9)):
        assert source.check(aim.pushed(4300.0, *push), "here")


@pytest.mark.parametrize("parameter", BALANCES, ids=lambda p: p.name)
def test_a_balance_that_moves_nothing_goes_by_its_sign(parameter, demo_tones):
    controls, _, whole = probed("sky behind its matte", demo_tones[0])
    closed = Probe(Program(CASES["sky behind its matte"][0], "video", CATALOGUE), controls.neutral)
    key = f"sky.{parameter.name}"
    found = slopes(lambda v: closed.video(whole, key, v), parameter, parameter.default)
    aim = aimed(parameter, found)
    red, green, blue = np.subtract(aim.pushed(parameter.default, 0.0, 0.1), parameter.default)
    assert red > 0 > green
    assert abs(blue) < abs(red) / 3
    assert effect(parameter, found) == 0


def test_a_colour_that_a_balance_cannot_reach_takes_it_nowhere_far():
    # Blue is cut off: the two others have to do, and luma goes where it goes.
    without_blue = slopes(lambda v: np.array([[0.5 * v[0]], [0.5 * v[1]], [0.0]]), BALANCE, (1, 1, 1))
    aim = aimed(BALANCE, without_blue)
    for push in ((0.05, 0.0), (0.0, 0.05)):
        red, green, blue = aim.pushed((1, 1, 1), *push)
        assert blue == pytest.approx(1.0)
        moved = (
            on_the_plane(np.array([[0.5 * red], [0.5 * green], [0.0]]))[1:]
            - on_the_plane(np.array([[0.5], [0.5], [0.0]]))[1:]
        )
        assert moved @ push / np.hypot(*moved) / 0.05 > CLOSE
    # Red alone moves: along its own line, and no number leaves for the end of its range.
    red_alone = np.outer([0.2126, -0.1146, 0.5], [1.0, 0.0, 0.0])
    red, green, blue = aimed(BALANCE, red_alone).pushed((1, 1, 1), 0.0, 0.1)
    assert 1 < red < 1.2
    assert (green, blue) == (1, 1)


def test_a_faint_effect_does_not_throw_the_numbers_to_their_ends():
    faint = aimed(
        BALANCE, 0.004 * np.array([[0.2126, 0.7152, 0.0722], [-0.11, -0.39, 0.5], [0.5, -0.45, -0.05]])
    )
    values = faint.pushed((1, 1, 1), 0.0, 0.25)
    assert all(0.3 < value < 3.0 for value in values)
    assert faint.point_of(values) == pytest.approx((0.0, 0.25), abs=1e-12)


def test_what_is_not_finite_has_no_part_in_the_slopes():
    def video(gain):
        with np.errstate(invalid="ignore"):
            return np.array([[0.5, np.nan], [0.5, 0.2], [0.5, np.inf]]) * np.array(gain)[:, None]

    found = slopes(video, BALANCE, (1.0, 1.0, 1.0))
    assert found == pytest.approx(slopes(lambda v: video(v)[:, :1], BALANCE, (1.0, 1.0, 1.0)))
    assert np.array_equal(slopes(lambda v: np.full((3, 2), np.nan), BALANCE, (1, 1, 1)), np.zeros((3, 3)))
    assert np.array_equal(steering(np.zeros((3, 3))), np.zeros((3, 3)))


def test_one_pixel_next_to_black_does_not_speak_for_all():
    # A white in light moves what is black in one channel without end, for BT.1886 begins upright.
    picture = np.full((3, 101), 0.5)
    picture[:, 0] = (0.0, 0.9, 0.0)

    def video(value):
        gain = np.array(value)[:, None] - 1
        light = picture**2.4 + 0.2 * gain
        return np.sign(light) * np.abs(light) ** (1 / 2.4)

    parameter = Parameter("b", "", (1.0, 1.0, 1.0), kind=Kind.TRIPLE, low=0.5, high=1.5)
    one = slopes(lambda v: video(v)[:, :1], parameter, (1.0, 1.0, 1.0))
    others = slopes(lambda v: video(v)[:, 1:], parameter, (1.0, 1.0, 1.0))
    assert np.linalg.norm(one) > 20 * np.linalg.norm(others)
    found = slopes(video, parameter, (1.0, 1.0, 1.0))
    assert np.linalg.norm(found - others) < 0.05 * np.linalg.norm(others)


def test_at_the_end_of_its_range_a_balance_is_tried_inward():
    tried = []
    slopes(lambda v: tried.append(v) or np.ones((3, 1)), BALANCE, (8.0, 8.0, 0.1))
    assert all(BALANCE.low <= number <= BALANCE.high for value in tried for number in value)


def test_balances_are_aimed_once_a_second_while_the_film_runs_and_by_the_frame_it_stops_on(
    desk, hand_at, double
):
    pictures = [np.full((3, 96, 128), level, np.float32) for level in np.linspace(0.2, 0.8, 40)]
    hand = hand_at(desk, display=double(desk, lambda frame: pictures[frame]))
    hand.tick = 125_000_000
    desk.loop((0, 40), hand.now)
    samples = []
    for _ in range(16):
        hand.frame()
        samples.append(desk.aims.sample)
    assert len({id(sample) for sample in samples}) in (2, 3)
    desk.stop(hand.now)
    hand.frame(4)
    meant = sampled(hand.seen.scanned, 1.0)
    np.testing.assert_array_equal(desk.aims.sample.pixels, meant.pixels)
