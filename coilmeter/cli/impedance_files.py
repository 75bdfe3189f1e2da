"""Files of AC volts: read, judged, and put out as results or a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from coilmeter.cli.logging_files import WholeFile
from coilmeter.cli.options import Shape
from coilmeter.cli.results import ALL_SOUND, SOMETHING, put_listing, standard_input
from coilmeter.compute.settings import Settings
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import InputError, Mistake, StoreError
from coilmeter.sources.impedance_sheet import is_volts_file, parse_volts, read_volts
from coilmeter.sources.sheet_row import STANDARD_INPUT
from coilmeter.values import HeadResult
from coilmeter.values.impedance_rows import ImpedanceRow
from coilmeter.values.impedances import HeadImpedance, Sign

if TYPE_CHECKING:
    from coilmeter.report.page import Figure as PageFigure

PLOTS: Final = ("svg", "png")
_WHOLE: Final = 100.0


def read_all(
    files: Sequence[str], references: Sequence[Path] = ()
) -> tuple[list[ImpedanceRow], list[Mistake]]:
    """Read files of AC volts, and files in which all coils are known to be good.

    Raises
    ------
    InputError
        When one cannot be read at all.

    """
    rows: list[ImpedanceRow] = []
    mistakes: list[Mistake] = []
    for name in files:
        if name == "-":
            sheet = parse_volts(standard_input().read(), STANDARD_INPUT)
        else:
            sheet = read_volts(Path(name))
        rows += sheet.rows
        mistakes += sheet.mistakes
    for path in references:
        sheet = read_volts(path)
        rows += [replace(row, reference=True) for row in sheet.rows]
        mistakes += sheet.mistakes
    return rows, mistakes


def make_limits(
    q_below: float, l_noticeable: float, l_mismatched: float, confidence: float
) -> Limits:
    """Check the limits, given in per cent.

    Raises
    ------
    InputError
        When they cannot be.

    """
    if not 0 < q_below < _WHOLE:
        raise InputError(f"--q-below: saw {q_below:g}, expected per cent between 0 and 100")
    if not 0 < l_noticeable < l_mismatched < _WHOLE:
        raise InputError(
            f"--l-noticeable {l_noticeable:g} and --l-mismatched {l_mismatched:g}: expected "
            "per cent, the first below the second, both between 0 and 100"
        )
    return Limits(q_below / _WHOLE, l_noticeable / _WHOLE, l_mismatched / _WHOLE, confidence)


def check_plot(plot: Path | None) -> None:
    """Refuse a picture of another sort, with `InputError`."""
    if plot is not None and plot.suffix[1:].lower() not in PLOTS:
        raise InputError(
            f"--plot: saw {str(plot)!r}, expected a name that ends in .svg or .png"
        )


def check_written(written: Sequence[Path | None]) -> None:
    """Refuse to write results over AC volts.

    Raises
    ------
    StoreError
        When there are AC volts in a file that is to be written.

    """
    for path in written:
        try:
            holds_volts = path is not None and path.is_file() and is_volts_file(path)
        except OSError:
            continue
        if holds_volts:
            raise StoreError(
                f"{path}: there are AC volts in it, and results would take their place",
                hint="give another name.",
            )


def judged(
    files: Sequence[str],
    references: Sequence[Path],
    settings: Settings,
    limits: Limits,
    heads: Sequence[HeadResult] = (),
) -> list[HeadImpedance]:
    """Read and judge files of AC volts.

    `heads`, judged from ohms, give the DC resistance of their coils.

    Raises
    ------
    InputError
        When a file cannot be read, or has mistakes.

    """
    from coilmeter.compute.impedance_heads import measured_heads

    rows, mistakes = read_all(files, references)
    return measured_heads(rows, settings, limits, mistakes, heads)


def figures_of(head: HeadResult) -> list[PageFigure]:
    """Drawing of inductance and Q for a page about a head; none without AC volts."""
    from coilmeter.report.impedance_plots import impedance_drawing
    from coilmeter.report.impedance_rows import reasons
    from coilmeter.report.page import INDUCTANCE_FIGURE, Figure

    coils = {coil.coil: coil.impedance for coil in head.coils if coil.impedance is not None}
    if not coils:
        return []
    caption = " ".join(reasons(coils))
    compared = {name for name, coil in coils.items() if coil.sign is not Sign.NO_REFERENCE}
    whole = compared == {coil.coil for coil in head.coils}
    title = INDUCTANCE_FIGURE if whole else f"{INDUCTANCE_FIGURE}, not of every coil"
    return [Figure(title, impedance_drawing(coils), caption)]


def with_volts(
    heads: Sequence[HeadResult],
    files: Sequence[Path],
    references: Sequence[Path],
    settings: Settings,
) -> list[HeadResult]:
    """Join files of AC volts to verdicts from ohms, by the usual limits; none, nothing.

    Raises
    ------
    InputError
        When a file cannot be read, or has mistakes.

    """
    if not files:
        return list(heads)
    from coilmeter.compute.impedance_heads import with_impedance

    rows, mistakes = read_all([str(path) for path in files], references)
    limits = Limits(confidence=settings.confidence)
    return with_impedance(heads, rows, settings, limits, mistakes)


def put_impedances(
    heads: Sequence[HeadImpedance],
    limits: Limits,
    shape: Shape,
    out: Path | None,
    plot: Path | None,
    *,
    parts: bool,
) -> int:
    """Write results and picture.

    The exit code is 0 when no coil shows a sign and none had to be left out, else 1.

    Raises
    ------
    InputError
        When the picture is to show several heads.
    StoreError
        When a file cannot be written.

    """
    from coilmeter.report.impedance_rows import impedance_listing

    if plot is not None and len(heads) != 1:
        raise InputError(
            f"--plot with {len(heads)} heads in the files",
            hint="draw the picture of one head at a time.",
        )
    put_listing(impedance_listing(heads, limits.confidence, parts=parts), shape, out)
    if plot is not None and heads[0].coils:
        from coilmeter.report.impedance_plots import impedance_picture

        head = heads[0]
        drawn = impedance_picture(
            head.coils, plot.suffix[1:].lower(), f"head {head.head}", limits
        )
        with WholeFile(plot) as file:
            file.write_bytes(drawn)
    signs = {coil.sign for head in heads for coil in head.coils.values()}
    refused = any(head.refused for head in heads)
    return ALL_SOUND if signs == {Sign.NONE} and not refused else SOMETHING
