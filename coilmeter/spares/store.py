"""The bin: opened, made where there is none, brought up to date where it is an old one.

Whatever is written goes in one transaction a command: all of it is there afterwards, or
nothing.  Another connection sees it from the commit on, and nothing before.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self, TypeAlias

from sqlalchemy import Connection, select
from sqlalchemy.exc import DBAPIError

from coilmeter.errors import StoreError, StoreMissingError
from coilmeter.spares import migrating
from coilmeter.spares.copying import copy_file
from coilmeter.spares.engine import (
    PATIENCE_S,
    lock_out_others,
    make_engine,
    patience,
    writes,
)
from coilmeter.spares.identity import new_id
from coilmeter.spares.place import Place, in_memory
from coilmeter.spares.records import now
from coilmeter.spares.schema import METADATA, bins
from coilmeter.spares.troubles import troubles

Transaction: TypeAlias = Connection
"""A transaction of a bin: what `Bin.read` and `Bin.write` give."""

_HEADER: Final = b"SQLite format 3\0"
_OTHER: Final = "name another one with --store."


class Bin:
    """An open bin; use it as a context manager, or `close` it.

    Parameters
    ----------
    place
        Where it is.
    create
        Whether to make one where there is none.
    patience_s
        Seconds to wait for another program that writes.

    Raises
    ------
    StoreMissingError
        When there is none and none is to be made.
    StoreError
        When it cannot be opened, is something else, damaged, or of a newer version.

    """

    def __init__(
        self, place: Place, *, create: bool = False, patience_s: float = PATIENCE_S
    ) -> None:
        self.place = place
        self._engine = make_engine(place, patience_s)
        try:
            self._look(create=create)
            with self.read() as connection:
                self.id = str(connection.execute(select(bins.c.id)).scalar_one())
        except BaseException:
            self.close()
            raise

    @classmethod
    def empty(cls) -> Self:
        """Give a bin with nothing in it, that nobody keeps."""
        return cls(in_memory(), create=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of it."""
        with troubles(self.place):
            self._engine.dispose()

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a transaction that reads: what it sees does not change meanwhile."""
        options = {"isolation_level": "REPEATABLE READ"} if self.place.is_server else {}
        with (
            troubles(self.place),
            self._engine.connect() as connection,
            connection.execution_options(**options).begin(),
        ):
            yield connection

    @contextmanager
    def write(self, patience_s: float | None = None) -> Iterator[Connection]:
        """Give a transaction that writes; committed at the end, undone where an error comes.

        `patience_s` is how long to wait for another program, where not as long as usual.
        """
        with (
            troubles(self.place),
            self._engine.connect() as connection,
            connection.execution_options(**writes(), **patience(patience_s)).begin(),
        ):
            yield connection

    def _look(self, *, create: bool) -> None:
        """Find out what is there, and make or bring up to date what is to be."""
        path = self.place.path
        if path is not None:
            self._look_at_file(path, create=create)
        with self.read() as connection:
            revision = migrating.revision_of(connection)
        if revision is None:
            raise StoreError(
                f"{self.place.shown}: is no bin: there are tables of something else in it; "
                "nothing was changed there",
                hint=_OTHER,
            )
        if revision == "":
            if not create:
                raise self._missing()
            self._make()
        elif revision != migrating.REVISION:
            self._bring_up_to_date(revision)

    def _look_at_file(self, path: Path, *, create: bool) -> None:
        try:
            if path.exists() and not path.is_file():
                raise StoreError(f"{path}: is no bin, and no file", hint=_OTHER)
            with path.open("rb") as file:
                begin = file.read(len(_HEADER))
        except FileNotFoundError as error:
            if not create:
                raise self._missing() from error
            if not path.absolute().parent.is_dir():
                raise StoreError(
                    f"{path}: the folder is not there", hint="make it, or " + _OTHER
                ) from error
            return
        except OSError as error:
            raise StoreError(
                f"{path}: cannot be opened ({error.strerror or error})",
                hint="check the name and the rights of the file and its folder.",
            ) from error
        if begin and begin != _HEADER:
            raise StoreError(
                f"{path}: is no bin: the file holds something else, or is damaged; nothing "
                "was changed in it",
                hint=_OTHER,
            )

    def _missing(self) -> StoreMissingError:
        return StoreMissingError(
            f"{self.place.shown}: there is no bin",
            hint="check the name; 'check' and 'spares add' make one.",
        )

    def _make(self) -> None:
        with self.write() as connection:
            lock_out_others(connection)
            # Another program may have been quicker.
            if migrating.revision_of(connection) == "":
                if self.place.path is None and not self.place.is_server:
                    METADATA.create_all(connection)
                else:
                    migrating.migrate(connection)
                connection.execute(bins.insert(), {"id": new_id(), "made": now()})
        if self.place.path is not None:
            self._keep_a_log()

    def _keep_a_log(self) -> None:
        """Have the file keep a write-ahead log, unless another program has it open now."""
        with troubles(self.place), suppress(DBAPIError):
            connection = self._engine.raw_connection()
            try:
                connection.cursor().execute("PRAGMA journal_mode = WAL")
            finally:
                connection.close()

    def _bring_up_to_date(self, revision: str) -> None:
        if not migrating.known(revision):
            raise StoreError(
                f"{self.place.shown}: was written by a newer coilmeter (version {revision} of "
                f"the bin, this one knows up to {migrating.REVISION}); nothing was changed in "
                "it",
                hint="bring this coilmeter up to date.",
            )
        with self.write() as connection:
            lock_out_others(connection)
            if migrating.revision_of(connection) == migrating.REVISION:
                return
            if self.place.path is not None:
                day = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
                path = self.place.path
                copy_file(path, path.with_name(f"{path.name}.{revision}-{day}"))
            migrating.migrate(connection)
