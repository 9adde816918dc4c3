"""What is said before a pass: what stands in its way, what another one left, whether there is room."""

from fractions import Fraction

import msgspec
import pytest

from lamphouse.graph.media.master.delivery import delivery
from lamphouse.graph.media.master.pass_record import Frame, PassRecord, count_record, read_record
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.graph.reel.presets import chain_preset
from lamphouse.graph.reel.records import NodeRef, Reel, ScanRef
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.beforehand import beforehand, most_bytes
from lamphouse.graph.transfer.plan import plan
from lamphouse.nodes.catalogue import Catalogue


@pytest.fixture
def pass_of(tmp_path):
    """A function that plans a pass over a reel of 50 frames into a delivery."""
    scan = ScanRef(path="scan.mkv", frames=50, width=64, height=48)
    reel = Reel(scan=scan, rate="24", chain=chain_preset("everyday").chain)

    def of(name="scan-ffv1", **changes):
        made_of = msgspec.structs.replace(delivery(name, {}), **changes)
        return plan(OpenedReel(tmp_path / "a.reel", reel, Catalogue()), made_of, 0, 50)

    return of


def test_a_pass_that_nothing_stands_in_the_way_of_has_nothing_left_and_room(pass_of, tmp_path):
    found = beforehand(pass_of(), tmp_path / "m.mkv")
    assert (found.refused, found.left) == ("", None)
    assert found.room.is_enough


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("m.mov", "a matroska master is called NAME.mkv"),
        ("there.mkv", "exists already"),
        ("none/m.mkv", "is not there or takes no files"),
        ("a.reel", "a.reel"),
    ],
)
def test_a_name_that_cannot_be_is_refused_as_the_command_refuses_it(pass_of, tmp_path, name, said):
    (tmp_path / "there.mkv").touch()
    assert said in beforehand(pass_of(), tmp_path / name).refused


def test_a_node_that_is_missing_here_is_in_the_way(pass_of, tmp_path):
    pass_ = pass_of()
    chain = pass_.reel.chain
    gone = NodeRef(name="gone", kind="nobody-has-it", inputs=(chain.output,))
    chain = msgspec.structs.replace(chain, nodes=(*chain.nodes, gone), output="gone")
    opened = pass_.opened.with_reel(msgspec.structs.replace(pass_.reel, chain=chain))
    assert "gone" in beforehand(plan(opened, pass_.delivery, 0, 50), tmp_path / "m.mkv").refused


def test_the_speed_of_the_film_and_what_cannot_be_resumed_or_read_beside_the_pass_are_said(pass_of, tmp_path):
    said = " ".join(beforehand(pass_of("hd-prores-hq", rate="25"), tmp_path / "m.mov").said)
    assert "4.17 % faster" in said  # 25 / 24 - 1, by hand
    assert "The index of mov comes last" in said
    assert "cannot be resumed" in said


def test_what_another_pass_left_is_told_in_frames(pass_of, tmp_path):
    master = tmp_path / "m.mkv"
    way = UnderWay(master)
    way.part.touch()
    record = PassRecord(way.record, {})
    for number in range(20):
        record.add(number, Frame("0" * 32, 1))
    record.read_back(12)
    record.close()
    assert count_record(way.record) == (20, 12)
    known = read_record(way.record)
    assert (len(known.frames), known.read_back) == (20, 12)
    left = beforehand(pass_of(), master).left
    assert (left.path, left.frames, left.of, left.read_back, left.can_resume) == (way.part, 20, 50, 12, True)


def test_a_master_is_at_most_what_its_codes_are_in_the_least_dense_packing(pass_of):
    # SMPTE ST 268-1, from memory: three codes of 10 bits fill a word of 32.
    assert most_bytes(pass_of("dpx-10")) == 50 * 64 * 48 * 4
    # v210, from memory: six pixels in 16 bytes.
    made = pass_of("hd-v210", width=48, height=48)
    assert most_bytes(made) == 50 * 48 * 48 * 16 // 6
    assert Fraction(most_bytes(pass_of("viewing-h264", width=64, height=48))) >= 50 * 64 * 48 * Fraction(3, 2)
