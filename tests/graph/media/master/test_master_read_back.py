"""Read-back finds the first frame that is not what was written, and says what it could not compare."""

from fractions import Fraction

import av
import numpy as np
import pytest

from lamphouse.graph.media.codes.sums import SecondSums, frame_sum
from lamphouse.graph.media.master.lineup import tone
from lamphouse.graph.media.master.read_back import Meant, read_back
from lamphouse.nodes.errors import BadInput, CheckFailed


@pytest.mark.parametrize("kind", ["ffv1", "rgb", "dpx", "tiff"])
def test_a_lossless_master_is_compared_code_by_code(written, kind):
    master = written(kind, 6, (33, 22), rate="30000/1001")
    found = read_back(master.path, master.meant, rate=master.rate, raster=(33, 22))
    assert (found.frames, found.exact) == (6, True)
    assert "every code" in found.sentence


def test_a_lossy_master_is_compared_in_number_times_raster_and_coarse_shapes_and_says_so(written):
    master = written("h264", 30, rate="24000/1001")
    found = read_back(master.path, master.meant, rate=master.rate, raster=(32, 24))
    assert (found.frames, found.exact) == (30, False)
    assert "codes: areas are off by" in found.sentence
    assert len(found.distances) == 30


@pytest.mark.parametrize("kind", ["ffv1", "dpx", "tiff"])
def test_the_first_frame_that_differs_is_named(written, kind):
    master = written(kind, 6)
    master.meant.pictures[3:5] = master.meant.pictures[4:2:-1]
    with pytest.raises(CheckFailed, match=r"Frame 3 .* differs"):
        read_back(master.path, master.meant)


def test_one_damaged_byte_on_the_disk_is_found(written):
    master = written("ffv1", 6)
    data = bytearray(master.path.read_bytes())
    with av.open(str(master.path)) as container:
        packets = [bytes(packet) for packet in container.demux(video=0) if packet.size]
    data[data.index(packets[4]) + len(packets[4]) // 2] ^= 0x10
    master.path.write_bytes(data)
    with pytest.raises(CheckFailed, match=r"Frame 4 |cannot be decoded"):
        read_back(master.path, master.meant)


def test_a_master_cut_off_is_found(written):
    master = written("ffv1", 6)
    data = master.path.read_bytes()
    master.path.write_bytes(data[: len(data) * 2 // 3])
    with pytest.raises(CheckFailed, match=r"ends before|cannot be decoded|differs"):
        read_back(master.path, master.meant)


def test_one_frame_too_many_or_too_few_is_found(written):
    for kind in ("ffv1", "h264", "dpx"):
        master = written(kind, 4)
        meant = master.meant.pictures or master.meant.means
        last = meant.pop()
        with pytest.raises(CheckFailed, match="goes on at frame 3"):
            read_back(master.path, master.meant)
        meant.extend([last, last])
        with pytest.raises(CheckFailed, match="ends before frame 4"):
            read_back(master.path, master.meant)


@pytest.mark.parametrize("late", [1, 7])
def test_a_frame_that_is_shown_at_the_wrong_time_is_found(tmp_path, late):
    path, sums = tmp_path / "a.mkv", []
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuv422p10le"
        stream.codec_context.time_base = Fraction(1, 1000)
        for number in range(6):
            frame = av.VideoFrame.from_ndarray(np.full((24, 32), number, np.uint8), "gray")
            frame = frame.reformat(format="yuv422p10le")
            frame.pts, frame.time_base = number * 40 + late * (number == 3), Fraction(1, 1000)
            sums.append(frame_sum(frame))
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    with pytest.raises(CheckFailed, match=r"Frame 3 .* not at its time"):
        read_back(path, Meant(sums), rate=Fraction(25))


def test_another_rate_or_raster_than_meant_is_found(written):
    master = written("ffv1", 4)
    with pytest.raises(CheckFailed, match=r"Frame 1 .* not at its time"):
        read_back(master.path, master.meant, rate=Fraction(24))
    with pytest.raises(CheckFailed, match=r"Frame 0 .* is 32x24, not 32x26"):
        read_back(master.path, master.meant, raster=(32, 26))


def test_a_still_that_is_missing_or_cut_off_is_named(written):
    master = written("dpx", 4)
    third = master.path / "master.000002.dpx"
    data = third.read_bytes()
    third.write_bytes(data[: len(data) // 2])
    with pytest.raises(CheckFailed, match=r"master\.000002\.dpx|Frame 2 "):
        read_back(master.path, master.meant)
    third.unlink()
    with pytest.raises(CheckFailed, match=r"Frame 2 .* missing: there is no master\.000002\.dpx"):
        read_back(master.path, master.meant)


def test_sound_is_compared_too(begin):
    with begin() as master:
        for number in range(5):
            master.write(np.zeros((3, 24, 32), np.float32))
            master.write_sound(tone(1920 * number, 1920 * (number + 1), 48000, 2))
        master.finish()
    assert read_back(master.path, master.meant).exact
    master.meant.sound = SecondSums(48000)
    master.meant.sound.add(np.zeros((9600, 2), np.int32))
    with pytest.raises(CheckFailed, match=r"sound .* differs in second 0"):
        read_back(master.path, master.meant)
    master.meant.sound.add(np.zeros((1, 2), np.int32))
    with pytest.raises(CheckFailed, match=r"sound .* 9600 samples, where 9601"):
        read_back(master.path, master.meant)


def test_a_master_that_is_not_there_is_said(tmp_path):
    with pytest.raises(BadInput, match="no master"):
        read_back(tmp_path / "none.mkv", Meant())
    with pytest.raises(BadInput, match="no stills"):
        read_back(tmp_path, Meant())
