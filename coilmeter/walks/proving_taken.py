"""What is taken of one contact of a proof: settled readings, or typed ones."""

from __future__ import annotations

import statistics
from typing import Final

from coilmeter.compute.settle import Settled
from coilmeter.errors import ReadingTextError
from coilmeter.units import Form, parse_reading
from coilmeter.values import Reading
from coilmeter.values.proofs import Taken

SAME_WITHIN: Final = 0.005
SAME_STEPS: Final = 3.0
"""Two contacts read the same within this fraction, or so many last digits."""

BETWEEN: Final = ";"
"""Stands between several typed readings of one contact."""


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
