"""Which flexing of a coil counts, where it was flexed more than once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Protocol

from coilmeter.compute.places import Misplaced, Place, locate
from coilmeter.values import (
    CoilResult,
    CoilSpec,
    Condition,
    FlexEvidence,
    HeadKind,
    Purpose,
    ReadingRow,
)

FIND_IT: Final = (
    "first hold the clips themselves still, so that it is not they; then move one part at a "
    "time, the wire at the head's pin, then its other end at the plug: where it shows is the "
    "joint to clean or resolder; then flex it again"
)
"""What to do about a loose joint."""


@dataclass(frozen=True, slots=True)
class Flexing:
    """What flexing showed of one coil.

    Parameters
    ----------
    place
        The coil.
    evidence
        The latest that decides; where none does, the latest.
    doubt
        A later one that decided nothing, which is said and takes nothing back.
    row
        The row of the latest.

    """

    place: Place
    evidence: FlexEvidence
    doubt: FlexEvidence | None
    row: ReadingRow


class Notes(Protocol):
    """Takes mistakes of rows."""

    def mistake(self, row: ReadingRow, place: str, seen: str, expected: str) -> None:
        """Note a mistake of a row."""
        ...


def flexings_of(
    rows: Sequence[ReadingRow], kind: HeadKind | None, notes: Notes
) -> dict[str, Flexing]:
    """Choose, by the name of the coil, what counts of the rows about flexing of one head."""
    by_name: dict[str, list[tuple[Place, ReadingRow, FlexEvidence]]] = {}
    for row in rows:
        place = locate(replace(row, purpose=Purpose.COIL), kind)
        if row.flex is None:
            continue
        if isinstance(place, Misplaced):
            notes.mistake(row, place.column, place.seen, place.expected)
            continue
        by_name.setdefault(place.name, []).append((place, row, row.flex))
    return {name: _chosen(taken) for name, taken in by_name.items()}


def undecided_words(name: str, flexing: Flexing) -> str:
    """Say of a coil whose latest flexing decided nothing what is known all the same."""
    before = flexing.evidence.stability
    if not before.decides:
        return f"Coil {name} was flexed, and that decided nothing: flex it again."
    if before.faulty:
        return (
            f"Coil {name} was {before} when it was flexed before, and that stands: the latest "
            "flexing decided nothing and clears nothing."
        )
    return (
        f"Coil {name} was {before} when it was flexed before; the latest flexing decided "
        "nothing: flex it again."
    )


def every_coil(
    read: Mapping[str, CoilResult], flexings: Mapping[str, Flexing], specs: Sequence[CoilSpec]
) -> list[CoilResult]:
    """List the coils of a head: those of its kind, then others that were read or flexed."""
    known = {spec.name: spec for spec in specs}
    missing = {
        spec.name: CoilResult(spec.name, spec.role, spec.pins, Condition.MISSING, spec.band)
        for spec in specs
        if spec.name not in read
    }
    for name, flexing in flexings.items():
        if name not in read:
            band = known[name].band if name in known else ""
            missing[name] = _unread(flexing, band)
    every = {**missing, **read}
    return [every.pop(name) for name in (*known, *read, *flexings) if name in every]


def _unread(flexing: Flexing, band: str) -> CoilResult:
    """Give the result of a coil that was flexed and not read."""
    faulty = flexing.evidence.stability.faulty
    return CoilResult(
        flexing.place.name,
        flexing.row.role or flexing.place.role,
        flexing.place.pins,
        Condition.UNSTABLE if faulty else Condition.MISSING,
        band,
        flex=flexing.evidence,
        next=FIND_IT if faulty else "",
    )


def _chosen(taken: list[tuple[Place, ReadingRow, FlexEvidence]]) -> Flexing:
    times = [_time(row) for _, row, _ in taken]
    if None not in times:
        order = sorted(range(len(taken)), key=lambda index: times[index] or 0.0)
        taken = [taken[index] for index in order]
    place, row, latest = taken[-1]
    deciding = [evidence for _, _, evidence in taken if evidence.stability.decides]
    evidence = deciding[-1] if deciding else latest
    return Flexing(place, evidence, None if latest.stability.decides else latest, row)


def _time(row: ReadingRow) -> float | None:
    """Time of a row in seconds, None where it does not say the zone of it."""
    time = datetime.fromisoformat(row.time) if row.time else None
    return None if time is None or time.tzinfo is None else time.timestamp()
