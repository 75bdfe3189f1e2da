"""A small label for a bag in the bin: the id as a QR code, and the key figures in words."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.values import CoilResult, Condition, HeadResult

WIDTH_MM: Final = 62.0
HEIGHT_MM: Final = 29.0
_MM: Final = 1 / 25.4
_QR_MM: Final = 23.0
_MARGIN_MM: Final = 3.0
_MOST_LINES: Final = 5
_LONGEST: Final = 26
_FONTS: Final[Any] = {"svg.hashsalt": "coilmeter", "svg.fonttype": "path", "pdf.fonttype": 42}


@dataclass(frozen=True, slots=True)
class Labelled:
    """What a label says of one head.

    Parameters
    ----------
    result
        Verdicts on the head.
    record
        Id of the head's record.
    day
        When it was measured; empty where that is not known.
    code
        What a person calls the record by; empty where that is its id.

    """

    result: HeadResult
    record: str
    day: str = ""
    code: str = ""


def label(labelled: Labelled) -> bytes:
    """Draw the label of a head as SVG, 62 mm by 29 mm, black on white.

    The QR code (ISO/IEC 18004) carries the record's id and nothing else.
    """
    from matplotlib import rc_context  # noqa: PLC0415 - heavy, and only for labels

    with rc_context(_FONTS):
        out = io.BytesIO()
        _figure(labelled).savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def label_sheets(labels: Sequence[Labelled]) -> bytes:
    """Draw labels as one PDF, a sheet of 62 mm by 29 mm each."""
    from matplotlib import rc_context  # noqa: PLC0415 - heavy, and only for labels
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415 - as above

    out = io.BytesIO()
    with rc_context(_FONTS), PdfPages(out, metadata={"CreationDate": None}) as sheets:
        for each in labels:
            sheets.savefig(_figure(each))
    return out.getvalue()


def _figure(labelled: Labelled) -> Any:
    from matplotlib.figure import Figure  # noqa: PLC0415 - heavy, and only for labels

    figure = Figure(figsize=(WIDTH_MM * _MM, HEIGHT_MM * _MM))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, WIDTH_MM)
    axes.set_ylim(HEIGHT_MM, 0.0)
    axes.set_axis_off()
    _draw_code(axes, labelled.record)
    left = _MARGIN_MM + _QR_MM + 2.0
    called = labelled.code or labelled.record
    texts = label_lines(labelled.result, called, labelled.day)
    for number, text in enumerate(texts):
        large = number == 0
        drawn = axes.text(
            left,
            4.0 + 4.4 * number,
            text,
            fontsize=9 if large else 6.4,
            fontweight="bold" if large else "normal",
            va="center",
            parse_math=False,
        )
        _fit(drawn, (WIDTH_MM - _MARGIN_MM - left) * _MM)
    return figure


def _fit(drawn: Any, width_inch: float) -> None:
    """Make a text smaller that would run off the paper."""
    wide = drawn.get_window_extent().width / drawn.figure.dpi
    if wide > width_inch:
        drawn.set_fontsize(drawn.get_fontsize() * width_inch / wide)


def label_lines(result: HeadResult, record: str, day: str = "") -> list[str]:
    """Lines of a label: name, grade, the coils, the day, and the id where it is another."""
    lines = [_short(result.head), f"{result.grade}  {_short(result.kind)}"]
    values = [_coil_text(coil) for coil in result.coils]
    half = (len(values) + 1) // 2 if len(values) > 3 else len(values)  # noqa: PLR2004 - a line
    lines += [", ".join(part) for part in (values[:half], values[half:]) if part]
    called = "" if record == result.head else record[:_LONGEST]
    last = " ".join(filter(None, (day, called)))
    return [*lines[: _MOST_LINES - 1], *([last] if last else [])]


def _coil_text(coil: CoilResult) -> str:
    if coil.verdict is Condition.INTACT and coil.resistance_20c_ohm is not None:
        value = format_ohm(coil.resistance_20c_ohm, 2 * (coil.u_ohm or 0.0))
        return f"{printable(coil.coil)} {value}"
    return f"{printable(coil.coil)} {coil.verdict}"


def _short(text: str) -> str:
    shown = printable(text)
    return shown if len(shown) <= _LONGEST else f"{shown[: _LONGEST - 3]}..."


def _draw_code(axes: Any, text: str) -> None:
    """Draw the dark modules of a QR code as rectangles, a row of neighbours as one."""
    import segno  # noqa: PLC0415 - only for labels
    from matplotlib.patches import Rectangle  # noqa: PLC0415 - as above

    matrix: Sequence[Sequence[int]] = segno.make_qr(text, error="m").matrix
    side = _QR_MM / len(matrix)
    for y, row in enumerate(matrix):
        x = 0
        while x < len(row):
            run = 0
            while x + run < len(row) and row[x + run]:
                run += 1
            if run:
                corner = (_MARGIN_MM + x * side, _MARGIN_MM + y * side)
                axes.add_patch(Rectangle(corner, run * side, side, color="black", linewidth=0))
            x += run or 1
