"""Connections to the bin: the same code for a file and for a server.

For a file: a write-ahead log, every commit flushed to the disk, foreign keys enforced, and a
transaction that is to write takes the lock at its beginning, so that it cannot fail half-way
through for somebody else's.
"""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event

from coilmeter.errors import StoreError
from coilmeter.spares.place import Place

_WRITES: Final = "coilmeter_writes"
_PATIENCE: Final = "coilmeter_patience_s"

PATIENCE_S: Final = 10.0
"""So long another program may write before this one gives up."""

_SERVER_ANSWERS_WITHIN_S: Final = 5
_LOCK: Final = 0x636F696C
"""Number of the lock on a server: the letters ``coil``."""


def make_engine(place: Place, patience_s: float = PATIENCE_S) -> Engine:
    """Make the engine of a bin; nothing is opened yet.

    Parameters
    ----------
    place
        Where the bin is.
    patience_s
        Seconds to wait for another program that writes.

    Raises
    ------
    StoreError
        When a library for servers is not installed.

    """
    if place.is_server:
        engine = _server(place)
    else:
        engine = create_engine(
            place.url, connect_args={"timeout": patience_s, "isolation_level": None}
        )
        event.listen(engine, "connect", _settle_file)

    def begin(connection: Connection) -> None:
        _begin(connection, patience_s)

    event.listen(engine, "begin", begin)
    return engine


def _server(place: Place) -> Engine:
    try:
        return create_engine(
            place.url, connect_args={"connect_timeout": _SERVER_ANSWERS_WITHIN_S}
        )
    except ModuleNotFoundError as error:
        raise StoreError(
            f"{place.shown}: for a bin on a server one library more is needed ({error.name})",
            hint="install coilmeter[postgresql].",
        ) from error


def writes() -> dict[str, Any]:
    """Give execution options of a transaction that is going to write."""
    return {_WRITES: True}


def patience(seconds: float | None) -> dict[str, Any]:
    """Give those of a transaction that waits so long at most; None for as usual."""
    return {} if seconds is None else {_PATIENCE: seconds}


def lock_out_others(connection: Connection) -> None:
    """Have no other program make or migrate the bin until the transaction ends.

    A file is locked as a whole by any transaction that writes.
    """
    if connection.dialect.name != "sqlite":
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK})")


def _settle_file(connection: Any, _: object) -> None:
    # These hold for the connection only: the file may be somebody else's, and stays as it is.
    for setting in ("synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {setting}")


def _begin(connection: Connection, patience_s: float) -> None:
    options = connection.get_execution_options()
    milliseconds = int(options.get(_PATIENCE, patience_s) * 1000)
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA busy_timeout = {milliseconds}")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get(_WRITES) else "BEGIN")
    else:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {milliseconds}")
