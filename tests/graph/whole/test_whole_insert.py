"""Frames made anew in a finished master: the same bytes as a whole new pass, and no other touched."""

import functools
import hashlib
import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import av
import msgspec
import numpy as np
import pytest
import soundfile

from lamphouse.graph.check.again import Again, make_again
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.media.master.coming import Coming
from lamphouse.graph.media.master.facts import facts_of
from lamphouse.graph.media.master.record import load_record, record_path
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.progress import Step
from lamphouse.graph.reel.records import Cue, Delivery, Sound
from lamphouse.graph.reel.store import load, save
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.graph.transfer import insert as insert_module
from lamphouse.graph.transfer.insert import Inserted, insert
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.graph.transfer.wanted import Wanted
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput, CheckFailed, Stopped

Typed = Callable[..., str]
Masters = Callable[[str], Path]
FRAMES, WIDTH, HEIGHT, RATE = 40, 64, 48, 25
BEFORE = 5  # bars and black
MOVIE = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    sound=Sound(),
    bars=3,
    black_before=2,
    black_after=2,
)
STILLS = Delivery(
    container="dpx", codec="dpx", pixel_format="gbrp10le", matrix="rgb", range="full", sound=Sound(), bars=2
)
GROUPS = Delivery(
    container="matroska",
    codec="libx264",
    pixel_format="yuv420p",
    sound=Sound(codec="aac"),
    options={"g": "10", "sc_threshold": "0", "preset": "ultrafast", "bf": "2"},
)
DELIVERIES = {
    "movie": ("m.mkv", MOVIE),
    "stills": ("stills", STILLS),
    "groups.mkv": ("g.mkv", GROUPS),
    "groups.mp4": ("g.mp4", msgspec.structs.replace(GROUPS, container="mp4")),
}
CUES = (
    Cue(frame=0, name="Gate"),
    Cue(frame=10, name="Garden", settings={"primary.gain": 1.2}),
    Cue(frame=20, name="Pond", begins="transition", length=4, settings={"primary.gain": 0.8}),
    Cue(frame=30, name="Lane", settings={"primary.gain": 0.9}),
)


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("insert") / "scan.mkv"
    noise = np.random.default_rng(7).integers(0, 256, (HEIGHT, WIDTH + FRAMES, 3), np.uint8)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=RATE)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "gbrp10le"
        for n in range(FRAMES):
            picture = av.VideoFrame.from_ndarray(np.ascontiguousarray(noise[:, n : n + WIDTH]), "rgb24")
            container.mux(stream.encode(picture.reformat(format="gbrp10le")))
        container.mux(stream.encode(None))
    samples = np.random.default_rng(3).uniform(-0.5, 0.5, (FRAMES * 48000 // RATE, 2))
    soundfile.write(path.with_suffix(".wav"), samples, 48000, "PCM_24")
    return path


@pytest.fixture
def reel_file(scan: Path, tmp_path: Path) -> Path:
    return new_reel(scan, tmp_path / "film.reel")


def new_reel(scan: Path, path: Path) -> Path:
    reel = start_reel(path, Start(scan, scan.with_suffix(".wav"), rate=str(RATE))).reel
    save(path, msgspec.structs.replace(reel, cues=CUES))
    return path


@pytest.fixture(scope="module")
def finished(scan: Path) -> Masters:
    """A function that returns the master of a pass over the reel as `reel_file` has it, passed but once."""
    path = new_reel(scan, scan.with_name("film.reel"))
    return functools.cache(lambda kind: passed(path, *DELIVERIES[kind]))


@pytest.fixture
def master_of(reel_file: Path, finished: Masters) -> Masters:
    """A function that returns such a master as a copy beside `reel_file`."""

    def copied(kind: str) -> Path:
        original = finished(kind)
        master = reel_file.with_name(original.name)
        (shutil.copytree if original.is_dir() else shutil.copy)(original, master)
        shutil.copy(record_path(original), record_path(master))
        return master

    return copied


@pytest.fixture
def typed(lamphouse: Typed) -> Typed:
    return lamphouse


@contextmanager
def silent(what: str) -> Iterator[Step]:
    yield lambda *done: None


def passed(reel_file: Path, name: str, delivery: Delivery = MOVIE) -> Path:
    master = reel_file.with_name(name)
    transfer(plan(open_reel(reel_file, Catalogue()), delivery, 0, FRAMES), master, lambda *done: None)
    return master


def put(reel_file: Path, master: Path, wanted: Wanted, **more: bool) -> Inserted:
    return insert(open_reel(reel_file, Catalogue()), master, wanted, silent, **more)


def regrade(reel_file: Path, name: str = "Garden", gain: float = 1.5) -> None:
    """Give one cue another gain."""
    reel = load(reel_file)
    cues = tuple(
        msgspec.structs.replace(cue, settings={"primary.gain": gain}) if cue.name == name else cue
        for cue in reel.cues
    )
    save(reel_file, msgspec.structs.replace(reel, cues=cues))


def sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def contents(master: Path) -> dict[str, bytes]:
    files = master.iterdir() if master.is_dir() else [master]
    return {path.name: path.read_bytes() for path in files}


def framemd5(master: Path) -> list[str]:
    """The lines of ffmpeg's own framemd5 of the pictures."""
    source = [str(master)]
    if master.is_dir():
        source = ["-framerate", str(RATE), "-i", str(master / f"{master.name}.%06d.dpx")]
    else:
        source = ["-i", str(master)]
    command = ["ffmpeg", "-v", "error", *source, "-map", "0:v", "-f", "framemd5", "-"]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    return [line for line in said.splitlines() if not line.startswith("#")]


def test_an_insert_of_unchanged_settings_gives_the_identical_file(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("movie")
    before, facts = sha(master), facts_of(master)
    put(reel_file, master, Wanted(start="7", stop="23"), sound=True)
    assert sha(master) == before
    assert facts_of(master) == facts
    assert sorted(path.name for path in master.parent.glob("*m.mkv*")) == [
        "m.mkv",
        "m.mkv.record.json",
        "m.mkv.record.json.previous",
    ]


def test_an_insert_after_a_change_equals_a_whole_new_pass_byte_for_byte(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("movie")
    regrade(reel_file)
    put(reel_file, master, Wanted(cue="Garden"))
    whole = passed(reel_file, "whole.mkv")
    assert sha(master) == sha(whole)
    record, anew = load_record(master), load_record(whole)
    assert record.files == {"m.mkv": sha(master)}
    assert (record.pictures, record.grades, record.sound) == (anew.pictures, anew.grades, anew.sound)
    assert (record.made_of, record.reel, record.facts) == (anew.made_of, anew.reel, anew.facts)
    (made,) = record.inserts
    # The cue's own frames and those of the transition into the next, which ends on frame 20.
    assert (made.first, made.stop) == (BEFORE + 10, BEFORE + 20)
    assert made.why == "the cue Garden was asked for"
    assert made.made.who == record.made.who


def test_a_cue_that_begins_by_a_transition_is_made_anew_from_where_that_begins(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("movie")
    before = framemd5(master)
    regrade(reel_file, "Pond", 0.6)
    put(reel_file, master, Wanted(cue="Pond"))
    changed = [n for n, (one, other) in enumerate(zip(before, framemd5(master), strict=True)) if one != other]
    # 17 is the first frame of the film that is not the settings before alone.
    assert changed == list(range(BEFORE + 17, BEFORE + 30))


@pytest.mark.parametrize("kind", ["movie", "stills"])
def test_ffmpegs_framemd5_differs_on_the_new_lines_only(
    reel_file: Path, master_of: Masters, kind: str
) -> None:
    master = master_of(kind)
    before = framemd5(master)
    regrade(reel_file, "Lane", 0.5)
    put(reel_file, master, Wanted(start="30", stop="36"))
    changed = [n for n, (one, other) in enumerate(zip(before, framemd5(master), strict=True)) if one != other]
    first = 30 + (BEFORE if kind == "movie" else STILLS.bars)
    assert changed == list(range(first, first + 6))
    sums = tuple(line.rpartition(",")[2].strip() for line in framemd5(master))
    assert load_record(master).pictures == sums


def test_of_a_numbered_sequence_only_the_new_files_are_others(reel_file: Path, master_of: Masters) -> None:
    master = master_of("stills")
    before = {path.name: (path.stat().st_ino, sha(path)) for path in master.iterdir()}
    regrade(reel_file, "Lane", 0.5)
    put(reel_file, master, Wanted(start="30", stop="36"))
    after = {path.name: (path.stat().st_ino, sha(path)) for path in master.iterdir()}
    changed = sorted(name for name in after if after[name] != before[name])
    assert changed == [f"stills.{n:06}.dpx" for n in range(32, 38)]
    assert load_record(master).files == {name: found for name, (_, found) in after.items()}


def test_stills_equal_a_whole_new_pass_too_headers_and_sound_included(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("stills")
    whole = contents(master)
    put(reel_file, master, Wanted(start="3", stop="9"), sound=True)
    assert contents(master) == whole
    regrade(reel_file)
    done = put(reel_file, master, Wanted(), keep=True)
    assert contents(master.with_name("stills.before-insert-2")) == whole
    assert done.kept == master.with_name("stills.before-insert-2")
    passed(reel_file, "again", STILLS)
    again = master.with_name("again")
    assert load_record(master).pictures == load_record(again).pictures
    assert (master / "stills.wav").read_bytes() == (again / "again.wav").read_bytes()


@pytest.mark.slow
def test_what_is_stale_is_found_by_its_maths_and_told_by_cue(
    reel_file: Path, master_of: Masters, typed: Typed
) -> None:
    master = master_of("movie")
    assert "there is nothing to do" in typed("insert", reel_file, master, "--stale")
    regrade(reel_file, "Pond", 0.6)
    before = sha(master)
    said = typed("insert", reel_file, master, "--stale", "--dry")
    # From the second frame of the transition on, which rises softly and ends on frame 20, to the next cue.
    assert "22 to     34  cues Garden, Pond" in said
    assert "13 of 47 frames would be made anew" in said
    assert sha(master) == before
    answer = typed("insert", reel_file, master, "--stale", "--json")
    rows = json.loads(answer[answer.index("{") :])["inserts"]  # progress comes before it
    assert rows == [{"first": 22, "stop": 35, "timecode": "10:00:00:17", "cues": ["Garden", "Pond"]}]
    assert sha(master) == sha(passed(reel_file, "whole.mkv"))
    assert load_record(master).inserts[0].why == "their settings, LUTs or plug-ins had changed"


def test_a_cue_that_was_only_renamed_makes_nothing_stale(
    reel_file: Path, master_of: Masters, typed: Typed
) -> None:
    master = master_of("movie")
    reel = load(reel_file)
    cues = tuple(msgspec.structs.replace(cue, name=cue.name + " again") for cue in reel.cues)
    save(reel_file, msgspec.structs.replace(reel, cues=cues))
    assert "there is nothing to do" in typed("insert", reel_file, master, "--stale")


@pytest.mark.slow
def test_frames_that_stay_stale_keep_the_master_from_being_taken_for_a_new_one(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("movie")
    regrade(reel_file, "Gate", 1.1)
    regrade(reel_file, "Lane", 1.1)
    old = load_record(master).made_of
    put(reel_file, master, Wanted(cue="Gate"))
    assert load_record(master).made_of == old
    put(reel_file, master, Wanted())
    assert load_record(master).made_of == load_record(passed(reel_file, "whole.mkv")).made_of


@pytest.mark.slow
def test_sound_is_made_anew_where_that_is_asked(reel_file: Path, master_of: Masters, tmp_path: Path) -> None:
    master = master_of("movie")
    samples, rate = soundfile.read(load_sound(reel_file))
    soundfile.write(tmp_path / "other.wav", samples[::-1], rate, "PCM_24")
    reel = load(reel_file)
    sound = msgspec.structs.replace(reel.sound, path=str(tmp_path / "other.wav"))
    save(reel_file, msgspec.structs.replace(reel, sound=sound))
    before = sha(master)
    put(reel_file, master, Wanted(start="0", stop="5"))
    assert sha(master) == before
    put(reel_file, master, Wanted(start="0", stop=str(FRAMES)), sound=True)
    whole = passed(reel_file, "whole.mkv")
    assert sha(master) == sha(whole)
    assert load_record(master).sound == load_record(whole).sound
    assert load_record(master).made_of == load_record(whole).made_of


@pytest.mark.slow
def test_sound_at_another_speed_is_the_same_in_an_insert_and_is_known_to_have_moved(reel_file: Path) -> None:
    reel = load(reel_file)
    sound = msgspec.structs.replace(reel.sound, rate="24", starts_at=-3, offset="1/80")
    save(reel_file, msgspec.structs.replace(reel, sound=sound))
    master = passed(reel_file, "m.mkv")
    before, said = sha(master), load_record(master).made_of
    put(reel_file, master, Wanted(start="13", stop="23"), sound=True)
    assert sha(master) == before
    assert again(reel_file, master).sound == load_record(master).sound
    save(reel_file, msgspec.structs.replace(reel, sound=msgspec.structs.replace(sound, offset="1/40")))
    put(reel_file, master, Wanted(start="13", stop="14"))  # pictures alone: the sound is where it was
    then = load_record(master).made_of
    (name,) = (name for name in said if name.startswith("the sound"))
    made = again(reel_file, master)
    assert (name in made.changed, made.sound == load_record(master).sound) == (True, False)
    assert (then[name], sha(master)) == (said[name], before)
    put(reel_file, master, Wanted(start="0", stop=str(FRAMES)), sound=True)
    assert load_record(master).made_of[name] != said[name]
    assert load_record(master).sound == made.sound


def again(reel_file: Path, master: Path) -> Again:
    """What `verify` makes of the master with the reel as it is."""
    opened = open_reel(reel_file, Catalogue())
    return make_again(opened, load_record(master), lambda *done: None, lambda: False)


def load_sound(reel_file: Path) -> Path:
    path = open_reel(reel_file, Catalogue()).sound_path
    assert path is not None
    return path


def test_the_old_master_is_kept_with_a_record_of_its_own(
    reel_file: Path, master_of: Masters, typed: Typed
) -> None:
    master = master_of("movie")
    before = sha(master)
    regrade(reel_file)
    kept = master.with_name("m.before-insert-1.mkv")
    assert f"The old master is {kept}." in typed("insert", reel_file, master, "--cue", "Garden", "--keep")
    assert sha(kept) == before != sha(master)
    assert load_record(kept).files == {kept.name: before}
    assert load_record(kept).inserts == ()


@pytest.mark.slow
# Whole groups of 10 frames of this encoder, which has pictures that are shown in another order than they lie.
@pytest.mark.parametrize("kind", ["groups.mkv", "groups.mp4"])
def test_whole_groups_of_pictures_are_replaced_and_parts_of_them_refused(
    reel_file: Path, master_of: Masters, kind: str
) -> None:
    master = master_of(kind)
    before, facts = framemd5(master), facts_of(master)
    regrade(reel_file, "Lane", 0.5)
    with pytest.raises(BadInput) as error:
        put(reel_file, master, Wanted(start="30", stop="39"))
    assert load_record(master).files == {master.name: sha(master)}
    put(reel_file, master, Wanted(start="30", stop="40"))
    changed = [n for n, (one, other) in enumerate(zip(before, framemd5(master), strict=True)) if one != other]
    assert changed == list(range(30, 40))
    assert facts_of(master) == facts
    with pytest.raises(BadInput) as error:
        put(reel_file, master, Wanted(start="12", stop="15"))
    assert "give --from 10 --to 20, the least of whole groups" in str(error.value)


class Killed(BaseException):
    """What ends an insert in these tests as a kill does: nobody tidies up after it."""


def killed_at(monkeypatch: pytest.MonkeyPatch, call: int) -> Callable[[], int]:
    """Have the process end before it gives or takes a name the `call`-th time; return the calls so far."""
    calls = 0

    def counted(original: Callable[..., object]) -> Callable[..., object]:
        def before(*given: object, **more: object) -> object:
            nonlocal calls
            calls += 1
            if calls == call:
                raise Killed
            return original(*given, **more)

        return before

    for name in ("replace", "unlink", "mkdir"):
        monkeypatch.setattr(Path, name, counted(getattr(Path, name)))
    monkeypatch.setattr(shutil, "rmtree", counted(shutil.rmtree))
    monkeypatch.setattr(Coming, "abandon", lambda self: None)
    return lambda: calls


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["movie", "stills"])
def test_a_kill_at_any_step_leaves_a_whole_master_that_the_same_command_mends(
    reel_file: Path, finished: Masters, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    original = finished(kind)
    regrade(reel_file, "Lane", 0.5)
    wanted, steps = Wanted(start="31", stop="33"), 0
    meant: dict[str, bytes] = {}
    while True:
        master = reel_file.with_name(str(steps)) / original.name
        master.parent.mkdir()
        (shutil.copytree if original.is_dir() else shutil.copy)(original, master)
        shutil.copy(record_path(original), record_path(master))
        old = contents(master)
        with monkeypatch.context() as patch:
            calls = killed_at(patch, steps + 1)
            with suppress(Killed):
                put(reel_file, master, wanted, keep=True)
            if calls() == steps:
                break
        assert all(data in (old[file], meant.get(file, data)) for file, data in contents(master).items())
        try:
            assert load_record(master).files == {
                file: sha_of(data) for file, data in contents(master).items()
            }
        except BadInput as error:
            assert "cut off while it took its place" in str(error)  # noqa: PT017  # either is right
        put(reel_file, master, wanted)
        meant = meant or contents(master)
        assert contents(master) == meant != old
        assert load_record(master).files == {file: sha_of(data) for file, data in meant.items()}
        assert not UnderWay(master).insert.exists()
        steps += 1
    assert steps > 12


def sha_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


REFUSED = {
    "rate": ("the rate", lambda reel: msgspec.structs.replace(reel, rate="24")),
    "length": (
        "the scan's length",
        lambda reel: msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, frames=41)),
    ),
    "raster": (
        "the scan's raster",
        lambda reel: msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, width=62)),
    ),
    "start": (
        "the timecode of its first frame",
        lambda reel: msgspec.structs.replace(reel, start="11:00:00:00"),
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_reel_that_does_not_go_with_the_master_is_refused_by_name(
    reel_file: Path, master_of: Masters, what: str
) -> None:
    words, change = REFUSED[what]
    master = master_of("movie")
    save(reel_file, change(load(reel_file)))
    with pytest.raises(BadInput, match=f"{words}.* of film.reel .* not what .*m.mkv was made with"):
        put(reel_file, master, Wanted(start="1", stop="2"))


def test_a_copy_of_the_scan_is_the_same_scan(reel_file: Path, master_of: Masters, tmp_path: Path) -> None:
    master = master_of("movie")
    before, reel = sha(master), load(reel_file)
    copy = Path(shutil.copy(open_reel(reel_file, Catalogue()).scan_path, tmp_path / "copy.mkv"))
    save(reel_file, msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, path=str(copy))))
    put(reel_file, master, Wanted(start="1", stop="2"))
    assert sha(master) == before


def test_another_scan_is_refused_by_name(reel_file: Path, master_of: Masters, tmp_path: Path) -> None:
    master = master_of("movie")
    reel = load(reel_file)
    other = tmp_path / "other.mkv"
    other.write_bytes(open_reel(reel_file, Catalogue()).scan_path.read_bytes() + b"more")
    save(reel_file, msgspec.structs.replace(reel, scan=msgspec.structs.replace(reel.scan, path=str(other))))
    with pytest.raises(BadInput, match=r"the scan .*other.mkv of film.reel is not what"):
        put(reel_file, master, Wanted(start="1", stop="2"))


def test_a_master_that_is_not_ours_or_not_what_its_record_says_is_refused(
    reel_file: Path, master_of: Masters
) -> None:
    master = master_of("movie")
    data = master.read_bytes()
    master.write_bytes(data[:-100] + bytes(100))
    with pytest.raises(BadInput, match=r"is not what its record says.*lamphouse verify"):
        put(reel_file, master, Wanted(start="1", stop="2"))
    master.write_bytes(data)
    record_path(master).unlink()
    with pytest.raises(BadInput, match="has no record"):
        put(reel_file, master, Wanted(start="1", stop="2"))


def test_an_encoder_that_is_set_up_otherwise_is_refused(
    reel_file: Path, master_of: Masters, monkeypatch: pytest.MonkeyPatch
) -> None:
    master = master_of("movie")
    before = contents(master)
    # As a later library might: other slices stand in the header of the stream (RFC 9043, 4.3).
    monkeypatch.setattr("lamphouse.graph.media.master.encoder.slices_of", lambda *given: 6)
    with pytest.raises(BadInput, match="is not set up as the one that wrote"):
        put(reel_file, master, Wanted(start="1", stop="2"))
    assert contents(master) == before
    assert not UnderWay(master).insert.exists()


def test_frames_that_come_back_wrong_or_a_stop_leave_the_master_as_it_was(
    reel_file: Path, master_of: Masters, monkeypatch: pytest.MonkeyPatch
) -> None:
    master = master_of("movie")
    regrade(reel_file)
    before = contents(master)
    with monkeypatch.context() as patch:
        patch.setattr("lamphouse.graph.media.master.decoded.frame_sum", lambda frame: "0" * 32)
        with pytest.raises(CheckFailed, match=r"^Frame 15 \(10:00:00:10, cue Garden\).* differs from what"):
            put(reel_file, master, Wanted(cue="Garden"))
    with monkeypatch.context() as patch:
        patch.setattr(insert_module, "weave", Stopping())
        with pytest.raises(Stopped):
            put(reel_file, master, Wanted(cue="Garden"))
    assert contents(master) == before
    assert load_record(master).files == {"m.mkv": sha(master)}
    assert sorted(path.name for path in master.parent.glob("*m.mkv*")) == ["m.mkv", "m.mkv.record.json"]


class Stopping:
    """Ctrl-C while packets are joined."""

    __name__ = "weave"

    def __call__(self, *given: object) -> None:
        raise Stopped("Stopped.")


@pytest.mark.parametrize(
    "typed_",
    [["--stale", "--cue", "Garden"], ["--from", "1"], [], ["--cue", "Garden", "--from", "1", "--to", "2"]],
)
def test_which_frames_is_said_in_one_way(reel_file: Path, typed: Typed, typed_: list[str]) -> None:
    with pytest.raises(BadInput, match="said in one way"):
        typed("insert", reel_file, reel_file.with_name("m.mkv"), *typed_)


def test_frames_outside_the_master_are_refused(reel_file: Path) -> None:
    master = reel_file.with_name("m.mkv")
    transfer(plan(open_reel(reel_file, Catalogue()), MOVIE, 5, 25), master, lambda *done: None)
    for wanted in (Wanted(start="4", stop="6"), Wanted(start="20", stop="26"), Wanted(cue="Lane")):
        with pytest.raises(BadInput, match="this master, which shows frames 5 to 24 of the reel"):
            put(reel_file, master, wanted)
    put(reel_file, master, Wanted(cue="Pond"))
    (made,) = load_record(master).inserts
    assert (made.first, made.stop) == (BEFORE + 12, BEFORE + 20)


@pytest.mark.parametrize("codec", ["pcm_s16le", "flac", "aac"])
def test_at_a_rate_whose_frames_end_between_two_ticks_the_length_stays(reel_file: Path, codec: str) -> None:
    # Times in Matroska are whole milliseconds (RFC 9559, 5.1.2.1): 41.7 each here.
    save(reel_file, msgspec.structs.replace(load(reel_file), rate="24"))
    master = passed(reel_file, "m.mkv", msgspec.structs.replace(MOVIE, sound=Sound(codec=codec)))
    before, facts = sha(master), facts_of(master)
    put(reel_file, master, Wanted(start="7", stop="12"))
    assert facts_of(master) == facts
    assert codec != "pcm_s16le" or sha(master) == before
