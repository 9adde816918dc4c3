"""Matroska masters pass MediaConch, an independent checker of Matroska (RFC 9559) and FFV1 (RFC 9043)."""

import pytest

from lamphouse.graph.media.master.lineup import tone
from lamphouse.graph.reel.records import Delivery, Sound

DELIVERIES = {
    "10 bits, 4:2:2, PCM": Delivery(
        container="matroska", codec="ffv1", pixel_format="yuv422p10le", sound=Sound()
    ),
    "8 bits, 4:2:0, FLAC": Delivery(
        container="matroska", codec="ffv1", pixel_format="yuv420p", sound=Sound(codec="flac")
    ),
    "16 bits, R'G'B', no sound": Delivery(
        container="matroska", codec="ffv1", pixel_format="gbrp16le", matrix="rgb", range="full"
    ),
}


@pytest.mark.parametrize("kind", DELIVERIES)
@pytest.mark.parametrize("aspect", ["1", "12/11"])
def test_a_master_passes(begin, pictures, mediaconch, kind: str, aspect: str) -> None:
    delivery = DELIVERIES[kind]
    with begin(delivery, aspect=aspect) as master:
        for number, picture in enumerate(pictures(6)):
            master.write(picture)
            if delivery.sound:
                master.write_sound(tone(1920 * number, 1920 * (number + 1), 48000, 2))
        master.finish()
    assert mediaconch(master.path).startswith("pass!")


def test_a_master_of_which_a_byte_is_changed_does_not_pass(written, mediaconch) -> None:
    master = written("ffv1", 6)
    data = bytearray(master.path.read_bytes())
    data[len(data) // 2] ^= 1
    master.path.write_bytes(data)
    assert not mediaconch(master.path).startswith("pass!")
