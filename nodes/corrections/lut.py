"""LUT: a look or a film emulation that comes as a file, among the other nodes."""

from typing import Any, Final

from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.luts.load import load_lut
from lamphouse.nodes.luts.lut import AS_FILED, TETRAHEDRAL, TRILINEAR
from lamphouse.nodes.maths import mix
from lamphouse.nodes.parameter import Kind, Parameter
from lamphouse.nodes.signals import convert, density_from_scan, scan_from_density
from lamphouse.nodes.values import Travel

SCAN: Final = "scan"
SIGNALS: Final = ("video", "srgb", "bt709", "light", SCAN)


def lut(picture: Any, p: Any) -> Any:
    """The picture through the table in `file`, in the signal that the table is written for."""
    if not p.file:
        return mix(picture, picture, p.strength)
    made = load_lut(p.file)(to_input(picture, p.input), p.interpolation)
    return mix(picture, _from(made, p.output), p.strength)


def to_input(picture: Any, signal: str) -> Any:
    """Return `picture`, video signal, in the signal that is a table's input."""
    if signal == SCAN:
        return scan_from_density(convert(picture, Signal.VIDEO, Signal.DENSITY))
    return convert(picture, Signal.VIDEO, Signal(signal))


def _from(picture: Any, signal: str) -> Any:
    if signal == SCAN:
        return convert(density_from_scan(picture), Signal.DENSITY, Signal.VIDEO)
    return convert(picture, Signal(signal), Signal.VIDEO)


def _choice(name: str, sentence: str, default: str, choices: tuple[str, ...], source: str) -> Parameter:
    return Parameter(
        name, sentence, default, kind=Kind.CHOICE, choices=choices, travel=Travel.STEP, source=source
    )


SIGNAL_SOURCE: Final = "signals as this tool defines them; scan is a 10-bit printing-density code"

LUT = Node(
    name="lut",
    sentence="Puts the picture through a LUT that comes as a file.",
    signal=Signal.VIDEO,
    reach=Reach.POINT,
    body=lut,
    source="Cube LUT Specification 1.0 (2013), second-hand; CLF specification v3.0 (Academy S-2014-006)",
    parameters=(
        Parameter(
            "file", "A .cube or .clf file.", "", kind=Kind.FILE, travel=Travel.STEP, source="the file itself"
        ),
        Parameter("strength", "How much of its result shows.", 1.0, low=0.0, high=1.0),
        _choice("input", "The signal that it is written for.", "video", SIGNALS, SIGNAL_SOURCE),
        _choice("output", "The signal that it makes.", "video", SIGNALS, SIGNAL_SOURCE),
        _choice(
            "interpolation",
            "How a 3D table is read between its nodes; a .cube does not say and is read by tetrahedra.",
            AS_FILED,
            (AS_FILED, TETRAHEDRAL, TRILINEAR),
            "CLF specification v3.0, appendix A",
        ),
    ),
)
