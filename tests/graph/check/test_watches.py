"""What watches the pictures of a master, on codes that are made here: levels, bars and black, repeats.

EBU R 103: limits, filter and area of v3.0 (May 2020), second-hand. Pictures are invented; noise is grain.
"""

from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.check.blanks import Blanks
from lamphouse.graph.check.findings import Names
from lamphouse.graph.check.levels import Levels
from lamphouse.graph.check.looking import Looking, Meant
from lamphouse.graph.check.repeats import Repeats
from lamphouse.graph.check.runs import runs_of
from lamphouse.graph.check.shots import Shots
from lamphouse.graph.check.watches import Seen
from lamphouse.graph.media.codes.decode_planes import Coded, Coding
from lamphouse.graph.media.codes.encode_planes import plane_coding
from lamphouse.graph.reel.records import ChainRef, Cue, Delivery, Reel, ScanRef
from lamphouse.graph.reel.span import Span

SIZE = (40, 50)  # 2000 pixels, of which 20 are the hundredth
NAMES = Names(None)


def grey(code, pixel_format="yuv422p10le", range_="video", size=SIZE):
    """A picture of one code of luma."""
    matrix = "rgb" if pixel_format.startswith("gbr") else "bt709"
    coding = plane_coding(pixel_format, matrix, range_)
    across, down = coding.layout.subsampling
    chroma = code if matrix == "rgb" else 128 << (coding.layout.bits - 8)
    small = (-(-size[0] // down), -(-size[1] // across))
    planes = [
        np.full(size if n == 0 else small, code if n == 0 else chroma, coding.layout.dtype) for n in range(3)
    ]
    return Coded(tuple(planes), coding.layout, Coding(coding.matrix, range_))


def grain(seed, size=(48, 64)):
    picture = grey(500, size=size)
    picture.planes[0][:] = np.random.default_rng(seed).integers(300, 700, size)
    return picture


def seen_by(watch, pictures):
    for number, picture in enumerate(pictures):
        watch.see(number, Seen(picture))
    return list(watch.found(NAMES))


def levels(**more):
    return Levels(shots=Shots(None), **more)


@pytest.mark.parametrize(
    ("pixel_format", "within", "beyond"),
    [
        ("yuv422p10le", 20, 19),
        ("yuv422p10le", 984, 985),
        ("yuv420p10le", 984, 985),
        ("gbrp10le", 20, 19),
        ("gbrp10le", 984, 985),
        ("yuv420p", 5, 4),
        ("yuv420p", 246, 247),
        ("yuv422p", 5, 4),
        ("gbrp", 246, 247),
        # The document names no codes of 12 and 16 bits: those of the percentages that 8 and 10 bits have.
        ("yuv422p12le", 80, 79),
        ("yuv444p12le", 3936, 3937),
        ("yuv444p16le", 1280, 1279),
        ("gbrp16le", 62976, 62977),
    ],
)
def test_the_last_codes_of_each_depth_pass_and_the_next_are_a_fault(pixel_format, within, beyond):
    assert not [one for one in seen_by(levels(), [grey(within, pixel_format)]) if one.kind == "levels"]
    (found, *_) = seen_by(levels(), [grey(beyond, pixel_format)])
    assert (found.kind, found.weight, found.rule) == ("levels", "fault", "EBU R 103")
    assert "in 100.00 % of the picture" in found.sentence


@pytest.mark.parametrize(("more", "is_beyond"), [(20, False), (21, True)])
def test_a_hundredth_of_the_picture_may_lie_beyond(more, is_beyond):
    picture = grey(500, "yuv444p10le")
    picture.planes[0].flat[:more] = 1000
    found = seen_by(levels(is_filtered=False), [picture])
    assert ("levels" in {one.kind for one in found}) is is_beyond


@pytest.mark.parametrize(("is_filtered", "is_beyond"), [(True, False), (False, True)])
def test_specks_are_beyond_without_the_filter_alone(is_filtered, is_beyond):
    picture = grey(500, "yuv444p10le")
    picture.planes[0][::5, ::8] = 1019  # 56 of 2000
    found = seen_by(levels(is_filtered=is_filtered), [picture])
    assert ("levels" in {one.kind for one in found}) is is_beyond


def test_a_colour_that_no_luma_shows_is_beyond():
    picture = grey(700, "yuv422p10le")
    picture.planes[2][:] = 900  # R' = (700 - 64) / 876 + 1.5748 (900 - 512) / 896, ITU-R BT.709-6
    assert "levels" in {one.kind for one in seen_by(levels(), [picture])}


def test_codes_of_full_range_cannot_be_beyond():
    assert not [one for one in seen_by(levels(), [grey(1023, "gbrp10le", "full")]) if one.weight == "fault"]


def test_frames_beyond_are_one_finding_with_the_worst_named():
    pictures = [grey(500, "yuv444p10le") for _ in range(9)]
    for number, rows in ((2, 10), (3, 20), (6, 12)):
        pictures[number].planes[0][:rows] = 1000
    (found,) = [one for one in seen_by(levels(), pictures) if one.kind == "levels"]
    assert (found.frame, found.stop, found.worst) == (2, 7, 3)
    # 20 rows of 40, less the one that the filter brings in: (3 * 1000 + 500) / 4 is less than 984
    assert "in 47.50 % of the picture at most, in frame 3" in found.sentence


def test_where_frames_go_on_to_be_beyond_every_fourth_is_judged_and_the_end_is_seen_to_the_frame(monkeypatch):
    judged = []
    share = "lamphouse.graph.check.levels.share_beyond"
    monkeypatch.setattr(
        share, lambda picture, *_, **__: judged.append(picture) or picture.planes[0].max() > 940
    )
    for count in (17, 18, 19, 20):
        judged.clear()
        pictures = [*(grey(1019) for _ in range(count)), *(grey(500) for _ in range(30))]
        (found, *_) = [f for f in seen_by(levels(), pictures) if f.kind == "levels"]
        assert (found.frame, found.stop, found.worst) == (0, count, 0)
        assert len(judged) < 9 + 31  # 0, 1, 2, 6, 10, 14, 18, and those that are within


def test_a_run_that_lasts_to_the_end_is_told_to_its_last_frame():
    for count in (4, 5, 6, 7):
        (found, *_) = seen_by(levels(), [grey(1019) for _ in range(count)])
        assert (found.frame, found.stop) == (0, count)


def test_what_is_cut_off_at_an_end_is_told_with_its_share():
    picture = grey(500, "yuv444p10le")
    picture.planes[0][:4] = 64
    picture.planes[0][4:5] = 940
    (found,) = seen_by(levels(), [picture, picture])
    assert (found.kind, found.weight) == ("clipped", "caution")
    assert "10.0 % of its pixels at or below black" in found.sentence
    assert "2.5 % of its pixels at or above white" in found.sentence


def test_a_watch_beside_a_pass_sees_what_is_sent_as_what_comes_back():
    frame = av.VideoFrame(64, 48, "yuv422p10le")
    for plane in frame.planes:
        plane.update(bytes([1, 0]) * (plane.buffer_size // 2))  # luma and chroma 1
    watch = levels()
    looking = Looking([watch], meant=Meant("bt709", "video"))
    looking.decoded(0, frame)
    assert [one.kind for one in looking.found(NAMES)][:1] == ["levels"]


def span_of(cues=(), frames=24, **delivered):
    reel = Reel(
        scan=ScanRef(path="x", frames=frames, width=64, height=48),
        chain=ChainRef(nodes=(), output="scan"),
        cues=cues,
        rate=delivered.pop("film", "25"),
    )
    given = {"container": "matroska", "codec": "ffv1", "pixel_format": "yuv422p10le", **delivered}
    return Span(reel, Delivery(**given), 0, frames)


def test_shots_are_those_of_the_cues_and_bars_are_none():
    shots = Shots(span_of((Cue(frame=4, name="Gate"), Cue(frame=9)), bars=3))
    assert shots.of(2) is None
    assert [shots.of(n).words for n in (3, 7, 11, 12, 26)] == [
        "What stands before the first cue",
        "The shot Gate",
        "The shot Gate",
        "The shot from frame 9",
        "The shot from frame 9",
    ]
    assert (shots.of(8).first, shots.of(8).stop) == (7, 12)


def test_black_within_the_film_is_told_and_at_the_head_is_expected():
    span = span_of(black_before=2, frames=6)
    black, picture = grey(64, size=(48, 64)), grain(1)
    watch = Blanks(span)
    for number, one in enumerate([black, black, picture, picture, black, black, picture, picture]):
        watch.see(number, Seen(one))
    (found,) = watch.found(Names(span))
    assert (found.kind, found.frame, found.stop, found.weight) == ("black", 4, 6, "caution")
    assert list(watch.said()) == ["2 frames of black stand where the delivery has them."]


def test_a_picture_where_black_is_due_is_a_fault():
    watch = Blanks(span_of(black_after=2, frames=3))
    (found,) = seen_by(watch, [grain(1), grain(2), grain(3), grey(64, size=(48, 64)), grain(4)])
    assert (found.kind, found.frame, found.weight) == ("blank", 4, "fault")


def test_a_held_picture_is_found_and_grain_is_not():
    pictures = [grain(n) for n in range(5)] + [grain(5)] * 4 + [grain(n) for n in range(9, 12)]
    assert not seen_by(Repeats(span_of(frames=9)), [grain(n) for n in range(9)])
    (found,) = seen_by(Repeats(span_of(frames=12)), pictures)
    assert (found.kind, found.frame, found.stop, found.weight) == ("held", 5, 9, "fault")
    assert "held for 4 frames" in found.sentence


def test_one_frame_again_is_a_caution():
    (found,) = seen_by(Repeats(span_of(frames=4)), [grain(0), grain(1), grain(1), grain(2)])
    assert (found.kind, found.frame, found.stop, found.weight) == ("repeated", 2, 3, "caution")


def of_film(frames, film, rate="25"):
    """Film frames in a video of 25, each shown while it runs at the middle of a frame."""
    share = Fraction(film) / Fraction(rate)
    return [grain(int((n + Fraction(1, 2)) * share)) for n in range(frames)]


@pytest.mark.parametrize("film", ["16", "18", "20", "24"])
def test_the_repeats_of_a_cadence_are_no_fault(film):
    frames = 26 if film == "24" else 60
    span = span_of(frames=frames, cadence="repeat", film=film, rate="25")
    assert not seen_by(Repeats(span), of_film(frames, film))
    if film != "24":
        assert not seen_by(Repeats(None), of_film(frames, film))


def test_a_missing_frame_breaks_the_cadence_of_a_master_from_elsewhere():
    pictures = of_film(75, "18")
    assert not seen_by(Repeats(None), pictures)
    (found,) = seen_by(Repeats(None), pictures[:30] + pictures[32:])
    assert (found.kind, found.weight) == ("cadence", "caution")
    assert found.frame in range(30, 36)


def test_what_should_repeat_and_does_not_breaks_the_cadence_of_the_record():
    span = span_of(frames=30, cadence="repeat", film="18", rate="25")
    pictures = of_film(25, "18")
    again = next(n for n in range(8, 25) if span.shown(n) == span.shown(n - 1))
    pictures[again] = grain(99)
    found = seen_by(Repeats(span), pictures)
    assert ("cadence", again) in {(one.kind, one.frame) for one in found}


def test_each_field_of_two_thirds_is_followed_by_itself():
    span = span_of(frames=24, film="24", rate="30000/1001", cadence="2:3", scanning="top-first", codec="ffv1")
    frames = []
    for number in range(20):
        picture = grain(0)
        for field, film in enumerate(span.shown(number)):
            picture.planes[0][field::2] = grain(film).planes[0][field::2]
        frames.append(picture)
    assert not seen_by(Repeats(span), frames)
    frames[9] = frames[8]
    assert {one.frame for one in seen_by(Repeats(span), frames)} >= {9}


def test_runs_end_at_gaps_and_at_shots():
    frames = dict.fromkeys((1, 2, 5, 30, 31), 0.5) | {6: 0.9}
    runs = list(runs_of(dict(sorted(frames.items())), gap=3))
    assert [(run.first, run.stop, run.count, run.worst) for run in runs] == [(1, 7, 4, 6), (30, 32, 2, 30)]
    assert len(list(runs_of({1: 0.0, 2: 0.0}, lambda n: n))) == 2
