"""The same head measured twice, and whether it has changed.

The change of a coil is compared with its uncertainty as the number ``E_n``::

    E_n = |x2 - x1| / U,   U = 2 u(x2 - x1);   up to 1 the readings are consistent

What both sittings share is left out of ``u``: the stated error of the same meter on the same
range acts on both alike, and only what is left of it by the change itself remains.  Leads and
temperature are of each sitting by itself.

Sources: ISO 13528:2022 9.7 for E_n; JCGM 100:2008 (GUM) 5.2.2 for what is shared.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from coilmeter.compute.budget import PARTS
from coilmeter.compute.heads import gather
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.resolve import Resolver
from coilmeter.compute.settings import Settings
from coilmeter.values import Condition, ReadingRow
from coilmeter.values.unproved import SUFFIX

COVERAGE: Final = 2.0
_DECIDED: Final = frozenset(
    {Condition.SHORTED, Condition.LOW, Condition.INTACT, Condition.HIGH, Condition.OPEN}
)


class Constancy(StrEnum):
    """Whether a coil is what it was."""

    CONSISTENT = "consistent"
    CHANGED = "changed"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Measured:
    """A coil as one sitting found it.

    Parameters
    ----------
    coil, verdict, reading
        Its name, its condition by that sitting alone, and the reading as it was written.
    ohm, u_ohm
        Resistance at 20 degC and its standard uncertainty in ohm; None without a value.
    parts_ohm
        Standard uncertainty by cause, in the order of `coilmeter.compute.budget.PARTS`.
    meter, range_number
        The meter, and which of its ranges: what the stated error is shared by.

    """

    coil: str
    verdict: Condition
    reading: str = ""
    ohm: float | None = None
    u_ohm: float | None = None
    parts_ohm: tuple[float, ...] = ()
    meter: str = ""
    range_number: int = 0


@dataclass(frozen=True, slots=True)
class Change:
    """A coil then and now.

    Parameters
    ----------
    change
        By which fraction it is off what it was; None without two values.
    u_change
        Standard uncertainty of that, a fraction.
    e_n
        The change over its expanded uncertainty; None without two values.
    word
        What follows.

    """

    before: Measured
    after: Measured
    change: float | None
    u_change: float | None
    e_n: float | None
    word: Constancy


def measured(rows: Sequence[ReadingRow], settings: Settings) -> dict[str, Measured]:
    """Coils as one sitting found them, by name.

    Parameters
    ----------
    rows
        Readings of one head in one sitting.
    settings
        What they are judged by.

    Raises
    ------
    MistakesError
        When the readings do not fit the head's kind.

    """
    results = [coil for head in judge_rows(rows, settings) for coil in head.coils]
    items = {
        item.name: item for head in gather(rows, Resolver(settings)) for item in head.coils
    }
    found = {}
    for result in results:
        each = Measured(result.coil, result.verdict, result.reading)
        if result.coil in items and result.resistance_20c_ohm is not None:
            item = items[result.coil]
            each = replace(
                each,
                ohm=result.resistance_20c_ohm,
                u_ohm=result.u_ohm,
                parts_ohm=result.parts_ohm,
                meter=item.meter.meter.name,
                range_number=item.range_number,
            )
        found[result.coil] = each
    return found


def change_of(before: Measured, after: Measured, *, same_meter: bool = True) -> Change:
    """Compare a coil with what it was.

    Parameters
    ----------
    before, after
        The coil in two sittings.
    same_meter
        Whether meters of one name are one and the same; else their stated error counts twice.

    """
    if before.ohm is None or after.ohm is None or before.ohm <= 0:
        return Change(before, after, None, None, None, _by_verdict(before, after))
    squares = 0.0
    parts = zip(PARTS, before.parts_ohm, after.parts_ohm, strict=True)
    for name, first, second in parts:
        if name == "gain" and same_meter and _shared(before, after):
            # A gain that is off by the same part both times leaves the change off by that part.
            gain = max(first / before.ohm, second / abs(after.ohm or before.ohm))
            squares += (gain * (after.ohm - before.ohm)) ** 2
        else:
            squares += first**2 + second**2
    u = math.sqrt(squares)
    number = e_n(after.ohm, before.ohm, COVERAGE * u, 0.0)
    word = Constancy.CONSISTENT if abs(number) <= 1 else Constancy.CHANGED
    if Condition.UNSTABLE in {before.verdict, after.verdict}:
        # The mean of readings that jump about is no measure of anything.
        word = Constancy.UNDECIDED
    change = after.ohm / before.ohm - 1
    return Change(before, after, change, u / before.ohm, abs(number), word)


def e_n(
    value: float, reference: float, expanded_u: float, expanded_u_reference: float
) -> float:
    """Compute E_n of a value against a reference, with expanded uncertainties (k = 2).

    Source: ISO 13528:2022 9.7.
    """
    return (value - reference) / math.hypot(expanded_u, expanded_u_reference)


def _shared(before: Measured, after: Measured) -> bool:
    """Whether both are of the same meter, proved or not, and of the same range of it."""
    meters = {each.meter.removesuffix(SUFFIX) for each in (before, after)}
    return len(meters) == 1 and before.range_number == after.range_number


def _by_verdict(before: Measured, after: Measured) -> Constancy:
    """Compare conditions where a reading was only a bound."""
    if not {before.verdict, after.verdict} <= _DECIDED:
        return Constancy.UNDECIDED
    same = before.verdict is after.verdict
    return Constancy.CONSISTENT if same else Constancy.CHANGED
