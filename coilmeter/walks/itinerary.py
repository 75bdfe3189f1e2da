"""The steps of a walk: which one waits, which are done or left out, and the ways among them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Sequence
from typing import Final

from coilmeter.units import Form
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.notes import UNMOVED
from coilmeter.walks.events import Event
from coilmeter.walks.steps import Step

_ALIKE: Final = 0.02
"""Two readings of one coil differ by less, as a fraction."""


def _shows_a_move(row: ReadingRow) -> bool:
    """Whether a reading showed that the clips had moved: a value that the meter itself sent."""
    return row.reading.form is Form.NUMBER and bool(row.raw)


class Itinerary(ABC):
    """Steps in order, and where one is among them.

    Parameters
    ----------
    steps
        What to measure, in order.
    done
        Keys of steps that were taken in an earlier run.

    Attributes
    ----------
    taken
        By the key of a step what was taken in this run, None in an earlier one.
    skipped
        Keys of the steps that were left out.
    values
        How many values were taken, of earlier runs too: behind each, the clips had moved.
    doubted
        Keys of steps that were taken, and are to be taken once more in the end, with what
        `values` was then.

    """

    def __init__(self, steps: Sequence[Step], done: Collection[str]) -> None:
        self.steps = tuple(steps)
        self.taken: dict[str, ReadingRow | None] = dict.fromkeys(done)
        self.skipped: set[str] = set()
        self.values = 0
        self.doubted: dict[str, int] = {}
        self._asked_again: set[str] = set()
        self._seen_together = False
        self._index = -1
        self._last: int | None = None

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return self._index >= len(self.steps)

    @property
    def step(self) -> Step | None:
        """The step that is waiting, None before the start and after the end."""
        return self.steps[self._index] if 0 <= self._index < len(self.steps) else None

    def back(self) -> list[Event]:
        """Return to the step before this one in the plan, to take it again."""
        return self._return_to(max(self._index - 1, 0))

    def redo(self) -> list[Event]:
        """Return to the step that was taken last, to take it again."""
        done = [number for number, step in enumerate(self.steps) if step.key in self.taken]
        last = self._last if self._last is not None else max(done, default=0)
        return self._return_to(last)

    def again(self, key: str) -> list[Event]:
        """Return to a step by its key, to take it again; do nothing where there is none."""
        keys = [step.key for step in self.steps]
        return self._return_to(keys.index(key)) if key in keys else []

    def _return_to(self, index: int) -> list[Event]:
        self._index = index
        self.skipped.discard(self.steps[index].key)
        return self._begin(lifted=False)

    def _go_on(self, *, lifted: bool) -> list[Event]:
        finished = self.taken.keys() | self.skipped
        left = [number for number, step in enumerate(self.steps) if step.key not in finished]
        again = [number for number, step in enumerate(self.steps) if step.key in self.doubted]
        self._index = next(iter([*left, *again]), len(self.steps))
        if again and not left:
            self._asked_again.add(self.steps[self._index].key)
        return self._begin(lifted=lifted)

    def _wants_together(self, step: Step) -> bool:
        """Whether the clips are to be held together first, so that their moving shows."""
        first = self.doubted.get(step.key)
        return first is not None and self.values <= first and not self._seen_together

    def took_before(self, key: str, row: ReadingRow) -> None:
        """Take note of a row of an earlier run; they come in the order of the file."""
        if UNMOVED in row.note and key in self.taken:
            self.doubted[key] = self.values
        self.values += _shows_a_move(row)

    def _note_taken(self, step: Step, row: ReadingRow) -> None:
        """Take note of what was taken, and of whether it is to be taken once more."""
        self.taken[step.key] = row
        self.skipped.discard(step.key)
        self._last, self._seen_together = self._index, False
        if UNMOVED in row.note and step.key not in self._asked_again:
            self.doubted.setdefault(step.key, self.values)
        else:
            self.doubted.pop(step.key, None)
        self.values += _shows_a_move(row)

    def _unmoved(self, step: Step) -> bool:
        """Whether a coil's OL may still be that of the points before."""
        if step.purpose is not Purpose.COIL or self._seen_together:
            return False
        if step.key in self.doubted:
            return self._wants_together(step)
        before = None if self._last is None else self.taken.get(self.steps[self._last].key)
        if before is None:
            return bool(self.taken)
        return not _shows_a_move(before)

    def _reads_like_last(self, step: Step, ohm: float) -> bool:
        """Whether what a path reads is the coil before it: then the clips never left that."""
        if not step.other or self._last is None:
            return False
        row = self.taken.get(self.steps[self._last].key)
        if row is None or row.purpose is not Purpose.COIL or row.reading.ohm is None:
            return False
        return abs(ohm - row.reading.ohm) <= _ALIKE * row.reading.ohm

    @abstractmethod
    def _begin(self, *, lifted: bool) -> list[Event]:
        """Begin the step that waits now; `lifted` where the clips are in the air."""
