"""Readings of a walk into the bin as they are taken, each committed before it counts.

The bin comes second: the readings file has each reading already.  So a bin that is locked,
full or gone loses nothing; what it missed is added with the next reading that it takes, at
the end, or later from the file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.errors import StoreBusyError, StoreError
from coilmeter.spares.adding import Added, Batch, add, head_for
from coilmeter.spares.identity import new_id
from coilmeter.spares.store import Bin
from coilmeter.values import ReadingRow

IMPATIENT_S: Final = 0.3
"""So long a reading waits for a bin that was busy with the one before."""


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
    trouble
        Why the last readings are not in the bin; None while all of them are.

    """

    def __init__(self, shelf: Bin, batch: Batch) -> None:
        self._bin = shelf
        self._batch = batch
        self._waits = False
        self.trouble: StoreError | None = None
        self.added: Added | None = None
        with shelf.read() as connection:
            known = None if batch.new_head else head_for(connection, batch)
        self._new = known is None
        self._batch = replace(batch, head=new_id() if known is None else known.id)
        if batch.rows:
            self._add()

    def keep(self, row: ReadingRow) -> None:
        """Have one more reading in the bin.

        Raises
        ------
        StoreError
            When it could not be kept; it goes in with the next that is.

        """
        self.catch_up([*self._batch.rows, row])

    def catch_up(self, rows: Sequence[ReadingRow]) -> None:
        """Have all readings of the walk in the bin, as they stand now; raises as `keep`."""
        self._batch = replace(self._batch, rows=tuple(rows))
        self._add(IMPATIENT_S if self._waits else None)

    def _add(self, patience_s: float | None = None) -> None:
        batch = replace(self._batch, new_head=self._new and self.added is None)
        try:
            with self._bin.write(patience_s) as connection:
                added = add(connection, batch)
        except StoreError as error:
            self.trouble = error
            self._waits = isinstance(error, StoreBusyError)
            raise
        self.trouble, self._waits = None, False
        first = self.added or added
        self.added = replace(added, is_new=first.is_new, again=first.again)
        self._batch = replace(self._batch, sitting=added.sitting, head=added.head)
