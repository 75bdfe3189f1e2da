"""For an undecided verdict: the measurement that would decide it."""

from __future__ import annotations

from typing import Final

from coilmeter.compute.budget import PARTS
from coilmeter.compute.resolve import Item
from coilmeter.compute.settings import Settings
from coilmeter.compute.verdict import zones_of_value
from coilmeter.units import Form, format_ohm, ohms
from coilmeter.values import (
    ZONES,
    CoilResult,
    Condition,
    EvidenceKind,
    IsolationResult,
)

HOPE: Final = 0.2
"""A better measurement is taken to bring the dominant part down to this fraction."""

_REMEDY: Final = {
    "gain": "read it with a more accurate meter (bench, four-wire)",
    "floor": "read it on a lower range, or with a meter of finer steps (bench, four-wire)",
    "rounding": "write every digit that the meter shows, and the range",
    "leads": "null the leads (read them with the clips together), or use four wires",
    "scatter": "clean the pins, hold the clips still and read it again, for longer",
    "temperature": "let the head rest, and give its temperature",
}
_CLIPPED: Final = "check that both clips touch bare pins, and bridge the pins for a moment"


def next_for_coil(item: Item, result: CoilResult, confidence: float) -> str:
    """Name the next measurement for a coil that is undecided or unstable."""
    if result.verdict is Condition.UNSTABLE:
        return "move the lead and press each pin while the meter reads: find the joint"
    if result.evidence is EvidenceKind.VALUE:
        return _next_for_value(item, result, confidence)
    if item.row.reading.form is not Form.OVERLOAD:
        return "read plain ohms instead of the beeper"
    open_above = item.band.limits_ohm[-1]
    if item.row.reading.ohm is None and item.row.range_ohm is None:
        return (
            f"say on which range it read OL: past {format_ohm(open_above)} it is open "
            "(write 'OL 40 Mohm', or 'auto' in the range column)"
        )
    return f"read it on a range of at least {format_ohm(open_above)}"


def next_for_path(item: Item, result: IsolationResult, settings: Settings) -> str:
    """Name the next measurement for an isolation path that is undecided."""
    if item.row.reading.form in {Form.BEEP, Form.SILENT}:
        return "read plain ohms on the highest range instead of the beeper"
    good = format_ohm(settings.isolated_above_ohm)
    if result.between == ("doubtful",):
        return f"clean and dry it, and read it again: {good} or more is good"
    if result.evidence is EvidenceKind.ABOVE:
        return f"read it on a range of at least {good}; {_CLIPPED}"
    if "isolated" in result.between:
        return (
            f"clean and dry it, and read it again on the highest range: {good} or more is good"
        )
    return "read it again on a range that just holds it"


def _next_for_value(item: Item, result: CoilResult, confidence: float) -> str:
    """Name the part of the uncertainty to bring down, if that could decide."""
    variances = [part**2 for part in result.parts_ohm]
    worst = max(range(len(variances)), key=variances.__getitem__)
    if PARTS[worst] == "rounding" or (PARTS[worst] == "floor" and _few_digits(item)):
        return _REMEDY["rounding"]
    value, total = result.resistance_20c_ohm or 0.0, sum(variances)
    better = (total - variances[worst] * (1 - HOPE**2)) ** 0.5
    limits = ohms([*item.band.limits_ohm])
    hoped = zones_of_value(ohms(value), ohms(better), limits, confidence)
    if int(hoped.decided) >= 0:
        return _REMEDY[PARTS[worst]]
    limit = min(item.band.limits_ohm, key=lambda end: abs(end - value))
    below = ZONES[item.band.limits_ohm.index(limit)]
    above = ZONES[item.band.limits_ohm.index(limit) + 1]
    return (
        f"it lies on the limit of {format_ohm(limit)} between {below} and {above}: compare it "
        "with a known good head of the same kind"
    )


def _few_digits(item: Item) -> bool:
    """Whether more digits would have told of a finer range."""
    finest = item.meter.range_for(item.ohm, item.row.range_ohm)
    return finest is not None and finest.floor_ohm < item.floor_ohm
