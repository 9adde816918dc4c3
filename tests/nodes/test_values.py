"""Values of every kind: read from what a person types, checked, and refused in one sentence."""

import math

import pytest

from lamphouse.nodes.colorimetry import check_white, chromaticity, white_at, white_position
from lamphouse.nodes.corrections.dye_fade import DYE_FADE
from lamphouse.nodes.describe import range_text
from lamphouse.nodes.errors import BadInput, near_names
from lamphouse.nodes.every_kind import of_every_kind
from lamphouse.nodes.parameter import KINDS, Kind, Parameter

NUMBER = Parameter("gain", "A number.", 1.0, low=0.1, high=8.0)
TRIPLE = Parameter("balance", "Three numbers.", (1.0, 1.0, 1.0), kind=Kind.TRIPLE, low=0.1, high=8.0)
WHITE = Parameter("target", "A white.", (0.3127, 0.3290), kind=Kind.WHITE)
POINTS = Parameter("master", "A curve.", ((0.0, 0.0), (1.0, 1.0)), kind=Kind.POINTS, low=-0.5, high=1.5)
CHOICE = Parameter("mixing", "A choice.", "video", kind=Kind.CHOICE, choices=("video", "light"))
FILE = Parameter("look", "A file.", "", kind=Kind.FILE)
ALL = [NUMBER, TRIPLE, WHITE, POINTS, CHOICE, FILE]


@pytest.mark.parametrize(
    ("parameter", "text", "value"),
    [
        (NUMBER, "1.2", 1.2),
        (NUMBER, " 2 ", 2.0),
        (NUMBER, "1e0", 1.0),
        (TRIPLE, "1.1,1,0.9", (1.1, 1.0, 0.9)),
        (TRIPLE, "1.1, 1, 0.9", (1.1, 1.0, 0.9)),
        (TRIPLE, "2", (2.0, 2.0, 2.0)),
        (WHITE, "0.3457,0.3585", (0.3457, 0.3585)),
        (WHITE, "5600K", 5600.0),
        (WHITE, "3200 k", 3200.0),
        (WHITE, "6504", 6504.0),
        (POINTS, "0,0 0.5,0.6 1,1", ((0.0, 0.0), (0.5, 0.6), (1.0, 1.0))),
        (POINTS, "0.25,-0.5 0.75,1.5", ((0.25, -0.5), (0.75, 1.5))),
        (POINTS, "0,0,1.4 1,1,0.6", ((0.0, 0.0, 1.4), (1.0, 1.0, 0.6))),
        (CHOICE, " light ", "light"),
        (FILE, " looks/a.cube ", "looks/a.cube"),
        (FILE, "", ""),
    ],
)
def test_what_a_person_types_is_read(parameter, text, value):
    read = parameter.parse(text, "it")
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(
    ("parameter", "value", "kept"),
    [
        (NUMBER, 2, 2.0),
        (TRIPLE, [1, 2, 3], (1.0, 2.0, 3.0)),
        (WHITE, [0.31, 0.33], (0.31, 0.33)),
        (POINTS, [[0, 0], [1, 1]], ((0.0, 0.0), (1.0, 1.0))),
        (POINTS, [[0, 0, 1], [1, 1, 1]], ((0.0, 0.0, 1.0), (1.0, 1.0, 1.0))),
    ],
)
def test_the_lists_and_whole_numbers_of_a_document_take_the_form_of_the_parameter(parameter, value, kept):
    checked = parameter.check(value, "it")
    assert checked == kept
    assert repr(checked) == repr(kept)
    assert parameter.check(checked, "it") == checked


@pytest.mark.parametrize(
    ("parameter", "text", "says"),
    [
        (NUMBER, "much", ["much", "cannot be read", "a number such as 1.2"]),
        (NUMBER, "", ["a number such as 1.2"]),
        (NUMBER, "1.2K", ["1.2K", "a number such as 1.2"]),
        (NUMBER, "1,2", ["(1.0,2.0)", "a number such as 1.2"]),
        (NUMBER, "nan", ["nan", "a number such as 1.2"]),
        (NUMBER, "inf", ["inf", "a number such as 1.2"]),
        (NUMBER, "9", ["= 9 ", "outside its range 0.1 to 8"]),
        (NUMBER, "0.09", ["= 0.09 ", "outside its range 0.1 to 8"]),
        (TRIPLE, "1,2", ["three numbers such as 1.1,1,0.9"]),
        (TRIPLE, "1,2,x", ["1,2,x", "three numbers such as 1.1,1,0.9"]),
        (TRIPLE, "1,2,9", ["= 9 ", "outside its range 0.1 to 8"]),
        (WHITE, "warm", ["warm", "0.3127,0.329", "5600K"]),
        (WHITE, "900K", ["= 900 ", "range 1667 to 25000"]),
        (WHITE, "0.7,0.3", ["not a white", "0.2 to 0.57", "0.25 to 0.45", "0.98"]),
        (WHITE, "0.56,0.44", ["not a white", "x + y no more than 0.98"]),
        (WHITE, "0.5,0.5", ["not a white", "0.2 to 0.57", "0.25 to 0.45", "0.98"]),
        (WHITE, "0.3,0.3,0.4", ["0.3127,0.329", "5600K"]),
        (POINTS, "0,0", ["points such as", "x rising from 0 to 1"]),
        (POINTS, "0,0 1", ["points such as"]),
        (POINTS, "0,0 0,1", ["x rising from 0 to 1 by 0.0001"]),
        (POINTS, "0,0 0.00001,1 1,1", ["x rising from 0 to 1 by 0.0001"]),
        (POINTS, "0,0 1,1,1", ["points such as"]),
        (POINTS, "0,0 1.5,1", ["= 1.5 ", "outside its range 0 to 1"]),
        (POINTS, "0,0 1,2", ["= 2 ", "outside its range -0.5 to 1.5"]),
        (POINTS, "0,0,9e9 1,1,1", ["outside its range"]),
        (CHOICE, "vidio", ["vidio", "not a choice", "did you mean video?"]),
        (CHOICE, "zzz", ["zzz", "not a choice", "there is light, video"]),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence_that_gives_the_form_or_the_range(parameter, text, says):
    with pytest.raises(BadInput) as refused:
        parameter.parse(text, "Cue at frame 10: it")
    _is_one_sentence(str(refused.value), ["Cue at frame 10: it", *says])


@pytest.mark.parametrize("parameter", ALL, ids=lambda p: p.kind.name)
@pytest.mark.parametrize(
    "value", [None, True, {}, [], [True] * 3, [None], 10**400, math.nan, [[0, 0], [1, math.inf]], [[0], [1]]]
)
def test_what_no_parameter_can_be_is_refused_whatever_a_document_holds(parameter, value):
    with pytest.raises(BadInput) as refused:
        parameter.check(value, "it")
    _is_one_sentence(str(refused.value), ["it = "])


def test_every_kind_has_its_rows_here_and_a_table_that_lacks_one_is_refused_by_its_name():
    rows = {parameter.kind: parameter for parameter in ALL}
    assert of_every_kind(rows, "Here") is rows
    assert [kind.name for kind in KINDS.values()] == ["number", "triple", "white", "points", "choice", "file"]
    with pytest.raises(LookupError, match=r"^The drawers has no row for .* called white, file\.$"):
        of_every_kind({k: v for k, v in rows.items() if k not in (Kind.WHITE, Kind.FILE)}, "The drawers")


@pytest.mark.parametrize(
    ("parameter", "value"),
    [
        (NUMBER, 1.25),
        (TRIPLE, (1.1, 1.0, 0.9)),
        (WHITE, (0.3457, 0.3585)),
        (WHITE, 5600.0),
        (POINTS, ((0.0, 0.0, 1.5), (1.0, 1.0, 0.5))),
        (CHOICE, "light"),
        (FILE, "looks/a.cube"),
    ],
)
def test_a_value_is_written_as_a_person_would_type_it(parameter, value):
    assert parameter.parse(parameter.kind.text(value), "it") == value


def test_a_colour_temperature_is_written_with_its_unit():
    assert Kind.WHITE.text(5600.0) == "5600K"


def test_what_a_kind_tries_are_values_that_its_parameter_takes():
    for parameter in ALL:
        for value in (*parameter.kind.ends(parameter), *parameter.kind.options(parameter)):
            assert parameter.check(value, "it") == value
    through_zero = Parameter("lift", "A number.", 0.0, low=-1, high=1)
    assert through_zero.kind.ends(through_zero) == (-1, 1, 0)


def test_the_ends_of_a_range_belong_to_it():
    assert [NUMBER.check(v, "it") for v in (0.1, 8.0)] == [0.1, 8.0]


def test_near_names_are_given_or_else_all_of_them():
    assert near_names("gian", ["lift", "gain", "gamma"]) == " (did you mean gain?)"
    assert near_names("zz", ["lift", "gain"]) == " (there is gain, lift)"
    assert near_names("zz", []) == ""


def _is_one_sentence(message, says):
    assert all(part in message for part in says), message
    assert message.endswith(".")
    assert ". " not in message
    assert "\n" not in message


def test_the_numbers_of_the_dyes_are_called_by_the_dyes_and_others_by_their_channels():
    # Subtractive film has cyan, magenta and yellow dye; common practice, no source.
    assert range_text(DYE_FADE.parameter("kept")).startswith("cyan, magenta, yellow, each ")
    assert range_text(DYE_FADE.parameter("stain")).startswith("red, green, blue, each ")


def test_a_white_lies_by_the_ratios_of_its_tristimulus_values_and_is_found_again():
    # D65 as IEC 61966-2-1 states it: X 0.9505, Y 1, Z 1.0890.
    assert white_position((0.3127, 0.3290)) == pytest.approx((math.log(0.9505), math.log(1.0890)), abs=1e-4)
    for white in ((0.3127, 0.3290), (0.45, 0.41), 2800.0, 9000.0):
        assert white_at(white_position(white)) == pytest.approx(chromaticity(white), abs=1e-12)
    for far in ((5.0, 5.0), (-5.0, 5.0), (5.0, -5.0), (-5.0, -5.0)):
        assert check_white(white_at(far), "here") == white_at(far)
