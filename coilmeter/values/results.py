"""What the judge says, as plain values: one object a coil, a path and a head."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilmeter.values.words import Condition, EvidenceKind, Grade, Isolation, Match, Role

if TYPE_CHECKING:
    from coilmeter.values.flexing import FlexEvidence
    from coilmeter.values.impedances import CoilImpedance

ISOLATION_ZONES = ("bridged", "leaking", "doubtful", "isolated")
"""Zones of a path that should not conduct; `doubtful` asks to clean, dry and repeat."""


@dataclass(frozen=True, slots=True)
class CoilResult:
    """Verdict on one coil.

    Parameters
    ----------
    evidence, reading
        What kind of evidence there was and its text; None and empty where it is missing.
    bound_ohm
        The bound in ohm where the evidence is one; None where its range is not known.
    resistance_20c_ohm, u_ohm
        Resistance at 20 degC and its standard uncertainty in ohm, None without a value.
    probability
        Probability of the verdict's zone; None where a bound leaves several.
    zones
        Probability of each of `coilmeter.values.ZONES`, None where a bound leaves several.
    between
        The conditions that remain when the verdict is undecided.
    assumed
        Whether the bound rests on a beeper's threshold that nobody stated.
    deviation, u_deviation
        Deviation from the median of the siblings and its standard uncertainty, fractions.
    next
        The measurement that would decide, empty where nothing is open.
    parts_ohm
        Standard uncertainty by cause, in the order of `coilmeter.compute.budget.PARTS`.
    flex
        What it did while its joint was moved; None where it was not.
    impedance
        What AC volts said of it; None where none were taken.
    seen
        What was seen as it was read, of `coilmeter.values.notes`.

    """

    coil: str
    role: Role
    pins: tuple[str, str] | None
    verdict: Condition
    band: str = ""
    meter: str = ""
    evidence: EvidenceKind | None = None
    reading: str = ""
    bound_ohm: float | None = None
    resistance_20c_ohm: float | None = None
    u_ohm: float | None = None
    probability: float | None = None
    zones: tuple[float | None, ...] = ()
    between: tuple[Condition, ...] = ()
    assumed: bool = False
    match: Match = Match.NO_SIBLING
    deviation: float | None = None
    u_deviation: float | None = None
    siblings: int = 0
    next: str = ""
    parts_ohm: tuple[float, ...] = ()
    flex: FlexEvidence | None = None
    impedance: CoilImpedance | None = None
    seen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class IsolationResult:
    """Verdict on one path that should not conduct; fields as in `CoilResult`."""

    start: str
    end: str
    verdict: Isolation
    pins: tuple[str, str] | None = None
    meter: str = ""
    evidence: EvidenceKind | None = None
    reading: str = ""
    bound_ohm: float | None = None
    resistance_ohm: float | None = None
    u_ohm: float | None = None
    probability: float | None = None
    zones: tuple[float | None, ...] = ()
    between: tuple[str, ...] = ()
    assumed: bool = False
    next: str = ""

    @property
    def faulty(self) -> bool:
        """Whether it conducts for certain, even where how much is undecided."""
        if self.verdict is Isolation.UNDECIDED:
            return (
                not self.assumed
                and bool(self.between)
                and not {"doubtful", "isolated"} & set(self.between)
            )
        return self.verdict in {Isolation.BRIDGED, Isolation.LEAKING}


@dataclass(frozen=True, slots=True)
class HeadResult:
    """Everything that is said of one head."""

    head: str
    kind: str
    coils: tuple[CoilResult, ...]
    isolation: tuple[IsolationResult, ...]
    grade: Grade
    grade_reason: str
    cautions: tuple[str, ...]
