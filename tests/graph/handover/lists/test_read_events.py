"""Event lists of somebody else's, read for what a reel can take. All are invented, in the trade's form."""

import pytest

from lamphouse.graph.edits.arrivals import take_arrived
from lamphouse.graph.handover.lists import read_text
from lamphouse.graph.handover.lists.arrive import left_lines, taken_lines
from lamphouse.graph.handover.lists.event_list import event_list
from lamphouse.graph.handover.lists.read_events import read_events
from lamphouse.graph.reel.records import Cue, Delivery, Mark
from lamphouse.graph.reel.span import Span
from lamphouse.nodes.errors import BadInput

LIST = """TITLE: THE WEIR
FCM: NON-DROP FRAME

001  A001     V     C        03:00:10:00 03:00:14:00 10:00:00:00 10:00:04:00
* FROM CLIP NAME: harbour
* ASC_SOP (1.1 1.0 0.9)(0.01 0.0 -0.01)(1.0 1.0 1.1)
* ASC_SAT 0.9
002  A001     V     C        03:00:14:00 03:00:14:00 10:00:04:00 10:00:04:00
002  A002     V     D    025 07:10:00:00 07:10:03:00 10:00:04:00 10:00:07:00
* FROM CLIP NAME: harbour
* TO CLIP NAME: mill é
* the miller looks up
* LOC: 10:00:06:05 RED     dirt in the gate
003  A001     AA/V  C        03:01:00:00 03:01:02:00 10:00:07:00 10:00:09:00
M2   A001       012.5                03:01:00:00
004  A001     A     C        03:01:00:00 03:01:02:00 10:00:07:00 10:00:09:00
005  A001     V     C        03:02:00:00 03:02:02:00 11:00:07:00 11:00:09:00
"""


@pytest.fixture
def take(opened):
    """A function from a list and an opened reel to what that takes of it."""

    def taken(data, reel=None, **asked):
        reel = reel or opened(chain="cdl")
        data = data if isinstance(data, bytes) else data.encode()
        return take_arrived(reel.reel, reel.controls(), read_events(data, "it.edl", reel.reel), **asked)

    return taken


def test_shots_become_cues_at_record_times_with_names_dissolves_cdls_and_marks(take):
    taken = take(LIST)
    # 25 frames a second from 10:00:00:00; the dissolve ends a second after its event begins: arithmetic.
    assert [(cue.frame, cue.name, cue.begins, cue.length, cue.ease) for cue in taken.reel.cues] == [
        (0, "harbour", "cut", 0, "soft"),
        (125, "mill é", "transition", 25, "even"),
        (175, "", "cut", 0, "soft"),
    ]
    assert taken.reel.cues[0].settings == {
        "cdl.slope": [1.1, 1.0, 0.9],
        "cdl.offset": [0.01, 0.0, -0.01],
        "cdl.power": [1.0, 1.0, 1.1],
        "cdl.saturation": 0.9,
    }
    assert [cue.settings for cue in taken.reel.cues[1:]] == [{}, {}]  # a CDL is its own shot's alone
    assert taken.reel.marks == (
        Mark(frame=125, note="the miller looks up"),
        Mark(frame=155, name="dirt in the gate"),
    )
    assert list(taken_lines(taken)) == [
        "3 cues set, placed by the record times of the list.",
        "1 of these begins with a transition, as the list has it.",
        "1 CDL put into the settings of cues.",
        "2 marks set.",
    ]
    assert list(left_lines(taken)) == [
        "1 change of speed left (at line 15): a reel has one speed.",
        "1 event left (at line 16): of sound.",
        "1 shot left (at line 17): outside the reel, which runs from 10:00:00:00 to 10:03:19:24.",
    ]


@pytest.mark.parametrize(
    ("coding", "end"), [("utf-8", "\n"), ("utf-8-sig", "\r\n"), ("utf-16", "\r\n"), ("latin-1", "\r\n")]
)
def test_any_encoding_is_read(take, coding, end):
    assert take(LIST.replace("\n", end).encode(coding)).reel == take(LIST).reel


@pytest.mark.parametrize("coding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_its_mark_is_known(take, coding):
    assert take(LIST.encode(coding)).reel == take(LIST).reel


def test_source_times_are_of_one_source(take, opened):
    reel = opened(start="03:00:00:00", frames=5000)
    with pytest.raises(BadInput, match=r"sources are A001, A002; give --source with the one that this reel"):
        take(LIST, reel, by="source")
    taken = take(LIST, reel, source="A001")
    assert [cue.frame for cue in taken.reel.cues] == [250, 350, 1500, 3000]  # at 350 the CDL ends
    assert "1 shot left (at line 9): of another source." in list(left_lines(taken))
    with pytest.raises(BadInput, match="give --source"):
        take(LIST, reel, by="source", source="B")


def test_a_source_that_is_called_as_the_scan_is_needs_no_name(take, opened):
    reel = opened(start="03:00:00:00", frames=5000)
    taken = take(LIST.replace("A001", "MYFIRSTR"), reel)
    assert (taken.by, [cue.frame for cue in taken.reel.cues]) == (
        "source",
        [250, 350, 1500, 3000],
    )


def test_what_stands_is_kept_and_takes_a_cdl_where_it_has_none(take, opened):
    mine = Cue(frame=0, name="mine", settings={"primary.gain": 1.5})
    own = Cue(frame=125, name="own", settings={"cdl.saturation": 0.2})
    with_cdl = LIST.replace("* TO CLIP", "* ASC_SAT 0.5\n* TO CLIP")
    taken = take(with_cdl, opened(mine, own, chain="cdl"))
    first, second, third = taken.reel.cues
    assert (first.name, first.settings["primary.gain"], first.settings["cdl.saturation"]) == (
        "mine",
        1.5,
        0.9,
    )
    assert second == own
    assert third.settings == {"cdl.saturation": 0.2}
    said = list(left_lines(taken))
    assert "2 shots left (the first at line 4): the reel has a cue there, which is kept." in said
    assert "1 CDL left: the cue there has settings of its own in their place, which are kept." in said


def test_a_cdl_ends_with_its_shot_where_nothing_follows(take, opened):
    taken = take(LIST.partition("002  A001")[0], opened(chain="cdl"))
    assert [(cue.frame, bool(cue.settings)) for cue in taken.reel.cues] == [(0, True), (100, False)]
    assert taken.ends == 1


def test_a_dissolve_without_room_is_as_long_as_there_is_room(take, opened):
    taken = take(LIST, opened(Cue(frame=115)))
    assert [(cue.frame, cue.length) for cue in taken.reel.cues] == [(0, 0), (115, 0), (125, 10), (175, 0)]


@pytest.mark.parametrize(
    ("rate", "counting", "change", "says"),
    [
        (
            "24",
            "drop",
            ("10:00:04:00 10:00:07:00", "10:00:04:24 10:00:07:00"),
            "no time of 24 frames a second",
        ),
        ("30000/1001", "drop", ("", ""), "its times are non-drop, and the reel's drop-frame"),
        ("30000/1001", "non-drop", ("NON-DROP", "DROP"), "its times are drop-frame, and the reel's non-drop"),
        (
            "25",
            "drop",
            ("* FROM", "* RECORD RATE: 24\n* FROM"),
            "its times run at 24 frames a second, and the",
        ),
    ],
)
def test_times_that_the_reel_has_not_are_told(take, opened, rate, counting, change, says):
    taken = take(LIST.replace(*change), opened(rate=rate, counting=counting), by="record")
    assert says in "".join(left_lines(taken))


def test_drop_frame_is_told_by_its_mark_or_by_the_line_above(take, opened):
    reel = opened(rate="30000/1001", start="10:00:00;00")
    text = "FCM: DROP FRAME\n001  A  V  C  01:00:00:00 01:00:01:00 10:01:00:02 10:01:01:02\n"
    # ST 12-1: 10:01:00;02 is frame 1800 after 10:00:00;00.
    for list_ in (
        text,
        text.replace("FCM: DROP FRAME\n", ""),
        text.replace(":02 ", ";02 ").replace("DROP", "x"),
    ):
        assert [cue.frame for cue in take(list_, reel, by="record").reel.cues] == [1800]


def test_what_is_no_event_list_is_told(take):
    with pytest.raises(BadInput, match=r"it\.edl holds no event, as an event list does"):
        take("hello\n")
    with pytest.raises(BadInput, match=r"it\.edl is not text"):
        take(b"\0\1\2" * 90)


def test_a_line_that_is_not_whole_and_numbers_that_are_none_are_told(take):
    broken = LIST.replace("10:00:07:00 10:00:09:00\nM2", "10:00:07:00\nM2").replace(
        "(1.1 1.0 0.9)", "(1.1 nan 1)"
    )
    said = list(left_lines(take(broken)))
    assert "1 event left (at line 14): its line is not whole." in said
    assert any(
        line.startswith("1 CDL left (at line 4): ASC_SOP: nan is not a finite number") for line in said
    )


@pytest.mark.parametrize(
    ("comment", "name"),
    [
        ("* FROM CLIP NAME: mill", "mill"),
        ("FROM CLIP NAME:  mill", "mill"),
        ("*FROM FILE: S:\\shots\\mill.0001.dpx", "mill.0001.dpx"),
        ("* SOURCE FILE: mill", "mill"),
        ("* FROM CLIP NAME: my first reel.mkv\n* SOURCE FILE: my first reel.mkv", ""),
        ("* BLEND, DISSOLVE", ""),
    ],
)
def test_names_are_taken_from_whatever_comment_has_them(take, comment, name):
    text = f"001  A  V  C  01:00:00:00 01:00:01:00 10:00:02:00 10:00:03:00\n{comment}\n"
    taken = take(text)
    assert [(cue.name, cue.frame) for cue in taken.reel.cues] == [(name, 50)]
    assert taken.reel.marks == ()


def test_our_own_list_comes_back(opened, shots, take):
    marks = (Mark(frame=40, name="hole"),)
    cues = (
        Cue(frame=0, name="chart"),
        Cue(frame=100, name="FROM CLIP NAME: x", settings={"cdl.saturation": 0.5}),
        Cue(frame=300, begins="transition", length=60, ease="even", settings={"cdl.slope": [1.5, 1.0, 1.0]}),
    )
    reel = opened(*cues, chain="cdl", marks=marks, rate="30000/1001", start="09:59:30;00")
    text = event_list("a", *shots(reel))
    taken = take(text, opened(chain="cdl", rate="30000/1001", start="09:59:30;00"))
    assert (taken.reel.cues, taken.reel.marks) == (
        (cues[0], cues[1], Cue(**{**cue_fields(cues[2]), "settings": {"cdl.slope": [1.5, 1.0, 1.0]}})),
        marks,
    )


def test_our_own_list_of_a_master_at_another_rate_comes_back_by_its_source_times(opened, shots, take):
    reel = opened(Cue(frame=0, name="chart"), Cue(frame=241, name="sky"), frames=480, rate="24")
    video = Delivery(
        container="matroska",
        codec="ffv1",
        pixel_format="yuv422p10le",
        rate="30000/1001",
        cadence="2:3",
        scanning="top-first",
    )
    text = event_list("a", *shots(reel, Span(reel.reel, video, 0, 480)))
    taken = take(text, opened(frames=480, rate="24"))
    assert (taken.by, taken.reel.cues) == ("source", reel.reel.cues)


def test_what_came_once_changes_nothing_when_it_comes_again(take, opened):
    once = take(LIST).reel
    again = take(LIST, opened(*once.cues, chain="cdl", marks=once.marks))
    assert (again.reel, again.cues, again.cdls, again.marks) == (once, 0, 0, 0)


def test_lines_without_end_are_refused(take, monkeypatch):
    monkeypatch.setattr(read_text, "MOST_LINES", 100)
    with pytest.raises(BadInput, match="has more than 100 lines, as no event list has"):
        take(LIST * 10)


def cue_fields(cue):
    return {name: getattr(cue, name) for name in ("frame", "name", "begins", "length", "ease", "settings")}
