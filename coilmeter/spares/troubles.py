"""Every trouble of a database turned into one message: what was seen, and what to do next."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from coilmeter.errors import (
    StoreBusyError,
    StoreError,
    StoreMissingError,
    StoreReadOnlyError,
)
from coilmeter.spares.place import Place

UNCHANGED: Final = "nothing was changed in it"
_OF_SQLITE: Final[tuple[tuple[str, type[StoreError], str, str], ...]] = (
    (
        "SQLITE_BUSY",
        StoreBusyError,
        f"another program is writing to it; {UNCHANGED}",
        "wait until that one is done, and run the same command again.",
    ),
    (
        "SQLITE_LOCKED",
        StoreBusyError,
        f"another program is writing to it; {UNCHANGED}",
        "wait until that one is done, and run the same command again.",
    ),
    (
        "SQLITE_READONLY",
        StoreReadOnlyError,
        "can be read only",
        "check the rights of the file and of its folder, or name another bin with --store.",
    ),
    (
        "SQLITE_FULL",
        StoreError,
        f"the disk is full; {UNCHANGED}",
        "free some space, and run the same command again.",
    ),
    (
        "SQLITE_IOERR",
        StoreError,
        f"the disk did not take or give what was asked; {UNCHANGED}",
        "look for space and for the health of the disk, then run 'spares verify'.",
    ),
    (
        "SQLITE_CONSTRAINT",
        StoreError,
        f"a record does not fit what is there; {UNCHANGED}",
        "run 'spares verify' to look for damage.",
    ),
    (
        "SQLITE_CORRUPT",
        StoreError,
        "the file is damaged",
        "put a copy of it aside, go on from the last 'spares backup', then 'spares add'.",
    ),
    (
        "SQLITE_NOTADB",
        StoreError,
        "is no bin: the file holds something else, or is damaged",
        "name another file with --store, or go on from the last 'spares backup'.",
    ),
    (
        "SQLITE_CANTOPEN",
        StoreError,
        "cannot be opened",
        "check that the folder is there, and its rights.",
    ),
    (
        "SQLITE_PERM",
        StoreError,
        "may not be opened",
        "check the rights of the file and of its folder.",
    ),
)
_OF_SERVER: Final[tuple[tuple[str, type[StoreError], str, str], ...]] = (
    (
        "55P03",
        StoreBusyError,
        f"another bench is writing to it; {UNCHANGED}",
        "wait until that one is done, and run the same command again.",
    ),
    (
        "40",
        StoreBusyError,
        f"another bench wrote to it at the same time; {UNCHANGED}",
        "run the same command again.",
    ),
    (
        "23",
        StoreBusyError,
        f"another bench added the same records at the same time; {UNCHANGED}",
        "run the same command again.",
    ),
    (
        "25006",
        StoreReadOnlyError,
        "can be read only",
        "ask whoever keeps the server, or name another bin with --store.",
    ),
    (
        "42501",
        StoreReadOnlyError,
        "this user may not write to it",
        "ask whoever keeps the server for the rights.",
    ),
    (
        "53100",
        StoreError,
        f"the disk of the server is full; {UNCHANGED}",
        "ask whoever keeps the server to free some space.",
    ),
    (
        "28",
        StoreError,
        "the server does not let this user in",
        "check user and password; the password may stand in ~/.pgpass or PGPASSWORD.",
    ),
    (
        "3D000",
        StoreMissingError,
        "the server has no such database",
        "ask whoever keeps the server to make it; the tables in it are made by coilmeter.",
    ),
)
_GONE: Final = "the server does not answer, or does not let this user in"


@contextmanager
def troubles(place: Place) -> Iterator[None]:
    """Turn what a database raises into a `StoreError` about the bin at a place."""
    try:
        yield
    except DBAPIError as error:
        raise _told(place, error.orig) from error
    except SQLAlchemyError as error:
        raise StoreError(
            f"{place.shown}: {error}", hint="run 'spares verify' to look for damage."
        ) from error
    except sqlite3.Error as error:
        raise _told(place, error) from error


def _told(place: Place, original: BaseException | None) -> StoreError:
    if isinstance(original, sqlite3.Error):
        name = getattr(original, "sqlite_errorname", "")
        found = _entry(_OF_SQLITE, name)
    else:
        name = getattr(original, "sqlstate", "") or ""
        found = _entry(_OF_SERVER, name)
    said = " ".join(str(original).split())
    if found is not None:
        kind, what, hint = found
        return kind(f"{place.shown}: {what} ({_short(said)})", hint=hint)
    if place.is_server and (not name or name.startswith(("08", "57"))):
        return StoreError(
            f"{place.shown}: {_GONE} ({_short(said)})",
            hint="check that it runs, the address, the user and the name of the database; the "
            "password may stand in ~/.pgpass or PGPASSWORD.",
        )
    return StoreError(
        f"{place.shown}: {_short(said)}", hint="run 'spares verify' to look for damage."
    )


def _entry(
    table: tuple[tuple[str, type[StoreError], str, str], ...], name: str
) -> tuple[type[StoreError], str, str] | None:
    for begin, kind, what, hint in table:
        if name and name.startswith(begin):
            return kind, what, hint
    return None


def _short(text: str) -> str:
    longest = 160
    return text if len(text) <= longest else f"{text[:longest]}..."
