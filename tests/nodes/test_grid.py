"""One grid over every node of the catalogue. A node that is added needs one file of rows, no more."""

import math
import tomllib
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lamphouse.nodes.apply import apply, choices, frame_values, trace
from lamphouse.nodes.catalogue import NODES, Catalogue
from lamphouse.nodes.declare import Reach
from lamphouse.nodes.host.check import faults
from lamphouse.nodes.trace import picture

ROWS = Path(__file__).with_name("rows")
KINDS = (np.float32, np.float64)
EDGES = (0.0, -0.0, -1.0, 1.0, 1e-40, 3e38, -3e38, math.inf, -math.inf, math.nan)


def _table(node):
    path = ROWS / f"{node.name}.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}
    for row in table.get("row", []):
        # The files that rows name lie beside the rows' folder.
        for key, value in row["settings"].items():
            if node.parameter(key).kind.is_file:
                row["settings"][key] = str(ROWS.parent / value)
    return table


def _cases(part):
    return [
        pytest.param(node, SimpleNamespace(**entry), id=f"{node.name}-{number}")
        for node in NODES
        for number, entry in enumerate(_table(node).get(part, []), start=1)
    ]


def _settings(node):
    """Return every setting that the rows of `node` name, and the neutral one."""
    return [{}, *(row["settings"] for row in _table(node)["row"])]


def _applied(node, pixels, chosen=None, cut=lambda p: p):
    """Apply `node` to one picture for each input, all unlike; where it is PLACE, at places just as unlike."""
    pictures = [cut(np.roll(pixels, number, axis=0)) for number in range(len(node.inputs))]
    places = cut(pixels[:, :2] / 2) if node.reach is Reach.PLACE else None
    return apply(node, *pictures, settings=chosen, places=places)


def _row_applied(node, row, kind=np.float64):
    places = np.array(row.places, kind) if hasattr(row, "places") else None
    return apply(node, *(np.array(p, kind) for p in row.pictures), settings=row.settings, places=places)


def _neutral(node, pixels):
    """Return what `node` gives at its defaults: its first picture, or a matte that is whole."""
    return pixels if node.inputs else np.ones_like(pixels)


def _pixels(low, high, count=60):
    return np.random.default_rng(5).uniform(low, high, (count, 3))


every_node = pytest.mark.parametrize("node", NODES, ids=lambda node: node.name)


def test_every_node_has_one_file_of_rows_and_every_file_has_its_node():
    assert {path.stem for path in ROWS.iterdir()} == {node.name for node in NODES}


@every_node
def test_every_node_has_rows_that_name_a_source_and_move_the_picture(node):
    table = _table(node)
    assert len(table["row"]) >= 2
    assert all(row["source"].strip() for row in table["row"])
    assert any(not np.allclose((*row["pictures"], 1.0)[0], row["result"]) for row in table["row"])
    assert table.get("undo") or table["no_undo"].strip()


@every_node
def test_every_parameter_is_set_by_a_row(node):
    named = {name for row in _table(node)["row"] for name in row["settings"]}
    assert named == {parameter.name for parameter in node.parameters}


@pytest.mark.parametrize(("node", "row"), _cases("row"))
def test_a_node_gives_the_reference_value(node, row):
    result = _row_applied(node, row)
    np.testing.assert_allclose(result, row.result, rtol=0, atol=row.tolerance)


@pytest.mark.parametrize(("node", "row"), _cases("row"))
def test_a_node_gives_the_reference_value_in_float32(node, row):
    result = _row_applied(node, row, np.float32)
    assert result.dtype == np.float32
    np.testing.assert_allclose(result, row.result, rtol=1e-6, atol=row.tolerance + 4e-6)


@pytest.mark.parametrize(("node", "row"), _cases("row"))
def test_a_node_traced_is_the_node_applied(node, row, evaluate):
    values = node.defaults() | {k: node.parameter(k).check(v, k) for k, v in row.settings.items()}
    sources = [picture(name) for name in node.inputs]
    expression = trace(node, "it", sources, choices(node, values))
    numbers = {f"it.{key}": value for key, value in frame_values(node, values).items()}
    arrays = {name: np.array(p).T for name, p in zip(node.inputs, row.pictures, strict=True)}
    arrays |= dict(zip(("across", "down"), np.array(getattr(row, "places", [])).T, strict=False))
    result = evaluate(expression, numbers, arrays).T
    expected = _row_applied(node, row)
    np.testing.assert_array_equal(np.broadcast_to(result, expected.shape), expected)


@every_node
@pytest.mark.parametrize("kind", KINDS)
def test_the_three_shapes_of_a_picture_agree_and_keep_their_precision(node, kind):
    pixels = _pixels(-0.5, 1.5).astype(kind)
    for chosen in _settings(node):
        flat = _applied(node, pixels, chosen)
        whole = _applied(node, pixels, chosen, lambda p: p.reshape(6, 10, -1))
        single = _applied(node, pixels, chosen, lambda p: p[7])
        assert flat.dtype == whole.dtype == single.dtype == kind
        assert (flat.shape, whole.shape, single.shape) == ((60, 3), (6, 10, 3), (3,))
        np.testing.assert_array_equal(whole.reshape(-1, 3), flat)
        np.testing.assert_allclose(single, flat[7], rtol=1e-6)


@every_node
@pytest.mark.parametrize("kind", KINDS)
def test_neutral_changes_nothing(node, kind):
    pixels = _pixels(-1, 4).astype(kind)
    close = 4 * np.finfo(kind).eps
    np.testing.assert_allclose(_applied(node, pixels), _neutral(node, pixels), rtol=close, atol=close)


@pytest.mark.parametrize(("node", "undo"), _cases("undo"))
def test_the_inverse_undoes_it(node, undo):
    before = _pixels(0.1, 0.9)
    after = apply(node, before, settings=undo.settings)
    assert np.abs(after - before).max() > 0.01
    for chosen in undo.by:
        after = apply(node, after, settings=chosen)
    np.testing.assert_allclose(after, before, atol=1e-10)


@every_node
@pytest.mark.parametrize("kind", KINDS)
def test_no_number_raises_or_warns(node, kind):
    pixels = np.array(list(product(EDGES, repeat=3)), kind)
    for chosen in _settings(node):
        result = _applied(node, pixels, chosen)
        assert result.shape == pixels.shape


@every_node
@settings(max_examples=30)
@given(data=st.data())
def test_finite_pictures_stay_finite_whatever_the_settings(node, any_settings, data):
    chosen = data.draw(any_settings(node))
    drawn = data.draw(st.lists(st.tuples(*[st.floats(-1, 4)] * 3), min_size=1, max_size=3))
    pixels = np.array([*drawn, *product((-1, 0, 1, 4), repeat=3)], np.float64)
    for kind in KINDS:
        assert np.isfinite(_applied(node, pixels.astype(kind), chosen)).all()


def _ends(parameter):
    """Return the two ends of a parameter's range, or all that it can be where a range has no ends."""
    return parameter.kind.ends(parameter)[: 2 if parameter.kind.is_input else None]


@every_node
@pytest.mark.parametrize("kind", KINDS)
def test_finite_pictures_stay_finite_at_the_ends_of_every_range(node, kind):
    pixels = np.array(list(product((-1, 0, 1, 4), repeat=3)), kind)
    names = [parameter.name for parameter in node.parameters]
    for values in product(*map(_ends, node.parameters)):
        chosen = dict(zip(names, values, strict=True))
        assert np.isfinite(_applied(node, pixels, chosen)).all(), chosen


@every_node
def test_a_node_is_sound_as_the_host_asks_of_every_node(node):
    assert faults(node) == []


def test_a_node_is_found_by_name_or_near_names_are_given():
    catalogue = Catalogue()
    assert [catalogue.find(node.name) for node in NODES] == list(NODES)
    with pytest.raises(ValueError, match=r"^There is no node called primry \(did you mean primary\?\)\.$"):
        catalogue.find("primry")


def test_settings_that_a_node_has_not_are_refused():
    node = Catalogue().find("primary")
    with pytest.raises(ValueError, match=r"^The node primary has no parameter gian \(did you mean gain\b"):
        apply(node, np.zeros(3), settings={"gian": 2.0})
    with pytest.raises(ValueError, match=r"^gain = 9 is outside its range 0.1 to 8\.$"):
        apply(node, np.zeros(3), settings={"gain": 9.0})
