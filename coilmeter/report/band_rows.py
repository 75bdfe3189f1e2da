"""Bands as lists, and coils drawn against the limits of one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.report.listing import Listing
from coilmeter.units import format_ohm, format_with_uncertainty
from coilmeter.values import Band

STRIP: Final = 41
_MARGIN: Final = 0.15
_COVERAGE_FACTOR: Final = 2.0


@dataclass(frozen=True, slots=True)
class BandCoil:
    """A coil to be drawn: its name, resistance at 20 degC and u in ohm, and a remark."""

    name: str
    ohm: float
    u_ohm: float
    remark: str = ""


def bands_listing(bands: Iterable[Band]) -> Listing:
    """List bands with their four limits and where these come from."""
    every = sorted(bands, key=lambda band: band.name)
    return Listing(
        name="bands",
        headings=("band", "shorted below", "low", "high", "open above", "what"),
        shown=[
            (band.name, *map(format_ohm, band.limits_ohm), band.description) for band in every
        ],
        keys=(
            "band",
            "shorted_below_ohm",
            "low_ohm",
            "high_ohm",
            "open_above_ohm",
            "description",
            "basis",
        ),
        fields=[(band.name, *band.limits_ohm, band.description, band.basis) for band in every],
    )


def coils_listing(band: Band, coils: Sequence[BandCoil], notes: Sequence[str] = ()) -> Listing:
    """List coils, each drawn against the limits of a band."""
    _, low, high, _ = band.limits_ohm
    scale = f"{format_ohm(low)} to {format_ohm(high)}"
    return Listing(
        name="coils",
        headings=("coil", "at 20 degC", scale, "remark"),
        shown=[
            (
                coil.name,
                f"{format_with_uncertainty(coil.ohm, _COVERAGE_FACTOR * coil.u_ohm)}",
                strip(coil.ohm, low, high),
                coil.remark,
            )
            for coil in coils
        ],
        keys=("coil", "resistance_20c_ohm", "u_ohm", "remark"),
        fields=[(coil.name, coil.ohm, coil.u_ohm, coil.remark or None) for coil in coils],
        notes=notes,
        facts=(
            (
                "band",
                dict(
                    zip(
                        ("name", "low_ohm", "high_ohm", "basis"),
                        (band.name, low, high, band.basis),
                        strict=True,
                    )
                ),
            ),
        ),
        nothing=f"{band.name}: {scale}; no coil to draw",
    )


def strip(ohm: float, low: float, high: float, width: int = STRIP) -> str:
    """Draw a value between two limits: ``|`` the limits, ``o`` the value, an arrow beyond."""
    reach = high - low
    left, right = low - _MARGIN * reach, high + _MARGIN * reach

    def place(value: float) -> int:
        return round((value - left) / (right - left) * (width - 1))

    cells = ["."] * width
    cells[place(low)] = cells[place(high)] = "|"
    where = place(ohm)
    if where < 0:
        cells[0] = "<"
    elif where >= width:
        cells[-1] = ">"
    else:
        cells[where] = "o"
    return "".join(cells)
