"""What the codes of a picture mean: its primaries and its transfer, to the chain's working picture and back.

Whatever comes in (a scan) or goes out (a master, a still) says both by name, and is converted here and
nowhere else. The chain works on the primaries of BT.709.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from lamphouse.nodes.declare import Signal
from lamphouse.nodes.high_range import light_from_hlg, light_from_pq
from lamphouse.nodes.maths import matrix, offset, power, scale
from lamphouse.nodes.primaries import rows_between
from lamphouse.nodes.signals import convert, density_from_scan, scan_from_density

WORKING_PRIMARIES: Final = "bt709"

# SMPTE ST 2065-3, equation 1: steps a density and the code of the base.
ADX16_PER_DENSITY: Final = 8000
ADX16_BASE_CODE: Final = 1520
SIXTEEN_BIT_TOP: Final = 65535


@dataclass(frozen=True, slots=True)
class Transfer:
    """How codes from 0 to 1 become a signal, and back where that is written.

    `primaries` are those that go with it where none are said; None where it has none, as density has not.
    `is_bound` says that it is defined on those alone.
    """

    sentence: str
    signal: Signal
    to_signal: Callable[[Any], Any]
    from_signal: Callable[[Any], Any] | None
    primaries: str | None = WORKING_PRIMARIES
    is_bound: bool = False


@dataclass(frozen=True, slots=True)
class ColourEncoding:
    """The transfer of a picture's codes, of `TRANSFERS`, and its primaries, of `PRIMARIES`."""

    transfer: str = "video"
    primaries: str = WORKING_PRIMARIES

    @property
    def words(self) -> str:
        """It for a person, such as `pq on bt2020`; those of BT.709 need not be said."""
        on = "" if self.primaries == WORKING_PRIMARIES else f" on {self.primaries}"
        return f"{self.transfer}{on}"

    def decoded(self, codes: Any) -> tuple[Any, Signal]:
        """Return what `codes` from 0 to 1 stand for, on the working primaries, and the signal it is in."""
        transfer, rows = TRANSFERS[self.transfer], rows_between(self.primaries, WORKING_PRIMARIES)
        picture = transfer.to_signal(codes)
        if rows is None or transfer.primaries is None:
            return picture, transfer.signal
        return matrix(convert(picture, transfer.signal, Signal.LIGHT), rows), Signal.LIGHT

    def encoded(self, picture: Any, signal: Signal = Signal.VIDEO) -> Any:
        """Return the codes from 0 to 1 of a working `picture` of `signal`: undoes `decoded`.

        Raises ValueError for a transfer that is only read.
        """
        transfer, rows = TRANSFERS[self.transfer], rows_between(WORKING_PRIMARIES, self.primaries)
        if transfer.from_signal is None:
            raise ValueError(f"{self.transfer} is not written")
        if rows is not None and transfer.primaries is not None:
            picture, signal = matrix(convert(picture, signal, Signal.LIGHT), rows), Signal.LIGHT
        return transfer.from_signal(convert(picture, signal, transfer.signal))


WORKING: Final = ColourEncoding()


def _same(codes: Any) -> Any:
    return codes


def density_from_adx16(codes: Any) -> Any:
    """Academy printing density of SMPTE ST 2065-3 codes as code / 65535. Code 7120 is 0.70."""
    return scale(offset(scale(codes, float(SIXTEEN_BIT_TOP)), -float(ADX16_BASE_CODE)), 1 / ADX16_PER_DENSITY)


def adx16_from_density(rgb: Any) -> Any:
    """The inverse: SMPTE ST 2065-3 codes as code / 65535. Density 0.70 is code 7120."""
    return scale(offset(scale(rgb, float(ADX16_PER_DENSITY)), float(ADX16_BASE_CODE)), 1 / SIXTEEN_BIT_TOP)


def _gamma(exponent: float, source: str) -> Transfer:
    """Return the transfer of a display whose light is a power of its codes."""
    return Transfer(
        f"light = code ** {exponent:g}, {source}",
        Signal.LIGHT,
        lambda codes: power(codes, exponent),
        lambda light: power(light, 1 / exponent),
    )


TRANSFERS: Final[Mapping[str, Transfer]] = MappingProxyType(
    {
        "video": Transfer("ITU-R BT.1886 with black at zero", Signal.VIDEO, _same, _same),
        "srgb": Transfer("IEC 61966-2-1", Signal.SRGB, _same, _same),
        "light": Transfer("display-linear light, or transmittance", Signal.LIGHT, _same, _same),
        "gamma-2.2": _gamma(2.2, "ITU-R BT.470 System M"),
        "gamma-2.6": _gamma(2.6, "projection (SMPTE RP 431-2, white at code 1)"),
        "gamma-2.8": _gamma(2.8, "ITU-R BT.470 Systems B and G"),
        "density": Transfer(
            "printing density, 0.002 a code of 10 bits above code 95",
            Signal.DENSITY,
            density_from_scan,
            scan_from_density,
            primaries=None,
        ),
        "adx10": Transfer(
            "SMPTE ST 2065-3, 10 bits: 500 codes a density above code 95",
            Signal.DENSITY,
            density_from_scan,
            scan_from_density,
            primaries=None,
        ),
        "adx16": Transfer(
            "SMPTE ST 2065-3, 16 bits: 8000 codes a density above code 1520",
            Signal.DENSITY,
            density_from_adx16,
            adx16_from_density,
            primaries=None,
        ),
        "pq": Transfer(
            "PQ of ITU-R BT.2100, reference white 203 cd/m2",
            Signal.LIGHT,
            light_from_pq,
            None,
            primaries="bt2020",
        ),
        "hlg": Transfer(
            "HLG of ITU-R BT.2100 on a display of 1000 cd/m2, reference white 203 cd/m2",
            Signal.LIGHT,
            light_from_hlg,
            None,
            primaries="bt2020",
            is_bound=True,
        ),
    }
)
