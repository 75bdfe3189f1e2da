"""The hands-free walk over the pins of an unmarked head: each reading decides the next pair.

An OL proves nothing by itself here either: clips in the air read OL too, and a missed contact
taken for "not connected" would make a wrong map.  So every OL is proved as in a check, by a
metal tip across the two points while it is asked for, or by a key.  A pin that finds no
partner is read once more against every other group before the map is called certain: clips
that sat on a wrong pin show by that.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import Final

from coilmeter.compute.pinplan import Ask, Reason
from coilmeter.units import Form, ReadingText, format_ohm
from coilmeter.values import CASE, Purpose, Reading, ReadingRow
from coilmeter.values.pinmaps import PinField, PinPair
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.events import Event
from coilmeter.walks.evidence import RangeOf
from coilmeter.walks.keeping import Keeper
from coilmeter.walks.steps import CLIPS, NEAR_ZERO_LEAST_OHM, Step
from coilmeter.walks.walk import Walk

INSTEAD: Final = "in place of the reading before"
"""Note of a row that counts, and not the one of the same pair above it."""

AS_MAPPED: Final = "as mapped from"
"""Note of a row that was made of another one when a map was saved."""

OUT_OF_IT: Final = ("taken again later", "refused")
"""Notes of rows that never count."""


_MORE: Final = 0.05
_CONTACT_OHM: Final = 1.0
"""Readings of a pair that differ by no more than this fraction, or so many ohms, are one."""


@dataclass(frozen=True, slots=True)
class PairStep(Step):
    """Two points to read, and why.

    Parameters
    ----------
    reason
        Why this pair is asked for.
    again
        Whether it was read before, so that the new reading takes the place of that one.

    """

    reason: Reason = Reason.PARTNER
    again: bool = False

    @property
    def key(self) -> str:
        """The pair, as a name that is the same in every run."""
        return "-".join(self.points)


Plan = Callable[[Sequence[str], Collection[PinPair]], Ask | None]
"""Chooses the next pair from where the clips are and what was skipped; None at the end."""


class PinWalk(Walk):
    """A walk whose next step follows from all that was read so far.

    Parameters
    ----------
    field
        The pins.
    plan
        Chooses the next pair.
    done
        Pairs that were read in an earlier run, in the order of the field.
    lead_null
        Whether to begin with the clips together; None where that was done in an earlier run.
    template, keeper, range_of, digit_of, rule
        As for any walk.
    coil_ohm, path_ohm
        An OL on a lower range than these says too little of a coil, and of a path.

    """

    def __init__(
        self,
        field: PinField,
        plan: Plan,
        template: ReadingRow,
        keeper: Keeper,
        *,
        done: Sequence[PinPair] = (),
        lead_null: bool | None = True,
        range_of: RangeOf = lambda _: None,
        digit_of: Callable[[float], float] = lambda _: 0.0,
        rule: ContactRule | None = None,
        coil_ohm: float = 0.0,
        path_ohm: float = 0.0,
    ) -> None:
        leads = Step(Purpose.LEAD_NULL, "", "", CLIPS, (CLIPS,))
        before = [
            _pair_step(Ask(pins, Reason.PARTNER, 2), coil_ohm, again=False) for pins in done
        ]
        nulled = [leads.key] if lead_null is None else []
        super().__init__(
            [*([] if lead_null is False else [leads]), *before],
            template,
            keeper,
            range_of=range_of,
            digit_of=digit_of,
            done=[*nulled, *(step.key for step in before)],
            rule=rule,
            path_good_ohm=path_ohm,
        )
        self.field = field
        self._plan = plan
        self._coil_ohm = coil_ohm
        self._read = {step.key for step in before}

    def start(self) -> list[Event]:
        """Begin with the first pair that is asked for; how many there will be is not known."""
        return self._go_on(lifted=not self.taken)

    @property
    def pair(self) -> PairStep | None:
        """The pair that is waiting; None at the lead null, and before and after the walk."""
        step = self.step
        return step if isinstance(step, PairStep) else None

    def _go_on(self, *, lifted: bool) -> list[Event]:
        self._plan_next()
        return super()._go_on(lifted=lifted)

    def _plan_next(self) -> None:
        """Drop what was asked for and is not taken, and ask for what is best now."""
        last = self.steps[self._last].key if self._last is not None else ""
        finished = self.taken.keys() | self.skipped
        kept = [
            step
            for step in self.steps
            if step.key in finished or step.purpose is Purpose.LEAD_NULL
        ]
        self._read |= {step.key for step in kept if step.key in self.taken}
        if all(step.key in finished for step in kept):
            skipped = [step.points for step in kept if step.key in self.skipped]
            ask = self._plan(self._clipped, skipped)
            if ask is not None:
                step = _pair_step(ask, self._coil_ohm, again="-".join(ask.pins) in self._read)
                # A pair that is read again is no longer done.
                self.taken.pop(step.key, None)
                kept = [each for each in kept if each.key != step.key]
                kept.append(step)
        self.steps = tuple(kept)
        keys = [step.key for step in self.steps]
        self._last = keys.index(last) if last in keys else None

    def _note_blinks(self, step: Step, row: ReadingRow) -> None:
        """Leave the row as it is: kept once more, it would pass for a second reading."""

    def _row(self, step: Step, readings: Sequence[Reading] = ()) -> ReadingRow:
        row = super()._row(step, readings)
        if step.purpose is Purpose.LEAD_NULL:
            return row
        again = step.key in self._read
        notes = [row.note, INSTEAD if again else ""]
        return replace(
            row,
            coil="",
            other="",
            purpose=Purpose.FREE,
            note="; ".join(note for note in notes if note),
        )


def _pair_step(ask: Ask, coil_ohm: float, *, again: bool) -> PairStep:
    apart = ask.reason is Reason.APART
    return PairStep(
        Purpose.FREE,
        "",
        # With a far side, an OL must be on the range that shows isolation.
        CASE if apart else "",
        ask.pins,
        (ask.pins,),
        near_zero_ohm=NEAR_ZERO_LEAST_OHM,
        moves=ask.moves,
        open_above_ohm=coil_ohm,
        reason=ask.reason,
        again=again,
    )


def counted(rows: Sequence[ReadingRow]) -> list[ReadingRow]:
    """Rows of which a map is made: those that nothing has taken the place of.

    Lead nulls stay; flexings, rows that were put aside, and those that were made of others
    when a map was saved are left out.
    """
    found: list[ReadingRow] = []
    for row in rows:
        if row.flex is not None or _notes(row) & {*OUT_OF_IT}:
            continue
        if row.note.startswith(AS_MAPPED):
            continue
        if INSTEAD in _notes(row) and row.pins is not None:
            found = [
                each
                for each in found
                if each.pins is None or {*each.pins} != {*row.pins} or each.head != row.head
            ]
        found.append(row)
    return found


def times_read(rows: Sequence[ReadingRow]) -> dict[frozenset[str], int]:
    """How often each pair was read, those included in whose place another one counts."""
    times: dict[frozenset[str], int] = {}
    for row in rows:
        if row.pins is None or row.flex is not None or row.note.startswith(AS_MAPPED):
            continue
        pair = frozenset(row.pins)
        times[pair] = times.get(pair, 0) + 1
    return times


def changed(rows: Sequence[ReadingRow]) -> list[str]:
    """Say which pairs read otherwise when they were read again: a joint may be loose."""
    told: list[str] = []
    before: dict[frozenset[str], ReadingRow] = {}
    for row in rows:
        if row.pins is None or row.flex is not None:
            continue
        pair = frozenset(row.pins)
        old = before.get(pair) if INSTEAD in _notes(row) else None
        if old is not None and _differ(old.reading, row.reading):
            told.append(f"{'-'.join(row.pins)} read {_shown(old)}, and {_shown(row)} again")
        before[pair] = row
    return told


def _differ(one: ReadingText, other: ReadingText) -> bool:
    """Whether two readings of one pair differ by more than a contact makes them."""
    if one.form is not other.form or one.ohm is None or other.ohm is None:
        return one.form is not other.form
    number = one.form is Form.NUMBER
    return number and abs(one.ohm - other.ohm) > max(_MORE * abs(other.ohm), _CONTACT_OHM)


def _shown(row: ReadingRow) -> str:
    reading = row.reading
    is_number = reading.form is Form.NUMBER and reading.ohm is not None
    return format_ohm(reading.ohm or 0.0) if is_number else reading.text


def _notes(row: ReadingRow) -> set[str]:
    return {note.strip() for note in row.note.split(";")}
