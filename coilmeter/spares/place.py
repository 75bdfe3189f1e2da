"""Where a bin is: a file, or a database server by its address."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from coilmeter.errors import InputError

_DRIVER: Final = "postgresql+psycopg"
_SERVERS: Final = frozenset({"postgresql", "postgres", _DRIVER})
_EXPECTED: Final = "give a file, or postgresql://USER@HOST/DATABASE."


@dataclass(frozen=True, slots=True)
class Place:
    """Where a bin is.

    Parameters
    ----------
    shown
        Name for a person, without a password.
    url
        Address for SQLAlchemy.
    path
        The file; None for a server and for a bin in memory.
    photos
        Folder of the photos that its heads have.

    """

    shown: str
    url: URL
    path: Path | None
    photos: Path

    @property
    def is_server(self) -> bool:
        """Whether it is a database server."""
        return self.url.get_backend_name() == "postgresql"


def place_of(text: str, photos: Path) -> Place:
    """Understand where a bin is.

    Parameters
    ----------
    text
        A file name, or an address such as ``postgresql://bench@host/parts``.
    photos
        Folder of the photos of a bin on a server; those of a file lie beside it.

    Raises
    ------
    InputError
        When it is neither.

    """
    if not text.strip() or "\0" in text:
        raise InputError(f"saw {text[:60]!r} as the place of the bin", hint=_EXPECTED)
    if "://" not in text:
        return _file(Path(text))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        # Never the text itself: there may be a password in it.
        raise InputError("the address of the bin is none", hint=_EXPECTED) from error
    if url.drivername not in _SERVERS:
        raise InputError(
            f"saw {url.drivername!r} as the kind of database of the bin", hint=_EXPECTED
        )
    url = url.set(drivername=_DRIVER)
    shown = url.set(drivername="postgresql", query={}).render_as_string(hide_password=True)
    return Place(shown, url, None, photos)


def in_memory() -> Place:
    """Place of a bin that nobody keeps: what a bin is that was not begun yet."""
    return Place("memory", URL.create("sqlite"), None, Path())


def _file(path: Path) -> Place:
    url = URL.create("sqlite", database=str(path))
    return Place(str(path), url, path, path.parent / f"{path.name}-photos")
