"""Handles of mattes: the node's own maths has, where each handle lies, what the handle promises."""

from types import SimpleNamespace

import msgspec
import numpy as np
import pytest

from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.apply import frame_values
from lamphouse.nodes.corrections.ellipse import ELLIPSE
from lamphouse.nodes.corrections.graduated import GRADUATED
from lamphouse.nodes.trace import Place
from lamphouse.viewer.models.area import area_of
from lamphouse.viewer.models.commands.table import BY_NAME, run
from lamphouse.viewer.models.frame import lie_here
from lamphouse.viewer.models.mattes import SHAPES, matte_node, moved, seen_at, values_of

NODES = {"ellipse": ELLIPSE, "graduated": GRADUATED}


@pytest.fixture
def mattes(desk):
    """The desk, its chain with a graduated matte and an ellipse."""
    chain = chain_preset("sky").chain
    face = NodeRef(name="face", kind="ellipse", inputs=())
    desk.edit(
        lambda reel: msgspec.structs.replace(
            reel, chain=ChainRef(nodes=(*chain.nodes, face), output=chain.output)
        )
    )
    return desk


SETTINGS = [
    ("ellipse", {"centre_x": 0.1, "centre_y": -0.2, "half_width": 0.4, "half_height": 0.25, "softness": 0.4}),
    ("ellipse", {"half_width": 0.2, "half_height": 0.5, "angle": 33.0, "softness": 0.1, "centre_x": -0.3}),
    ("ellipse", {"half_width": 0.3, "half_height": 0.3, "angle": -140.0, "softness": 1.0}),
    ("graduated", {"full": 0.3, "clear": 0.6}),
    ("graduated", {"full": 0.7, "clear": 0.2, "angle": 25.0}),
    ("graduated", {"full": 0.4, "clear": 0.5, "angle": -200.0}),
]


def matte_at(kind, values, places):
    """What the node makes at places, by its definition; a matte reads no picture."""
    across, down = np.array(places, np.float64).T[:, None]
    numbers = frame_values(NODES[kind], NODES[kind].defaults() | values)
    return np.asarray(NODES[kind].body(Place(across, down), SimpleNamespace(**numbers)))[0]


@pytest.mark.parametrize(("kind", "values"), SETTINGS)
def test_the_matte_is_at_each_handle_and_on_each_line_what_that_promises(kind, values):
    given = NODES[kind].defaults() | values
    handles, outlines = SHAPES[kind].handles(given), SHAPES[kind].outlines(given)
    found = matte_at(kind, values, [handle.at for handle in handles])
    np.testing.assert_allclose(found, [handle.share for handle in handles], atol=1e-9)
    for outline in outlines:
        np.testing.assert_allclose(matte_at(kind, values, outline.points), outline.share, atol=1e-9)


@pytest.mark.parametrize(("kind", "values"), SETTINGS)
def test_a_handle_that_is_moved_lies_where_it_was_moved_to_and_turns_by_the_shorter_way(mattes, kind, values):
    ref = next(ref for ref in mattes.reel.chain.nodes if ref.kind == kind)
    begun = NODES[kind].defaults() | values
    for handle in SHAPES[kind].handles(begun):
        to = handle.at[0] + 0.02, handle.at[1] + 0.03
        changed = moved(mattes, ref, begun, handle.name, to)
        after = begun | {key.partition(".")[2]: value for key, value in changed.items()}
        assert abs(after["angle"] - begun["angle"]) < 90
        if handle.name in ("centre", "both", "full", "clear", "left end", "right end"):
            assert matte_at(kind, after, [to])[0] == pytest.approx(handle.share, abs=1e-6)
        if handle.name == "width":  # it goes along its axis alone
            assert after["half_height"] == begun["half_height"]


def test_the_other_end_of_a_line_stays_while_one_is_moved(mattes):
    ref = next(ref for ref in mattes.reel.chain.nodes if ref.kind == "graduated")
    begun = GRADUATED.defaults() | {"full": 0.3, "clear": 0.6, "angle": 10.0}
    ends = {handle.name: handle.at for handle in SHAPES["graduated"].handles(begun)}
    changed = moved(mattes, ref, begun, "right end", (ends["right end"][0] - 0.1, ends["right end"][1] - 0.2))
    after = begun | {key.partition(".")[2]: value for key, value in changed.items()}
    assert matte_at("graduated", after, [ends["left end"]])[0] == pytest.approx(1.0, abs=1e-9)
    assert after["clear"] - after["full"] == pytest.approx(0.3)


def test_what_is_beyond_a_range_is_held_within_it(mattes):
    ref = next(ref for ref in mattes.reel.chain.nodes if ref.kind == "ellipse")
    begun = values_of(mattes, ref)
    assert moved(mattes, ref, begun, "softness", (0.0, 0.0)) == {f"{ref.name}.softness": 0.0}
    assert moved(mattes, ref, begun, "centre", (9.0, 0.0))[f"{ref.name}.centre_x"] == 2.0


def test_a_node_that_takes_a_matte_shows_that_matte_and_others_none(mattes):
    assert matte_node(mattes, "sky_line").kind == "graduated"
    assert matte_node(mattes, "sky_blend").name == "sky_line"
    assert matte_node(mattes, "primary") is None
    assert matte_node(mattes, "gone") is None


def at_handle(hand, name):
    """Where a handle is in the window."""
    desk, view = hand.desk, hand.panels.picture
    ref = matte_node(desk, hand.panels.node)
    handle = next(h for h in SHAPES[ref.kind].handles(values_of(desk, ref)) if h.name == name)
    x, y = lie_here(desk, view).shown(seen_at(desk.reel.scan, handle.at))
    area = area_of(desk, view)
    return view.at[0] + area.left + x * area.width, view.at[1] + area.top + y * area.height


@pytest.mark.parametrize(
    "framing", [{}, {"framing.size": 1.2, "framing.turn": 6.0, "framing.mirror": "left-right"}]
)
def test_a_handle_follows_the_hand_wherever_the_film_lies_and_is_one_step_to_undo(mattes, hand_at, framing):
    mattes.set({"face.half_width": 0.2, "face.half_height": 0.2, **framing})
    hand = hand_at(mattes)
    hand.panels.node = "face"
    hand.frame(2)
    before = mattes.reel
    for name in ("centre", "width", "softness"):
        start = at_handle(hand, name)
        hand.drag(start, (start[0] + 24, start[1] + 6), steps=6)
        hand.frame(2)
        along = {"centre": (24, 6), "width": None, "softness": None}[name]
        now = at_handle(hand, name)
        if along:
            assert (now[0] - start[0], now[1] - start[1]) == pytest.approx(along, abs=0.1)
        assert now != pytest.approx(start, abs=2)
        mattes.undo()
        assert mattes.reel == before


def test_a_neutral_matte_is_taken_hold_of_at_the_border_of_the_picture(mattes, hand_at):
    hand = hand_at(mattes)
    hand.panels.node = "sky_blend"  # its matte's handles are the sky line's
    hand.frame(2)
    area = area_of(mattes, hand.panels.picture)
    left, top = hand.panels.picture.at
    x, y = left + area.left + area.width / 2, top + area.top + area.height - 14
    aside = 0.1 * area.height
    hand.drag((x - aside, y), (x - aside, y - area.height / 2 + 14), steps=5)
    assert mattes.own("sky_line.full") == pytest.approx(0.5, abs=0.02)
    assert mattes.own("sky_line.clear") == 4.0


def test_a_matte_is_moved_by_keys_and_shown_over_the_picture_and_alone(mattes, hand_at):
    hand = hand_at(mattes)
    hand.keys("y")
    assert hand.display.look.matte == ""
    assert "Open a matte" in mattes.message
    hand.panels.node = "face"
    hand.frame(2)
    assert (hand.display.look.matte, hand.display.mattes[-1][1]) == ("over", "face")
    drawn = len(hand.display.mattes)
    hand.frame(3)
    assert len(hand.display.mattes) == drawn  # drawn once
    for command in ("matte_right", "matte_right", "matte_down"):
        run(BY_NAME[command], mattes, hand.panels, hand.now)
    hand.frame(2)
    assert (mattes.own("face.centre_x"), mattes.own("face.centre_y")) == pytest.approx((0.01, 0.005))
    assert len(hand.display.mattes) > drawn
    hand.keys("y")
    assert hand.display.look.matte == "alone"
    hand.keys("y")
    assert hand.display.look.matte == ""
