"""What flexing showed, as rows: figures for a person, one record for a program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from coilmeter.report.listing import Listing
from coilmeter.units import format_ohm
from coilmeter.values import FlexFigures, FlexResult
from coilmeter.values.flexing import FIGURES

_AS_SHOWN: Final = 10.0
_PER_CENT: Final = 100.0


def flex_listing(
    result: FlexResult,
    *,
    about: Sequence[tuple[str, str | None]],
    meaning: str,
    step_ohm: float,
) -> Listing:
    """Make the list of one flexing.

    Parameters
    ----------
    result
        What it showed.
    about
        Head, coil and the like, by key; None where not known.
    meaning
        What its word means, in plain words.
    step_ohm
        Last digit of the meter in ohm, zero where not known: nothing finer is shown.

    """
    figures = result.evidence.figures
    shown = list(_shown(figures, step_ohm))
    keys = [name for name, _ in about] + ["verdict", "reason", *FIGURES, "next"]
    fields: list[Any] = [value for _, value in about]
    fields += [result.evidence.stability, result.reason]
    fields += [getattr(figures, name) for name in FIGURES]
    fields.append(result.next or None)
    notes = [f"It means: {meaning}."]
    if result.next:
        notes.append(f"Next: {result.next}.")
    notes += result.notes
    return Listing(
        name="flexings",
        headings=("figure", "value"),
        shown=shown,
        keys=keys,
        fields=[fields],
        notes=notes,
    )


def flex_title(result: FlexResult, where: str) -> str:
    """Title of the list: the word first, then the reason."""
    return f"{result.evidence.stability.upper()}: {where}\n{result.reason}"


def _shown(figures: FlexFigures, step_ohm: float) -> Iterator[tuple[str, str]]:
    """Yield the figures that are known, as a person reads them."""

    def ohms(value: float | None) -> str:
        if value is None:
            return "unknown"
        sign = "-" if value < 0 else ""
        return f"{sign}{format_ohm(abs(value), _AS_SHOWN * step_ohm or None)}"

    def scatter(value: float | None) -> str:
        if value is None:
            return "unknown"
        return format_ohm(value, value) if value else "below the last digit"

    own = figures.own_scatter_ohm or 0.0
    rate = "" if figures.rate_hz is None else f", {figures.rate_hz:.1f} a second"
    yield "readings", f"{figures.readings} in {figures.duration_s or 0:.1f} s{rate}"
    yield "least", ohms(figures.least_ohm)
    yield "median", ohms(figures.median_ohm)
    yield "most", ohms(figures.most_ohm)
    times = (
        f", {figures.scatter_ohm / own:.1f} x its own" if figures.scatter_ohm and own else ""
    )
    yield "scatter", f"{scatter(figures.scatter_ohm)}{times}"
    yield "robust scatter", scatter(figures.robust_scatter_ohm)
    yield "the meter's own scatter", scatter(figures.own_scatter_ohm)
    yield "counts as a change", f"above {format_ohm(figures.jump_limit_ohm or 0.0)}"
    yield "drop-outs", str(figures.dropouts)
    if figures.dropouts or figures.doubtful:
        share = _PER_CENT * (figures.open_share or 0.0)
        yield "longest drop-out", f"{figures.longest_s or 0:.2f} s"
        yield "open", f"{share:.1f} % of the time"
    if figures.doubtful:
        yield "doubtful OL", str(figures.doubtful)
    changes = (figures.jumps or 0) + (figures.blips or 0)
    yield "changes of level", str(changes)
    if changes:
        yield "largest change", ohms(figures.largest_jump_ohm)
    if figures.drift_ohm is not None:
        yield "drift", ohms(figures.drift_ohm)
    if figures.unexplained_s:
        yield "OL left out", f"{figures.unexplained_s:.1f} s"
