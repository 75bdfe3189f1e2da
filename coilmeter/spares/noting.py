"""What people say of a head: notes, photos, and impedances that were measured elsewhere."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Table, select

from coilmeter.errors import InputError, StoreError
from coilmeter.spares.identity import new_id
from coilmeter.spares.records import LONGEST_DOCUMENT, now, storable
from coilmeter.spares.schema import impedances, notes, photos
from coilmeter.spares.writing import Gathered
from coilmeter.values.about import About
from coilmeter.values.bin import BinHead, HeadRecord, ImpedanceOf, Note, PhotoOf

NO_NOTE: Final = Note("", "", "", "", "", "", "", "")
"""A note that says nothing."""

_YES: Final = {"yes": True, "no": False}


def note(connection: Connection, head: BinHead, said: Note) -> None:
    """Add a note to a head, in the transaction of the connection; it is given id and time.

    Raises
    ------
    InputError
        When it says nothing, or what it says cannot be kept.

    """
    if replace(said, id="", time="") == NO_NOTE:
        raise InputError("the note says nothing", hint="give a text or one of the options.")
    for name, text in asdict(said).items():
        storable(text, f"the note: {name}")
    _add(connection, notes, head, replace(said, id=new_id(), time=now()))


def keep_impedance(connection: Connection, head: BinHead, found: ImpedanceOf) -> None:
    """Add an impedance to a head, in the transaction of the connection; it is given an id.

    Raises
    ------
    InputError
        When its document is larger than any is.

    """
    storable(found.document, "the document of the impedance", LONGEST_DOCUMENT)
    _add(connection, impedances, head, replace(found, id=new_id(), time=found.time or now()))


def attach(connection: Connection, head: BinHead, path: Path, folder: Path) -> bool:
    """Add a photo to a head; the file is copied to the folder of photos under its digest.

    The same picture once more is no other photo: then nothing is added, and False comes back.

    Parameters
    ----------
    connection
        A transaction that writes.
    head
        The head.
    path
        The photo.
    folder
        Folder of the photos, made where it is not there.

    Raises
    ------
    StoreError
        When the file cannot be read or copied.

    """
    try:
        data = path.read_bytes()
        digest = hashlib.sha256(data).hexdigest()
        goal = photo_file(folder, digest)
        if not goal.exists():
            folder.mkdir(parents=True, exist_ok=True)
            half = goal.with_name(f".{digest}-{os.getpid()}.part")
            try:
                with half.open("wb") as file:
                    file.write(data)
                    file.flush()
                    os.fsync(file.fileno())
                half.replace(goal)
            finally:
                half.unlink(missing_ok=True)
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be copied to {folder} ({error.strerror or error})",
            hint="check the file and the folder; nothing was added.",
        ) from error
    same = select(photos.c.id).where(photos.c.head == head.id, photos.c.sha256 == digest)
    if connection.execute(same).first() is not None:
        return False
    name = storable(path.name.encode("utf-8", "replace").decode(), "the name of the photo")
    found = PhotoOf(new_id(), now(), name, digest, len(data))
    _add(connection, photos, head, found)
    return True


def photo_file(folder: Path, sha256: str) -> Path:
    """File in which the photo with this digest lies; never a name that a person gave."""
    return folder / sha256


def whole_photo(folder: Path, photo: PhotoOf) -> Path | None:
    """File of a photo; None where it is not on this bench, or is not what was attached."""
    path = photo_file(folder, photo.sha256)
    try:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
    return path if digest == photo.sha256 else None


def about(record: HeadRecord) -> About:
    """Gather what a report says of a head: the newest word on each thing, all remarks."""
    return About(
        record=record.head.id,
        marking=_newest(record.notes, "marking"),
        fitted=_newest(record.notes, "fitted"),
        face=_newest(record.notes, "face"),
        demagnetised=_YES.get(_newest(record.notes, "demagnetised")),
        tape_tested=_YES.get(_newest(record.notes, "tape_tested")),
        notes=tuple(each.text for each in record.notes if each.text),
    )


def _newest(said: Sequence[Note], name: str) -> str:
    return next((text for each in reversed(said) if (text := str(getattr(each, name)))), "")


def _add(
    connection: Connection, table: Table, head: BinHead, found: Note | PhotoOf | ImpedanceOf
) -> None:
    gathered = Gathered()
    gathered.add(table, head.id, {**asdict(found), "head": head.id})
    gathered.write(connection)
