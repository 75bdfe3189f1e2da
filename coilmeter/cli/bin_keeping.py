"""What a check does with the bin beside its readings file, and what it says of that."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from types import TracebackType
from typing import TYPE_CHECKING, Final, Self

from coilmeter.cli.bin_options import bin_to_write
from coilmeter.cli.typed import say
from coilmeter.errors import InputError, StoreError
from coilmeter.values import ReadingRow

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from coilmeter.cli.checking import Job
    from coilmeter.spares.adding import ProofOf
    from coilmeter.spares.keeping import BinKeeper
    from coilmeter.spares.store import Bin
    from coilmeter.values.proofs import MeterProof

UNNAMED: Final = "head"
"""Name of a head that nobody named: never the same one as another of that name."""


class Shelving:
    """Keeps the readings of a check in the bin, as a context manager.

    The bin comes after the readings file and is never in its way: a trouble of the bin is said
    at the beginning or at the end, with what to do, and makes the exit code that of a store.

    Parameters
    ----------
    store
        The bin, as an option names it; None for none.
    job
        The head, how it is judged, and the readings file with what an earlier run took.
    proof
        The proof of the meter; None where there is none.

    Raises
    ------
    InputError
        When the bin cannot tell which head is meant, or has one of that name of another kind:
        before anything is measured.

    """

    def __init__(self, store: str | None, job: Job, proof: MeterProof | None = None) -> None:
        self._source = job.keeper.path
        self._band = job.settings.band
        self._trouble: StoreError | None = None
        self._opened: AbstractContextManager[Bin] | None = None
        self._keeper: BinKeeper | None = None
        if store is None:
            return
        from coilmeter.spares.adding import Batch
        from coilmeter.spares.keeping import BinKeeper

        batch = Batch(
            job.head,
            job.kind.name,
            tuple(job.keeper.rows),
            str(self._source),
            job.settings.band,
            proof=None if proof is None else _kept(proof),
            new_head=job.head == UNNAMED,
        )
        opened = bin_to_write(store, create=True)
        try:
            shelf = opened.__enter__()
            self._opened = opened
            self._keeper = BinKeeper(shelf, batch)
            self._keeper.catch_up()
        except StoreError as error:
            self._trouble = error
            say(f"! The bin does not take part: {error.message}.")
            say(f"  Readings are kept in {self._source}.")
        except InputError as error:
            self._close()
            raise InputError(
                error.message, hint=f"{error.hint} Or leave the bin out: --no-bin."
            ) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        try:
            self._catch_up_at_the_end()
        finally:
            self._close()
        self._tell()

    def keep(self, rows: Sequence[ReadingRow]) -> None:
        """Have all readings of the check in the bin, as they stand in the readings file."""
        if self._keeper is None:
            return
        try:
            self._keeper.catch_up(rows)
            self._trouble = None
        except StoreError as error:
            self._trouble = error

    def code(self, code: int) -> int:
        """Give the exit code of the check: that of a store where the bin lacks readings."""
        return code if self._trouble is None else self._trouble.exit_code

    def _catch_up_at_the_end(self) -> None:
        if self._keeper is None or not self._keeper.missed:
            return
        from coilmeter.spares.engine import PATIENCE_S

        try:
            self._keeper.catch_up(patience_s=PATIENCE_S)
            self._trouble = None
        except StoreError as error:
            self._trouble = error

    def _close(self) -> None:
        if self._opened is not None:
            self._opened.__exit__(None, None, None)
            self._opened = None

    def _tell(self) -> None:
        """Say where the readings went."""
        if self._trouble is not None:
            say(f"! Not all of it is in the bin: {self._trouble}")
            more = f" --band {self._band}" if self._band else ""
            say(
                "  Nothing is lost: add it later with: "
                f"coilmeter spares add {shlex.quote(str(self._source))}{more}"
            )
            return
        added = None if self._keeper is None else self._keeper.added
        if added is None:
            return
        from coilmeter.report.bin_tables import code

        what = "new there" if added.is_new else "measured again" if added.again else "gone on"
        say(f"In the bin: {added.name}, code {code(added.code)}, {what}.")


def _kept(proof: MeterProof) -> ProofOf:
    """Give a proof as the bin keeps it: whole, as the document that it is on disk."""
    from coilmeter.sources.proofs import proof_document
    from coilmeter.spares.adding import ProofOf

    return ProofOf(proof.meter, proof.made, proof_document(proof))
