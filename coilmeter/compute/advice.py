"""For an undecided verdict: the measurement that would decide it."""

from __future__ import annotations

from typing import Final

from coilmeter.compute.budget import PARTS
from coilmeter.compute.flexings import FIND_IT
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
from coilmeter.values.notes import UNMOVED

HOPE: Final = 0.2
"""A better measurement is taken to bring a part of the uncertainty down to this fraction."""

MOST_REMEDIES: Final = 3

_REMEDY: Final = {
    "gain": "read it with a more accurate meter (bench, four-wire)",
    "floor": "read it with a meter of finer steps (bench, four-wire)",
    "rounding": "write every digit that the meter shows, and the range",
    "leads": "null the leads (read them with the clips together), or use four wires",
    "scatter": "clean the pins, hold the clips still and read it again, for longer",
    "temperature": "let the head rest, and give its temperature",
}
_CLIPPED: Final = "check that both clips touch bare pins, and bridge the pins for a moment"


def next_for_coil(item: Item, result: CoilResult, confidence: float) -> str:
    """Name the next measurement for a coil that is undecided or unstable."""
    if result.flex is not None and result.flex.stability.faulty:
        return FIND_IT
    if result.verdict is Condition.UNSTABLE:
        return "move the lead and press each pin while the meter reads: find the joint"
    if result.evidence is EvidenceKind.VALUE:
        return _next_for_value(item, result, confidence)
    if item.row.reading.form is not Form.OVERLOAD:
        return "read plain ohms instead of the beeper"
    return _next_for_overload(item, result)


def _next_for_overload(item: Item, result: CoilResult) -> str:
    if UNMOVED in result.seen:
        return "read it once more: nothing showed that the clips had moved to it"
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
    """Name the parts of the uncertainty to bring down, largest first, if that could decide."""
    left = {name: part**2 for name, part in zip(PARTS, result.parts_ohm, strict=True)}
    value = result.resistance_20c_ohm or 0.0
    limits = item.band.limits_ohm
    remedies: list[str] = []
    for name in sorted(left, key=left.__getitem__, reverse=True)[:MOST_REMEDIES]:
        few = name == "rounding" or (name == "floor" and _few_digits(item))
        lower = _lower_range(item) if name == "floor" and not few else ""
        remedies.append(lower or _REMEDY["rounding" if few else name])
        left[name] *= HOPE**2
        better = sum(left.values()) ** 0.5
        hoped = zones_of_value(ohms(value), ohms(better), ohms([*limits]), confidence)
        if few or int(hoped.decided) >= 0:
            return "; ".join(dict.fromkeys(remedies))
    limit = min(limits, key=lambda end: abs(end - value))
    below, above = ZONES[limits.index(limit)], ZONES[limits.index(limit) + 1]
    return (
        f"it lies on the limit of {format_ohm(limit)} between {below} and {above}: compare it "
        "with a known good head of the same kind"
    )


def _few_digits(item: Item) -> bool:
    """Whether more digits would have told of a finer range."""
    finest = item.meter.range_for(item.ohm, item.row.range_ohm)
    return finest is not None and finest.floor_ohm < item.floor_ohm


def _lower_range(item: Item) -> str:
    """Advice to read on a lower range that would hold the value; empty where there is none."""
    lowest = item.meter.range_for(item.ohm, None)
    if not item.meter.ranges or lowest is None or lowest.number >= item.range_number:
        return ""
    return f"read it on the {format_ohm(lowest.full_scale_ohm)} range"
