"""What a walk asks of whoever keeps its evidence."""

from __future__ import annotations

from typing import Protocol

from coilmeter.values import ReadingRow


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
