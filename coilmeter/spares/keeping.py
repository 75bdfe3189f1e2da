"""Readings of a walk into the bin as they are taken, each committed before it counts.

The bin comes second: the readings file has each reading already.  So a bin that is locked,
full or gone loses nothing; what it missed is added with the next reading that it takes, at
the end, or later from the file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.spares.adding import Added, Batch, add, head_for
from coilmeter.spares.identity import new_id
from coilmeter.spares.store import Bin
from coilmeter.values import ReadingRow

PATIENT_S: Final = 2.0
"""So long a reading waits for a bin that another program writes to."""

IMPATIENT_S: Final = 0.3
"""So long where the reading before waited in vain."""


class BinKeeper:
    """Keeps the readings of one walk in an open bin.

    Parameters
    ----------
    shelf
        The bin.
    batch
        The head, with the readings that an earlier run took.

    Raises
    ------
    InputError
        When the name means several heads of the bin, or one of another kind.
    StoreError
        When the bin cannot be read.

    Attributes
    ----------
    added
        What became of the readings; None while none was taken.
    missed
        Whether the bin does not have the last readings.

    """

    def __init__(self, shelf: Bin, batch: Batch) -> None:
        self._bin = shelf
        with shelf.read() as connection:
            known = head_for(connection, batch)
        self._batch = replace(batch, head=new_id() if known is None else known.id)
        self._is_new = known is None
        self.added: Added | None = None
        self.missed = bool(batch.rows)

    def keep(self, row: ReadingRow) -> None:
        """Have one more reading in the bin.

        Raises
        ------
        StoreError
            When it could not be kept; it goes in with the next that is.

        """
        self.catch_up([*self._batch.rows, row])

    def catch_up(
        self, rows: Sequence[ReadingRow] | None = None, patience_s: float | None = None
    ) -> None:
        """Have all readings of the walk in the bin.

        Parameters
        ----------
        rows
            All of them as they stand now, those taken again ``free``; None for those that are
            known.
        patience_s
            Seconds to wait for another program that writes.

        Raises
        ------
        StoreError
            When they could not be kept.

        """
        if rows is not None:
            self._batch = replace(self._batch, rows=tuple(rows))
        if not self._batch.rows:
            return
        usual = IMPATIENT_S if self.missed and self.added is not None else PATIENT_S
        self.missed = True
        batch = replace(self._batch, new_head=self._is_new and self.added is None)
        with self._bin.write(usual if patience_s is None else patience_s) as connection:
            added = add(connection, batch)
        self.missed = False
        first = self.added or added
        self.added = replace(added, is_new=first.is_new, again=first.again)
        self._batch = replace(self._batch, sitting=added.sitting)
