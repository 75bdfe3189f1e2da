"""Results as tables that are printed or piped: for the bench, in Markdown, and as CSV."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from coilmeter.compute.budget import PARTS
from coilmeter.report.document import role_key
from coilmeter.report.reasons import coil_reason, path_reason
from coilmeter.report.safe import escaped, for_markdown, for_spreadsheet, printable
from coilmeter.report.widths import sentence, table
from coilmeter.units import format_with_uncertainty
from coilmeter.values import CoilResult, HeadResult, IsolationResult

COVERAGE_FACTOR: Final = 2.0
LAST_COLUMN: Final = 28
_COIL_HEADER: Final = ("verdict", "coil", "role", "pins", "at 20 degC", "siblings", "why")
_ROLE_COLUMN: Final = 2
_PATH_HEADER: Final = ("verdict", "path", "pins", "read", "why")
_TONE_COLUMNS: Final = ("frequency_hz", "inductance_h", "u_inductance_h", "q", "ac_sign")
CSV_COLUMNS: Final = (
    "head",
    "kind",
    "grade",
    "what",
    "from",
    "to",
    "role",
    "pins",
    "evidence",
    "reading",
    "bound_ohm",
    "resistance_20c_ohm",
    "u_ohm",
    "verdict",
    "probability",
    "between",
    "match",
    "deviation",
    "u_deviation",
    "next",
    "flex",
    *_TONE_COLUMNS,
)


def text_chunks(
    heads: Iterable[HeadResult],
    *,
    markdown: bool = False,
    parts: bool = False,
    columns: int | None = None,
) -> Iterator[str]:
    """Tables of each head, for people or in Markdown.

    Parameters
    ----------
    heads
        Results, consumed one by one.
    markdown
        Markdown instead of plain text.
    parts
        Whether the uncertainty budget of each coil follows.
    columns
        Columns of the terminal that plain text goes to; None where it goes to none.

    """
    style = _Markdown() if markdown else _Plain(columns)
    separator = ""
    for head in heads:
        yield separator + "\n".join(_head(head, style, parts=parts)) + "\n"
        separator = "\n"


def csv_chunks(heads: Iterable[HeadResult], *, parts: bool = False) -> Iterator[str]:
    """CSV with one line a coil or path; numbers in SI units, empty where unknown."""
    extra = tuple(f"u_{name}_ohm" for name in PARTS) if parts else ()
    yield _csv_line([*CSV_COLUMNS, *extra])
    for head in heads:
        for coil in head.coils:
            given = coil.parts_ohm or (None,) * len(PARTS)
            yield _csv_line([*_coil_cells(head, coil), *given[: len(extra)]])
        for path in head.isolation:
            yield _csv_line([*_path_cells(head, path), *(None for _ in extra)])


class _Plain:
    """Text for a terminal, wrapped."""

    tablefmt = "simple"
    wraps = True

    def __init__(self, columns: int | None = None) -> None:
        self.columns = columns

    def cell(self, text: str) -> str:
        return printable(text)

    def title(self, text: str) -> str:
        return text if self.columns is None else sentence(text, self.columns)

    def paragraph(self, text: str) -> str:
        return sentence(text, self.columns)

    def lead_in(self, text: str) -> str:
        return f"\n{text}"

    def item(self, text: str) -> str:
        return sentence(text, self.columns, first="  - ", then="    ")


class _Markdown(_Plain):
    """Text for a Markdown file."""

    tablefmt = "github"
    wraps = False

    def cell(self, text: str) -> str:
        return for_markdown(text)

    def title(self, text: str) -> str:
        return f"## {text}\n"

    def paragraph(self, text: str) -> str:
        return escaped(text)

    def lead_in(self, text: str) -> str:
        return f"\n{text}\n"

    def item(self, text: str) -> str:
        return f"- {escaped(text)}"


def _head(head: HeadResult, style: _Plain, *, parts: bool) -> Iterator[str]:
    roles = {coil.role for coil in head.coils}
    about = [f"head {style.cell(head.head)}", style.cell(head.kind)]
    about += [f"{len(head.coils)} x {role}" for role in roles if len(roles) == 1]
    yield style.title(f"{head.grade.upper()}: {', '.join(filter(None, about))}")
    yield style.paragraph(head.grade_reason)
    yield ""
    yield _coil_table(head.coils, style)
    if head.isolation:
        yield ""
        yield _table(_PATH_HEADER, [_path_line(path, style) for path in head.isolation], style)
    yield from _tones(head, style)
    if parts and any(coil.parts_ohm for coil in head.coils):
        yield ""
        yield _budget_table(head.coils, style)
    nexts = [(f"coil {printable(coil.coil)}", coil.next) for coil in head.coils if coil.next]
    nexts += [
        (f"{printable(path.start)} to {printable(path.end)}", path.next)
        for path in head.isolation
        if path.next
    ]
    yield from _listed("Next:", [f"{where}: {what}" for where, what in nexts], style)
    yield from _listed("Mind:", head.cautions, style)


def _tones(head: HeadResult, style: _Plain) -> Iterator[str]:
    """Table of what AC volts gave, and what it shows; nothing where none were taken."""
    found = {coil.coil: coil.impedance for coil in head.coils if coil.impedance is not None}
    if not found:
        return
    from coilmeter.report.impedance_rows import (  # noqa: PLC0415 - only where there are AC volts
        HEADINGS,
        reasons,
        shown_rows,
    )

    rows = [row for name, coil in found.items() for row in shown_rows(name, coil)]
    if rows:
        yield ""
        yield _table(HEADINGS, [[style.cell(cell) for cell in row] for row in rows], style)
        yield from _listed("By AC volts:", reasons(found), style)


def _listed(title: str, lines: Sequence[str], style: _Plain) -> Iterator[str]:
    if lines:
        yield style.lead_in(title)
        for line in lines:
            yield style.item(line)


def _table(header: Sequence[str], lines: Sequence[Sequence[str]], style: _Plain) -> str:
    if style.wraps:
        lines = [[*line[:-1], textwrap.fill(line[-1], LAST_COLUMN)] for line in lines]
    return table(header, lines, style.columns, style=style.tablefmt)


def _coil_table(coils: Sequence[CoilResult], style: _Plain) -> str:
    """One line a coil; roles only where they differ, to leave room at the bench."""
    lines = [_COIL_HEADER, *(_coil_line(coil, style) for coil in coils)]
    if len({coil.role for coil in coils}) == 1:
        lines = [line[:_ROLE_COLUMN] + line[_ROLE_COLUMN + 1 :] for line in lines]
    return _table(lines[0], lines[1:], style)


def _coil_line(coil: CoilResult, style: _Plain) -> tuple[str, ...]:
    return (
        coil.verdict,
        style.cell(coil.coil),
        coil.role,
        "" if coil.pins is None else style.cell("-".join(coil.pins)),
        _with_uncertainty(coil.resistance_20c_ohm, coil.u_ohm),
        _match(coil),
        coil_reason(coil),
    )


def _match(coil: CoilResult) -> str:
    if coil.deviation is None:
        return coil.match
    return f"{coil.match} {100 * coil.deviation:+.1f} %"


def _path_line(path: IsolationResult, style: _Plain) -> tuple[str, ...]:
    return (
        path.verdict,
        f"{style.cell(path.start)} to {style.cell(path.end)}",
        "" if path.pins is None else style.cell("-".join(path.pins)),
        _with_uncertainty(path.resistance_ohm, path.u_ohm) or style.cell(path.reading),
        path_reason(path),
    )


def _with_uncertainty(value_ohm: float | None, u_ohm: float | None) -> str:
    """Value with its expanded uncertainty (k = 2), both rounded by the one rule."""
    if value_ohm is None or u_ohm is None:
        return ""
    return format_with_uncertainty(value_ohm, COVERAGE_FACTOR * u_ohm)


def _budget_table(coils: Sequence[CoilResult], style: _Plain) -> str:
    """Show the standard uncertainty by cause, and the share of each in the variance."""
    lines = []
    for coil in coils:
        if coil.u_ohm is None:
            continue
        cells = [
            f"{part:#.2g} ({100 * (part / coil.u_ohm) ** 2:.0f} %)" for part in coil.parts_ohm
        ]
        lines.append((style.cell(coil.coil), *cells, f"{coil.u_ohm:#.2g}"))
    return _table(("coil: u in ohm", *PARTS, "together"), lines, style)


def _coil_cells(head: HeadResult, coil: CoilResult) -> list[object]:
    return [
        *(head.head, head.kind, head.grade, "coil", coil.coil, ""),
        role_key(coil.role),
        "" if coil.pins is None else "-".join(coil.pins),
        coil.evidence,
        coil.reading,
        coil.bound_ohm,
        coil.resistance_20c_ohm,
        coil.u_ohm,
        coil.verdict,
        coil.probability,
        " or ".join(coil.between),
        coil.match,
        coil.deviation,
        coil.u_deviation,
        coil.next,
        None if coil.flex is None else coil.flex.stability,
        *_tone_cells(coil),
    ]


def _tone_cells(coil: CoilResult) -> tuple[object, ...]:
    """Cells of what AC volts gave, in the order of `_TONE_COLUMNS`; None for each without."""
    if coil.impedance is None:
        return (None,) * len(_TONE_COLUMNS)
    from coilmeter.report.impedance_rows import csv_cells  # noqa: PLC0415 - as in _tones

    return csv_cells(coil.impedance)


def _path_cells(head: HeadResult, path: IsolationResult) -> list[object]:
    return [
        *(head.head, head.kind, head.grade, "path", path.start, path.end, ""),
        "" if path.pins is None else "-".join(path.pins),
        path.evidence,
        path.reading,
        path.bound_ohm,
        path.resistance_ohm,
        path.u_ohm,
        path.verdict,
        path.probability,
        " or ".join(path.between),
        *("", None, None),
        path.next,
        *(None for _ in CSV_COLUMNS[CSV_COLUMNS.index("flex") :]),
    ]


def _csv_line(cells: Sequence[object]) -> str:
    line = io.StringIO()
    shown: Callable[[object], str] = lambda cell: (  # noqa: E731 - two words long
        ""
        if cell is None
        else repr(cell)
        if isinstance(cell, float)
        else for_spreadsheet(str(cell))
    )
    csv.writer(line, lineterminator="\n").writerow([shown(cell) for cell in cells])
    return line.getvalue()
