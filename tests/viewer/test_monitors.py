"""How a picture is shown on monitors of the standards, against colour-science, and by an ICC profile."""

import struct

import numpy as np
import pytest
from PIL import Image, ImageCms

from lamphouse.nodes.colorimetry import colour_science
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.monitors import MONITORS
from lamphouse.viewer.models.profiles import profile_monitor
from lamphouse.viewer.models.screens import FILE, Screens
from lamphouse.viewer.picture.monitor import monitor_code

colour = colour_science()
VIDEO = np.random.default_rng(5).uniform(0, 1, (3, 500))
LIGHT = VIDEO.T**2.4  # ITU-R BT.1886 with black at zero
P3 = colour.RGB_to_RGB(LIGHT, "ITU-R BT.709", "P3-D65", chromatic_adaptation_transform=None)


def icc_profile(space="P3-D65", gamma=2.2, name="A monitor", kind=b"mntr", device=b"RGB "):
    """An ICC profile by matrix and power (ICC.1:2001-04); its white is D65 adapted by Bradford (annex E)."""
    known = colour.RGB_COLOURSPACES[space]
    d50 = np.array([0.9642, 1.0, 0.8249])  # ICC.1: the illuminant of the connection space
    white = colour.xy_to_XYZ(known.whitepoint)
    adapted = colour.adaptation.matrix_chromatic_adaptation_VonKries(white, d50, "Bradford")
    columns = (adapted @ known.matrix_RGB_to_XYZ).T
    curve = b"curv" + bytes(4) + struct.pack(">IHxx", 1, round(gamma * 256))
    text = name.encode() + b"\0"
    described = b"desc" + bytes(4) + struct.pack(">I", len(text)) + text + bytes(78)
    tags = {
        b"desc": described,
        b"cprt": b"text" + bytes(4) + b"Ours\0",
        b"wtpt": _xyz(d50),
        **{tag: _xyz(column) for tag, column in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns, strict=True)},
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    table, body, start = struct.pack(">I", len(tags)), b"", 128 + 4 + 12 * len(tags)
    for tag, data in tags.items():
        table += tag + struct.pack(">II", start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    size = start + len(body)
    head = (
        struct.pack(">I4xI4s4s4s", size, 0x02400000, kind, device, b"XYZ ") + bytes(12) + b"acsp" + bytes(28)
    )
    return head + struct.pack(">3i", *(round(x * 65536) for x in d50)) + bytes(48) + table + body


def _xyz(numbers):
    return b"XYZ " + bytes(4) + struct.pack(">3i", *(round(x * 65536) for x in numbers))


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("sRGB", colour.models.eotf_inverse_sRGB(LIGHT)),
        ("BT.1886", colour.models.eotf_inverse_BT1886(LIGHT, L_B=0, L_W=1)),
        ("P3-D65, sRGB curve", colour.models.eotf_inverse_sRGB(P3)),
        ("P3-D65, gamma 2.6", colour.gamma_function(P3, 1 / 2.6)),
    ],
)
def test_a_monitor_of_a_standard_is_given_the_codes_that_colour_science_has(name, meant):
    found = monitor_code(VIDEO, MONITORS[name]).T
    np.testing.assert_allclose(found, meant, atol=1e-4)  # P3's published matrices are rounded


def test_below_black_every_monitor_is_given_black():
    below = np.array([[-0.2], [-0.01], [0.0]])
    for monitor in MONITORS.values():
        np.testing.assert_allclose(monitor_code(below, monitor), 0, atol=1e-12)


@pytest.mark.parametrize(("space", "gamma"), [("P3-D65", 2.2), ("ITU-R BT.2020", 1.8)])
def test_an_icc_profile_gives_the_codes_that_littlecms_gives(tmp_path, space, gamma):
    path = tmp_path / "monitor.icc"
    path.write_bytes(icc_profile(space, gamma, "Desk left"))
    monitor = profile_monitor(path)
    codes = np.random.default_rng(8).integers(0, 256, (1, 400, 3), np.uint8)
    codes[0, :3] = [[0, 0, 0], [255, 255, 255], [128, 128, 128]]
    meant = ImageCms.profileToProfile(
        Image.fromarray(codes), ImageCms.createProfile("sRGB"), str(path), 1, flags=0x2000
    )
    # The same light as video signal: IEC 61966-2-1 decoded, then ITU-R BT.1886 inverted.
    video = colour.models.eotf_sRGB(codes[0].T / 255) ** (1 / 2.4)
    found = monitor_code(video, monitor).T * 255
    assert np.abs(found - np.asarray(meant)[0]).max() <= 1.5  # "within a code or so": both are rounded
    np.testing.assert_allclose(found[1], 255, atol=0.01)
    assert "by the ICC profile Desk left, within" in monitor.stated
    assert float(monitor.stated.split("within ")[1].split()[0]) <= 1.5


def test_an_icc_profile_of_p3_agrees_with_p3_by_the_standards(tmp_path):
    path = tmp_path / "monitor.icc"
    path.write_bytes(icc_profile("P3-D65", 2.6))
    # Below a tenth of the range a code of 8 bits of sRGB is several of gamma 2.6.
    bright = VIDEO * 0.7 + 0.3
    by_profile = monitor_code(bright, profile_monitor(path))
    meant = monitor_code(bright, MONITORS["P3-D65, gamma 2.6"])
    np.testing.assert_allclose(by_profile, meant, atol=2 / 255)


@pytest.mark.parametrize(
    "data", [b"", b"no profile", icc_profile(device=b"CMYK"), icc_profile()[:300], bytes(4000)]
)
def test_what_is_no_profile_of_a_monitor_is_one_sentence(tmp_path, data):
    path = tmp_path / "odd.icc"
    path.write_bytes(data)
    with pytest.raises(BadInput, match=r"odd\.icc .*\.$"):
        profile_monitor(path)
    with pytest.raises(BadInput, match=r"cannot be read"):
        profile_monitor(tmp_path / "none.icc")


def test_what_screens_are_said_to_be_is_kept_from_run_to_run(tmp_path):
    first = Screens()
    assert first.load(tmp_path / "new") == ""
    first.desk.drive("BT.1886")
    first.alone.guides |= {"thirds", "safe"}
    first.on = "HDMI-1"
    assert first.keep() == ""
    second = Screens()
    assert second.load(tmp_path / "new") == ""
    assert (second.desk.monitor.stated, second.alone.guides, second.on) == (
        "BT.1886, for a monitor of gamma 2.4",
        {"thirds", "safe"},
        "HDMI-1",
    )


def test_a_profile_that_is_gone_and_a_file_that_is_broken_stand_in_nobodys_way(tmp_path):
    screens, path = Screens(), tmp_path / "monitor.icc"
    screens.load(tmp_path)
    path.write_bytes(icc_profile())
    screens.alone.drive(str(path))
    screens.keep()
    path.unlink()
    again = Screens()
    assert "The screen is taken for sRGB." in again.load(tmp_path)
    assert again.alone.monitor is MONITORS["sRGB"]
    (tmp_path / FILE).write_text('{"desk": 3}')
    assert str(tmp_path / FILE) in Screens().load(tmp_path)
    assert (tmp_path / FILE).read_text() == '{"desk": 3}'
