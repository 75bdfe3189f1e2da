"""What a person asks for beside the readings, checked before anything is judged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.circumstances import MeterTable, warmth_of_text
from coilmeter.compute.leads import leads_of_text
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.units import format_ohm
from coilmeter.values import Band, HeadKind, Meter, shown_kinds

CONFIDENCE_ABOVE: Final = 0.5
UNSTATED: Final = "unstated"
"""The meter of those who name none."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What a person asked for beside the rows.

    Parameters
    ----------
    bands, meters, kinds
        What the names in the rows stand for.
    meter
        Meter of rows that name none.
    kind, band
        Kind of heads that name none; band that overrides every other, empty for none.
    lead, temperature
        Leads and temperature of rows that state none, as text; empty for unknown.
    confidence
        Probability that decides.
    bridged_below_ohm, leaking_below_ohm, isolated_above_ohm
        Limits of an isolation path.

    """

    bands: Mapping[str, Band]
    meters: Mapping[str, Meter]
    kinds: Mapping[str, HeadKind]
    meter: str = UNSTATED
    kind: str = ""
    band: str = ""
    lead: str = ""
    temperature: str = ""
    confidence: float = 0.95
    bridged_below_ohm: float = 10.0
    leaking_below_ohm: float = 1e6
    isolated_above_ohm: float = 1e7

    def check_lead(self) -> None:
        """Refuse a text about the leads that means nothing, with `ReadingTextError`."""
        leads_of_text(self.lead, MeterTable(self.meters[self.meter]))

    def check_temperature(self) -> None:
        """Refuse a text that is no temperature, with `ReadingTextError`."""
        warmth_of_text(self.temperature)

    def check(self) -> None:
        """Refuse names nobody defined and texts that mean nothing.

        Raises
        ------
        UnknownNameError, InputError
            With what would have been understood.

        """
        self.check_names()
        self.check_lead()
        self.check_temperature()
        self.check_limits()

    def check_names(self) -> None:
        """Refuse a name nobody defined, with `UnknownNameError`."""
        named = (
            ("meter", self.meter, self.meters),
            ("head kind", self.kind, self.kinds),
            ("band", self.band, self.bands),
        )
        for what, name, known in named:
            if name and name not in known:
                names = shown_kinds(known) if known is self.kinds else sorted(known)
                raise UnknownNameError(what, name, names)

    @property
    def confidence_is_sane(self) -> bool:
        """Whether the confidence can decide: above one half and below certainty."""
        return CONFIDENCE_ABOVE < self.confidence < 1

    def check_limits(self) -> None:
        """Refuse a confidence or isolation limits that cannot be, with `InputError`."""
        if not self.confidence_is_sane:
            raise InputError(
                f"a confidence of {self.confidence:g}", hint="give one above 0.5 and below 1."
            )
        if not self.bridged_below_ohm < self.leaking_below_ohm < self.isolated_above_ohm:
            raise InputError(
                f"isolation that leaks below {format_ohm(self.leaking_below_ohm)}",
                hint=f"give one between {format_ohm(self.bridged_below_ohm)} and "
                f"{format_ohm(self.isolated_above_ohm)}.",
            )
