"""`check`: what a person, and a program, are told of a master."""

import json

from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.nodes.errors import BadInput


def said(*typed):
    """What the command answers, and the error that it ends with."""
    result = CliRunner().invoke(_app(), ["check", *map(str, typed)])
    return result.stdout, result.exception


def test_a_good_master_is_found_good_and_it_is_said_that_this_is_no_certificate(whole):
    text, error = said(whole, "--only", "levels")
    assert error is None
    assert text.startswith("Levels by EBU R 103: once its filter has passed, no frame lies beyond")
    assert text.splitlines()[-1].startswith("What is found good here is guidance and no certificate")


def test_programs_are_told_too(whole):
    (master,) = json.loads(said(whole, "--json")[0])["masters"]
    assert master["master"] == str(whole)
    assert master["is_good"]
    assert all(other["weight"] != "fault" for other in master["others"])


def test_what_cannot_be_asked_is_a_sentence(whole, tmp_path):
    for typed, words in (
        ([whole, "--only", "levls"], "no part called levls (did you mean levels?)"),
        ([whole, "--set", "levels.area=x"], "give a number from 0 to 100"),
        ([whole, "--set", "levels.are=1"], "no setting levels.are (did you mean levels.area"),
        ([tmp_path / "none.mkv"], "There is no master"),
    ):
        error = said(*typed)[1]
        assert isinstance(error, BadInput)
        assert words in str(error)
