"""What a walk asks of whoever keeps its evidence."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Protocol

from coilmeter.values import Purpose, ReadingRow
from coilmeter.walks.evidence import noted
from coilmeter.walks.steps import Step

REFUSED: Final = "refused"
"""Note of a row that was put aside: it counts for nothing."""


class Keeper(Protocol):
    """Where evidence goes."""

    def keep(self, row: ReadingRow) -> None:
        """Have the row on disk, in place of an earlier one of the same place.

        Raises
        ------
        StoreError
            When it could not be kept.
        InputError
            When it cannot be right; then it was kept aside.

        """
        ...


class Aside:
    """A doubtful reading, until a person says that it is what it is."""

    def __init__(self, keeper: Keeper) -> None:
        self._keeper = keeper
        self._held: tuple[Step, ReadingRow] | None = None

    def hold(self, step: Step, row: ReadingRow) -> None:
        """Hold a reading of a step."""
        self._held = step, row

    def confirmed(self) -> tuple[Step, ReadingRow] | None:
        """Give what is held, and hold it no longer; None where nothing is."""
        held, self._held = self._held, None
        return held

    def put(self) -> None:
        """Keep what is held, that nobody confirmed, as one that counts for nothing.

        Raises
        ------
        StoreError
            When it could not be kept.

        """
        held = self.confirmed()
        if held is None:
            return
        row = noted(held[1], REFUSED)
        # A free reading has one name, as a readings file gives it back.
        name = "-".join(filter(None, (row.coil, row.other)))
        self._keeper.keep(replace(row, purpose=Purpose.FREE, coil=name, other=""))
