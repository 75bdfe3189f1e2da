"""One entry more in the user's own reference file, all that stands there kept."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import tomlkit
from tomlkit.exceptions import TOMLKitError

from coilmeter.catalog import load_catalog
from coilmeter.errors import CoilmeterError, InputError, StoreError

Section = Literal["bands", "kinds", "meters"]


def add_entry(
    path: Path,
    section: Section,
    name: str,
    entry: Mapping[str, Any],
    *,
    replace: bool = False,
) -> None:
    """Add an entry to a reference file of the user's, in place of none or of its like.

    Comments and order of the file stay.  What comes out is read back as a reference file
    before it takes the place of the old one, so that a file is never made unreadable.

    Parameters
    ----------
    path
        The file; made, with its folder, where there is none.
    section
        The table of the file.
    name
        Name of the entry.
    entry
        What stands in it, as TOML values: texts, numbers, lists and tables of them.
    replace
        Whether an entry of that name may be replaced.

    Raises
    ------
    InputError
        When the file is no reference file, has that name already, or the entry is none.
    StoreError
        When the file cannot be written; then it is as it was.

    """
    document = _read(path)
    table = document.setdefault(section, tomlkit.table(is_super_table=True))
    if not isinstance(table, dict):
        raise InputError(f"{path}: {section} is no table", hint="correct the file first.")
    if name in table and not replace:
        raise InputError(
            f"{path}: {section} has {name!r} already",
            hint="choose another name, or say --replace: then this one takes its place.",
        )
    table[name] = dict(entry)
    _write(path, tomlkit.dumps(document))


def _read(path: Path) -> tomlkit.TOMLDocument:
    try:
        text = path.read_text(encoding="utf-8-sig") if path.exists() else ""
        return tomlkit.parse(text)
    except (OSError, UnicodeDecodeError, TOMLKitError) as error:
        raise InputError(
            f"{path}: cannot be read ({error})", hint="correct it first."
        ) from error


def _write(path: Path, text: str) -> None:
    """Have the text on disk under another name, try it, then put it in place."""
    half = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        goal = path.resolve()
        descriptor, half_name = tempfile.mkstemp(".part", f".{path.name}-", goal.parent)
        half = Path(half_name)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        _try(half, path)
        if goal.exists():
            half.chmod(goal.stat().st_mode & 0o777)
        half.replace(goal)
    except OSError as error:
        raise StoreError(
            f"{path}: cannot be written ({error.strerror or error})",
            hint="nothing was changed there; check the folder.",
        ) from error
    finally:
        if half is not None:
            half.unlink(missing_ok=True)


def _try(half: Path, path: Path) -> None:
    try:
        load_catalog([half])
    except CoilmeterError as error:
        text = str(error).replace(str(half), str(path))
        raise InputError(
            f"the entry does not fit: {text}", hint="nothing was changed."
        ) from error
