"""What is expected: bands, meters and head kinds, as the reference files describe them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from coilmeter.units import Quantity, ohms, ureg
from coilmeter.values.words import Role


@dataclass(frozen=True, slots=True)
class Band:
    """What is expected of a coil, as limits at 20 degC: shorted | low | intact | high | open.

    Parameters
    ----------
    shorted_below, low, high, open_above
        Resistances with shorted_below < low < high < open_above.
    basis
        Where the limits come from, with its label.

    """

    name: str
    shorted_below: Quantity
    low: Quantity
    high: Quantity
    open_above: Quantity
    description: str = ""
    basis: str = ""

    @property
    def limits_ohm(self) -> tuple[float, float, float, float]:
        """The four limits in ohm, low to high."""
        ends = (self.shorted_below, self.low, self.high, self.open_above)
        shorted_below, low, high, open_above = (float(end.m_as("ohm")) for end in ends)
        return shorted_below, low, high, open_above


@dataclass(frozen=True, slots=True)
class MeterRange:
    """One range of a meter, of resistance or of AC volts, and its stated accuracy.

    Parameters
    ----------
    full_scale, resolution
        End of the range and its last digit.
    fraction
        Stated limit of error as a fraction of the reading.
    floor
        The part of the stated limit that does not grow with the reading (counts, part of
        range, or a printed figure), in the unit of `full_scale`.

    """

    full_scale: Quantity
    resolution: Quantity
    fraction: float
    floor: Quantity


@dataclass(frozen=True, slots=True)
class ACVolts:
    """A meter on AC volts, as its data sheet states it; made without arguments, a default.

    Parameters
    ----------
    ranges
        Low to high, as voltages; empty where none are stated: then `fraction` and `counts`
        hold, of the last digit of each reading.
    lowest, highest
        The band of frequencies for which the limits are stated.
    input_resistance, input_capacitance, capacitance_spread
        What the input puts in parallel to what is measured, leads included; the last is the
        half-width within which the capacitance is known.
    basis
        Where the figures come from, with their label.

    """

    ranges: tuple[MeterRange, ...] = ()
    fraction: float = 0.02
    counts: float = 10.0
    lowest: Quantity = ureg.Quantity(45.0, "hertz")  # noqa: RUF009 - never changed
    highest: Quantity = ureg.Quantity(500.0, "hertz")  # noqa: RUF009 - as above
    input_resistance: Quantity = ohms(10e6)  # noqa: RUF009 - as above
    input_capacitance: Quantity = ureg.Quantity(100e-12, "farad")  # noqa: RUF009 - as above
    capacitance_spread: Quantity = ureg.Quantity(60e-12, "farad")  # noqa: RUF009 - as above
    basis: str = "the tool's own conservative default"


@dataclass(frozen=True, slots=True)
class Meter:
    """A meter as its data sheet states it.

    Parameters
    ----------
    ranges
        Low to high; empty for a meter that states none, whose resolution is then taken
        from the last digit of each reading.
    fraction, counts
        Stated limits used where `ranges` is empty.
    beeper, beeper_spread
        Threshold of the continuity beeper and its half-width.
    beeper_known
        Whether that threshold is stated; what follows from an assumed one makes nothing
        faulty.
    unnulled_leads
        Limit of the lead resistance that stays in a two-wire reading when no null is known.
    four_wire
        Whether it senses with separate leads, so that none of theirs is in the reading.
    ac
        The same meter on AC volts.

    """

    name: str
    description: str
    basis: str
    ranges: tuple[MeterRange, ...]
    fraction: float
    counts: float
    beeper: Quantity
    beeper_spread: Quantity
    unnulled_leads: Quantity
    four_wire: bool = False
    ac: ACVolts = ACVolts()
    beeper_known: bool = True


@dataclass(frozen=True, slots=True)
class CoilSpec:
    """One coil of a head kind: its name, role, the two pins and the band expected of it."""

    name: str
    role: Role
    pins: tuple[str, str]
    band: str


CASE = "case"
"""The name of the case wherever pins are named."""


@dataclass(frozen=True, slots=True)
class HeadKind:
    """A kind of head: its coils and pins.

    Parameters
    ----------
    case
        Whether there is a metal case (or mounting plate) to measure against.
    noticeable_above, mismatched_above
        Limits of the deviation from the median of the siblings, as fractions.

    """

    name: str
    description: str
    coils: tuple[CoilSpec, ...]
    case: bool = True
    noticeable_above: float = 0.05
    mismatched_above: float = 0.15
    basis: str = ""

    def share_a_pin(self, first: str, second: str) -> bool:
        """Whether two coils, given by name, have a pin in common."""
        pins = {coil.name: set(coil.pins) for coil in self.coils}
        return bool(pins.get(first, set()) & pins.get(second, set()))


MOST_COILS = 16
_NUMBERED = "coils-"


def numbered_kind(coils: int) -> HeadKind:
    """Head of which only the number of coils is known: pins 1-2, 3-4 and so on, and a case."""
    return HeadKind(
        name=f"{_NUMBERED}{coils}",
        description=f"{coils} coils of unknown role",
        coils=tuple(
            CoilSpec(str(n), Role.UNKNOWN, (str(2 * n - 1), str(2 * n)), "any")
            for n in range(1, coils + 1)
        ),
        basis="pin numbers are the tool's own: find the pairs on your head",
    )


def shown_kinds(names: Iterable[str]) -> list[str]:
    """Names of head kinds for a message, the numbered ones drawn together."""
    named = sorted(name for name in names if not name.startswith(_NUMBERED))
    return [*named, f"{_NUMBERED}1 to {_NUMBERED}{MOST_COILS}"]
