"""What the tests of the walking half share: streams, keepers and walks."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias

from helpers import settings, shipped

from coilmeter.cli.checking import Job, key_of_row
from coilmeter.errors import InputError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.units import parse_reading
from coilmeter.values import Band, Flag, Function, HeadKind, Reading, ReadingRow
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.events import Begun, Event, NotKept, Planned, Taken
from coilmeter.walks.steps import Step, plan
from coilmeter.walks.walk import Walk

Shown: TypeAlias = Reading | Callable[[float], Reading]
"""A reading, or one that is a function of the seconds it has been played for."""


def ohms_of(value: float, resolution: float | None = 0.1, *flags: Flag) -> Reading:
    """Make a resistance reading."""
    raw = f"{value}".encode()
    return Reading(
        Function.RESISTANCE,
        value,
        "ohm",
        resolution=resolution,
        flags=frozenset(flags),
        raw=raw,
        display=f"{value} ohm",
    )


def overload(full_scale: float | None = 40e6, *flags: Flag) -> Reading:
    """Make an over-range reading."""
    return Reading(
        Function.RESISTANCE,
        None,
        "ohm",
        overload=True,
        full_scale=full_scale,
        flags=frozenset(flags),
        raw=b"OL",
        display="OL",
    )


OL = overload()


VOLTS = Reading(Function.DC_VOLTAGE, 1.5, "volt", resolution=0.001, display="1.500 V")


def bands_of(kind: HeadKind) -> dict[str, Band]:
    """Look up the band of each coil of a kind."""
    return {coil.name: shipped().bands[coil.band] for coil in kind.coils}


def steps_of(kind: HeadKind, *, lead_null: bool = False, isolation: bool = False) -> list[Step]:
    """Plan a kind; only its coils unless told."""
    return plan(kind, bands_of(kind), lead_null=lead_null, isolation=isolation)


def in_order(
    kind: HeadKind,
    answers: Mapping[str, str],
    *,
    lead_null: bool = False,
    done: Collection[str] = (),
) -> list[str]:
    """Give answers, by what they are about, in the order in which a walk asks for them."""
    steps = plan(kind, bands_of(kind), lead_null=lead_null, done=done)
    asked = [answers[step.key] for step in steps if step.key in answers]
    if len(asked) != len(answers):
        raise ValueError(f"{set(answers)} is more than {[step.key for step in steps]}")
    return asked


def template(head: str = "H") -> ReadingRow:
    """Make the row that all rows of a walk begin as."""
    return ReadingRow("walk", 0, head, parse_reading("0"))


@dataclass
class ListKeeper:
    """Keeps rows in memory; `refuse` and `fail` say when it will not."""

    rows: list[ReadingRow] = field(default_factory=list)
    refuse: Callable[[ReadingRow], bool] = lambda _: False
    fail: Exception | None = None

    def keep(self, row: ReadingRow) -> None:
        """Keep a row, in place of an older one of the same place."""
        if self.fail is not None:
            raise self.fail
        if self.refuse(row):
            raise InputError("saw nonsense, expected sense")
        self.rows.append(row)

    def latest(self) -> dict[str, str]:
        """Text of the reading kept last for each place."""
        return {key_of_row(row): row.reading.text for row in self.rows}


class Tape:
    """Feeds a walk with readings at exact times, and remembers what it said.

    Parameters
    ----------
    walk
        The walk.
    rate_hz
        Readings a second, where nothing else is told.

    """

    def __init__(self, walk: Walk, rate_hz: float = 10.0) -> None:
        self.walk = walk
        self.rate_hz = rate_hz
        self.at = 1000.0
        self.events: list[Event] = list(walk.start())

    def play(self, seconds: float, reading: Shown) -> list[Event]:
        """Feed the same reading, or one that is a function of the time played, for a while."""
        said: list[Event] = []
        begin = self.at
        for number in range(max(round(seconds * self.rate_hz), 1)):
            self.at = begin + (number + 1) / self.rate_hz
            shown = reading if isinstance(reading, Reading) else reading(self.at - begin)
            said += self.walk.feed(self.at, shown)
        self.events += said
        return said

    def wait(self, seconds: float) -> None:
        """Let time pass without a reading."""
        self.at += seconds

    @property
    def taken(self) -> list[tuple[str, str]]:
        """Key and text of everything taken so far."""
        return [
            (event.step.key, event.row.reading.text)
            for event in self.events
            if isinstance(event, Taken)
        ]


def names(events: Sequence[Event]) -> list[str]:
    """Names of events, without the beginnings of the walk and of its steps."""
    told = [event for event in events if not isinstance(event, (Begun, Planned))]
    return [type(event).__name__ for event in told]


def walk_over(
    steps: Sequence[Step],
    keeper: ListKeeper | None = None,
    *,
    rule: ContactRule | None = None,
    done: Sequence[str] = (),
) -> Walk:
    """Make a walk over steps, with the range that each frame tells."""
    return Walk(
        steps,
        template(),
        keeper or ListKeeper(),
        range_of=lambda reading: reading.full_scale,
        rule=rule,
        done=done,
    )


def job_in(folder: Path, kind: str = "two-channel-rp-no-case", **changes: str) -> Job:
    """Make a job over a shipped kind that keeps its rows in a folder."""
    found = shipped().kind(kind)
    changes = {"meter": "handheld-4000", "kind": kind} | changes
    return Job("H", found, settings(**changes), SheetKeeper(folder / "H.csv"))


def refused(events: Sequence[Event]) -> list[str]:
    """Why readings were put aside."""
    return [event.why for event in events if isinstance(event, NotKept)]


def bad_resistances() -> list[Reading]:
    """Make readings with no number and no overload, which no format should give."""
    return [replace(ohms_of(1.0), value=value) for value in (None, math.nan, math.inf)]
