"""A meter whose accuracy nobody has confirmed: the wider of what it states and a default.

The name says it, so that readings kept under that name mean the same when they are judged
again: ``handheld-4000 (not proved)``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

from coilmeter.values.specs import Meter, MeterRange

SUFFIX: Final = " (not proved)"
DEFAULT_FRACTION: Final = 0.01
DEFAULT_COUNTS: Final = 5.0
"""The conservative default, 1 % of the reading and 5 counts: the tool's own."""


def unproved(meter: Meter) -> Meter:
    """Widen what a meter states to the conservative default; its ranges stay."""
    if meter.name.endswith(SUFFIX):
        return meter
    return replace(
        meter,
        name=f"{meter.name}{SUFFIX}",
        description=f"{meter.description}, accuracy not proved".lstrip(", "),
        basis=f"1 % + 5 counts at least, because it was not proved; stated: {meter.basis}",
        ranges=tuple(_widened(each) for each in meter.ranges),
        fraction=max(meter.fraction, DEFAULT_FRACTION),
        counts=max(meter.counts, DEFAULT_COUNTS),
    )


def _widened(entry: MeterRange) -> MeterRange:
    return replace(
        entry,
        fraction=max(entry.fraction, DEFAULT_FRACTION),
        floor=max(entry.floor, DEFAULT_COUNTS * entry.resolution),
    )


class KnownMeters(dict[str, Meter]):
    """Meters by name; each is also known under its name with ``(not proved)`` behind.

    Only the meters themselves are listed when it is walked through.
    """

    def __contains__(self, name: object) -> bool:
        return dict.__contains__(self, name) or (
            isinstance(name, str) and dict.__contains__(self, name.removesuffix(SUFFIX))
        )

    def __missing__(self, name: str) -> Meter:
        stated = name.removesuffix(SUFFIX)
        # Asked for a name it has not, a dictionary of this kind would ask here again.
        if stated == name or not dict.__contains__(self, stated):
            raise KeyError(name)
        return unproved(dict.__getitem__(self, stated))

    def get(self, name: str, default: Any = None) -> Any:
        """Meter of that name, or the default."""
        try:
            return self[name]
        except KeyError:
            return default

    def __iter__(self) -> Iterator[str]:
        return dict.__iter__(self)
