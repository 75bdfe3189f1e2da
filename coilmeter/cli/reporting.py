"""Condition reports and labels, from judged heads to files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from coilmeter.cli.impedance_files import figures_of
from coilmeter.cli.logging_files import WholeFile
from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_chunks
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError
from coilmeter.report.flex_drawing import FLEX_FIGURE, flex_caption, flex_drawing
from coilmeter.report.label import Labelled, label, label_sheets
from coilmeter.report.page import ChainPicture, Figure, HeadPage, page
from coilmeter.report.photos import load_photo
from coilmeter.values import Grade, HeadResult, Purpose, ReadingRow
from coilmeter.values.about import FACE_WORDS, About

IMPEDANCE_FIGURE: Final = "Impedance"
IMPEDANCE_CAPTION: Final = (
    "Impedance of each coil as it was read, with its uncertainty (k = 2); the lines are the "
    "coil that was fitted to it."
)


def check_face(face: str, more: str) -> str:
    """Give the words for the look of a face, as they are defined.

    `more` tells where other words go.

    Raises
    ------
    InputError
        When they are others: wear is told in words that a buyer can check.

    """
    if face and face not in FACE_WORDS:
        raise InputError(
            f"--face: saw {face!r}",
            hint=f"it is one of: {', '.join(FACE_WORDS)}; {more}.",
        )
    return face


def put_page(
    heads: Sequence[HeadResult],
    rows: Sequence[ReadingRow],
    settings: Settings,
    about: About,
    photos: Sequence[Path],
    chain: ChainPicture | None,
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
    by_head = rows_by_head(rows)
    pages = [
        HeadPage(
            head,
            by_head.get(head.head, []),
            settings.kinds.get(head.kind),
            about,
            pictures,
            drawings_of(head),
            chain=chain,
        )
        for head in heads
    ]
    put_chunks([page(pages, settings)], out)
    matched = all(head.grade is Grade.MATCHED for head in heads)
    return ALL_SOUND if matched else SOMETHING


def rows_by_head(rows: Sequence[ReadingRow]) -> dict[str, list[ReadingRow]]:
    """Rows by head, each with the lead nulls of its files that are of no head and so of all."""
    nulls: dict[str, list[ReadingRow]] = {}
    paths: dict[str, dict[str, None]] = {}
    by_head: dict[str, list[ReadingRow]] = {}
    for row in rows:
        if row.head or row.purpose is not Purpose.LEAD_NULL:
            by_head.setdefault(row.head, []).append(row)
            paths.setdefault(row.head, {})[row.path] = None
        else:
            nulls.setdefault(row.path, []).append(row)
    return {
        head: [*(null for path in paths[head] for null in nulls.get(path, [])), *taken]
        for head, taken in by_head.items()
    }


def drawings_of(head: HeadResult) -> list[Figure]:
    """Drawings of a page about a head besides that of its ohms: flexing, impedance, L, Q."""
    told = []
    flexed = flex_drawing(head.coils)
    if flexed:
        told.append(Figure(FLEX_FIGURE, flexed, flex_caption(head.coils)))
    coils = {coil.coil: coil.impedance for coil in head.coils if coil.impedance is not None}
    if coils:
        from coilmeter.report.impedance_plots import frequency_drawing

        drawn = frequency_drawing(coils)
        if drawn:
            told.append(Figure(IMPEDANCE_FIGURE, drawn, IMPEDANCE_CAPTION))
    return [*told, *figures_of(head)]


def put_label(heads: Sequence[HeadResult], rows: Sequence[ReadingRow], path: Path) -> None:
    """Write the label of one head from readings files; its name stands for its record.

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
    days = [row.time[:10] for row in rows if row.time]
    put_labels([Labelled(heads[0], heads[0].head, max(days, default=""))], path)


def put_labels(labels: Sequence[Labelled], path: Path) -> None:
    """Write labels, several of them as a PDF with a sheet each.

    Raises
    ------
    InputError
        When the file is of another sort, or an SVG of several heads.
    StoreError
        When it cannot be written.

    """
    form = path.suffix.lower()
    if form not in {".svg", ".pdf"}:
        raise InputError(f"{path}: saw {path.suffix!r}", hint="name it FILE.svg or FILE.pdf.")
    if form == ".pdf":
        drawn = label_sheets(labels)
    elif len(labels) == 1:
        drawn = label(labels[0])
    else:
        raise InputError(
            f"{path}: one label for {len(labels)} heads",
            hint="name a FILE.pdf: it holds a sheet a head.",
        )
    with WholeFile(path) as file:
        file.write_bytes(drawn)
