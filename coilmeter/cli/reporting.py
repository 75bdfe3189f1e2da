"""Condition reports and labels, from judged heads to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal

from coilmeter.cli.impedance_files import figures_of
from coilmeter.cli.logging_files import WholeFile
from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_chunks
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError
from coilmeter.report.label import label
from coilmeter.report.page import HeadPage, page
from coilmeter.report.photos import load_photo
from coilmeter.values import Grade, HeadResult, ReadingRow
from coilmeter.values.about import FACE_WORDS, About

_FORMS: Final[dict[str, Literal["svg", "pdf"]]] = {".svg": "svg", ".pdf": "pdf"}


def check_face(face: str) -> str:
    """Give the words for the look of a face, as they are defined.

    Raises
    ------
    InputError
        When they are others: wear is told in words that a buyer can check.

    """
    if face and face not in FACE_WORDS:
        raise InputError(
            f"--face: saw {face!r}",
            hint=f"it is one of: {', '.join(FACE_WORDS)}; say more with --note.",
        )
    return face


def put_page(
    heads: Sequence[HeadResult],
    rows: Sequence[ReadingRow],
    settings: Settings,
    about: About,
    photos: Sequence[Path],
    out: Path | None,
) -> int:
    """Write the page; the exit code comes back: 0 when every head is matched, else 1.

    Raises
    ------
    InputError
        When a photo is none, or is to show several heads at once.
    StoreError
        When a file cannot be read or written.

    """
    if len(heads) != 1 and (photos or about != About()):
        raise InputError(
            f"what is said and shown of one head, with {len(heads)} heads in the files",
            hint="write the report of one head at a time.",
        )
    pictures = [load_photo(path) for path in photos]
    pages = [
        HeadPage(
            head,
            [row for row in rows if row.head == head.head],
            settings.kinds.get(head.kind),
            about,
            pictures,
            figures_of(head),
        )
        for head in heads
    ]
    put_chunks([page(pages, settings.bands, settings.meters, settings.confidence)], out)
    matched = all(head.grade is Grade.MATCHED for head in heads)
    return ALL_SOUND if matched else SOMETHING


def put_label(
    heads: Sequence[HeadResult],
    rows: Sequence[ReadingRow],
    path: Path,
    *,
    record: str = "",
) -> None:
    """Write the label of one head.

    Parameters
    ----------
    heads, rows
        The head, and its readings.
    path
        ``.svg`` or ``.pdf``.
    record
        Id of its record; its name where it has none.

    Raises
    ------
    InputError
        When there are several heads, or the file is of another sort.
    StoreError
        When it cannot be written.

    """
    if len(heads) != 1:
        raise InputError(
            f"one label for {len(heads)} heads", hint="make the label of one head at a time."
        )
    form = _FORMS.get(path.suffix.lower())
    if form is None:
        raise InputError(f"{path}: saw {path.suffix!r}", hint="name it FILE.svg or FILE.pdf.")
    days = [row.time[:10] for row in rows if row.time]
    drawn = label(heads[0], record or heads[0].head, day=max(days, default=""), form=form)
    with WholeFile(path) as file:
        file.write_bytes(drawn)
