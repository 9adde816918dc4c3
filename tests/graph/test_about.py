"""What a client calls a reel: typed, kept, shown. All of it is invented."""

import json

import msgspec
import pytest
from typer.testing import CliRunner

from lamphouse.graph.commands.cli import _app
from lamphouse.graph.edits.about import about_of, with_about
from lamphouse.graph.reel.records import About, ChainRef, Reel, ScanRef
from lamphouse.graph.reel.store import decode, encode
from lamphouse.nodes.errors import BadInput

REEL = Reel(
    scan=ScanRef(path="film.mkv", frames=9, width=48, height=32), chain=ChainRef(nodes=(), output="scan")
)


def test_what_is_given_is_kept_and_the_rest_stays_until_an_empty_text_takes_it_away():
    first = with_about(REEL, title=" The Sea ", identifiers=("A 1", "", "A 1", "B"))
    assert first.about == About(title="The Sea", identifiers=("A 1", "B"))
    second = with_about(first, note="Faded.")
    assert second.about == About(title="The Sea", identifiers=("A 1", "B"), note="Faded.")
    assert with_about(second, title="", identifiers=()).about == About(note="Faded.")


def test_it_comes_back_from_the_reels_file_and_a_reel_without_any_says_nothing_of_it():
    about = About(title='Sea "50%"\n', identifiers=("A/1",), client="An archive", note="<b>")
    reel = msgspec.structs.replace(REEL, about=about)
    assert decode(encode(reel), "x").about == about
    assert "about" not in json.loads(encode(REEL))


def test_what_is_too_long_is_refused_typed_or_in_a_file():
    many = [str(number) for number in range(101)]
    for title, identifiers in (("x" * 10_001, None), (None, ["x" * 10_001]), (None, many)):
        with pytest.raises(BadInput):
            about_of(title=title, identifiers=identifiers)
    document = json.loads(encode(REEL)) | {"about": {"title": "x" * 10_001}}
    with pytest.raises(BadInput, match=r"about\.title"):
        decode(json.dumps(document).encode(), "x.reel")


def test_the_command_sets_it_and_shows_it_in_a_line_each(tmp_path):
    file = tmp_path / "sea.reel"
    file.write_bytes(encode(REEL))
    typed = [
        "--title",
        "The\nSea",
        "--identifier",
        "A 1",
        "--identifier",
        "B",
        "--client",
        "Us",
        "--note",
        "x",
    ]
    shown = CliRunner().invoke(_app(), ["reel", str(file), *typed]).stdout.splitlines()
    assert shown[:4] == [r"title      The\x0aSea", "known as   A 1, B", "client     Us", "note       x"]
    facts = json.loads(CliRunner().invoke(_app(), ["reel", str(file), "--json"]).stdout)
    assert facts["about"]["identifiers"] == ["A 1", "B"]
