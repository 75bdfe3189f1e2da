"""What is taken of one contact of a proof: settled readings, or typed ones."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Container, Mapping
from typing import Final, TypeAlias

from coilmeter.compute.settle import Settled
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, format_ohm, parse_reading
from coilmeter.values import Reading
from coilmeter.values.proofs import Taken
from coilmeter.walks.proving_told import Part, ProofAgain, ProofStep, ProofTaken

Against: TypeAlias = Callable[[ProofStep, Taken, Mapping[ProofStep, ProofTaken]], str]
"""Says what a reading, after those taken before, has against the meter; empty for nothing."""

SHORTED_BELOW_OHM: Final = 5.0
RESISTOR_WITHIN: Final = 0.2
"""A reading further from the nominal value than this is asked about: another resistor?"""

SAME_WITHIN: Final = 0.005
SAME_STEPS: Final = 3.0
"""Two contacts read the same within this fraction, or so many last digits."""

BETWEEN: Final = ";"
"""Stands between several typed readings of one contact."""

OL_AUTO: Final = frozenset({"ol auto", "0l auto"})
"""OL of a meter that chooses its range by itself."""


def doubt_of(step: ProofStep, ohm: float) -> str:
    """Say why a value cannot be what the step asks for; empty where it can."""
    if step.part is Part.OPEN:
        return f"open leads read {format_ohm(ohm)}: hold the clips apart, hands off"
    if step.resistor is None:
        if abs(ohm) <= SHORTED_BELOW_OHM:
            return ""
        return f"{format_ohm(ohm)}: are the clips together?"
    if math.isclose(ohm, step.resistor.ohm, rel_tol=RESISTOR_WITHIN):
        return ""
    return f"{format_ohm(ohm)} is far from {step.resistor.text}: another resistor?"


def same_reading(one: Taken, other: Taken) -> bool:
    """Whether two contacts read the same."""
    step = max(one.step_ohm, other.step_ohm)
    allowed = max(SAME_WITHIN * abs(one.mean_ohm), SAME_STEPS * step)
    return abs(one.mean_ohm - other.mean_ohm) <= allowed


def settled_reading(settled: Settled[Reading], digit_ohm: float) -> Taken:
    """Give a settled run as what was taken, with its bytes.

    `digit_ohm` is the last digit where the bytes do not tell it.
    """
    steps = [reading.resolution for reading in settled.items if reading.resolution]
    return Taken(
        settled.mean_ohm,
        settled.scatter_ohm,
        settled.count,
        max(steps, default=digit_ohm),
        " ".join(reading.raw.hex() for reading in settled.items),
    )


def typed_reading(text: str, *, milli: bool) -> Taken:
    """Read what a person typed: one reading, or several with a semicolon between them.

    Raises
    ------
    ReadingTextError
        When it is no number of ohms.

    """
    readings = [parse_reading(part, milli=milli) for part in text.split(BETWEEN)]
    values = [
        each.ohm for each in readings if each.form is Form.NUMBER and each.ohm is not None
    ]
    if len(values) != len(readings):
        raise ReadingTextError(text, "what the meter shows in ohms, such as '0.2 ohm'")
    return Taken(
        statistics.fmean(values),
        statistics.stdev(values) if len(values) > 1 else 0.0,
        len(values),
        max(each.step_ohm or 0.0 for each in readings),
    )


def typed_overload(text: str) -> float | None:
    """Read a typed OL: the end of its range in ohm, None where it is not told.

    Infinity stands for a range that the meter chose by itself.

    Raises
    ------
    ReadingTextError
        When it is no OL.

    """
    if text.strip().lower() in OL_AUTO:
        return math.inf
    reading = parse_reading(text)
    if reading.form is not Form.OVERLOAD:
        raise ReadingTextError(text, "OL, which open leads read: 'OL 40 Mohm'")
    return reading.ohm


def weighed_late(
    results: Mapping[ProofStep, ProofTaken],
    confirmed: Container[ProofStep],
    against: Against,
) -> ProofAgain | None:
    """Find a reading that speaks against the meter by leads that were read after it.

    One that a second contact has confirmed is none; None where there is none.
    """
    for step, each in results.items():
        why = "" if each.taken is None else against(step, each.taken, results)
        if why and each.taken is not None and step not in confirmed:
            return ProofAgain(step, why, each.taken)
    return None
