"""Flexing of the coils of a head as a part of a page: how far each strayed as it was moved.

Drawn from the figures that stay with the readings; the stream itself stays in its log.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import Any, Final

from coilmeter.report.drawings import BAND, FAINT, INK, MARK, inline
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.values import CoilResult
from coilmeter.values.flexing import FlexFigures

FLEX_FIGURE: Final = "Flexing"
"""Title of the figure."""

_MARGIN: Final = 0.25


def flex_drawing(coils: Sequence[CoilResult]) -> str:
    """Draw the readings of each coil that was flexed about their median, as SVG.

    Empty where no coil was flexed, or no reading of one is known.
    """
    flexed = list(_drawn(coils))
    if not flexed:
        return ""
    from matplotlib import rc_context  # noqa: PLC0415 - heavy, and only for pages
    from matplotlib.figure import Figure  # noqa: PLC0415 - as above

    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "coilmeter", "font.size": 10}):
        figure = Figure(figsize=(6.6, 0.75 + 0.36 * len(flexed)), layout="constrained")
        axes = figure.add_subplot()
        figure.patch.set_alpha(0)
        axes.patch.set_alpha(0)
        _draw(axes, flexed)
        out = io.StringIO()
        blank = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        figure.savefig(out, format="svg", metadata=blank)
    told = "; ".join(_spoken(coil, figures) for coil, figures in flexed)
    return inline(out.getvalue(), f"Readings of each coil as its joint was moved: {told}")


def flex_caption(coils: Sequence[CoilResult]) -> str:
    """Say what the drawing shows, and what flexing showed of each coil."""
    words = [f"coil {coil.coil} {coil.flex.stability}" for coil in coils if coil.flex]
    return (
        f"As its joint and leads were moved: {', '.join(words)}. Each line runs from the least "
        "to the most that was read, the dot is the median, the bar how far a reading may stray "
        "without counting as a change; drop-outs are counted beside it."
    )


def _drawn(coils: Sequence[CoilResult]) -> Iterator[tuple[CoilResult, FlexFigures]]:
    for coil in coils:
        figures = None if coil.flex is None else coil.flex.figures
        if figures is not None and figures.median_ohm is not None:
            yield coil, figures


def _draw(axes: Any, flexed: Sequence[tuple[CoilResult, FlexFigures]]) -> None:
    places = range(len(flexed), 0, -1)
    ends = [0.0]
    for place, (_, figures) in zip(places, flexed, strict=True):
        median, limit = figures.median_ohm or 0.0, figures.jump_limit_ohm
        if limit:
            ends += [-limit, limit]
            axes.plot(
                [-limit, limit], [place, place], color=BAND, linewidth=9, solid_capstyle="butt"
            )
        low, high = (
            0.0 if end is None else end - median
            for end in (figures.least_ohm, figures.most_ohm)
        )
        ends += [low, high]
        axes.errorbar(
            0.0,
            place,
            xerr=[[max(-low, 0.0)], [max(high, 0.0)]],
            fmt="o",
            color=MARK,
            markersize=5,
            capsize=4,
            linewidth=1.6,
        )
    margin = _MARGIN * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - margin, max(ends) + margin)
    axes.set_ylim(0.4, len(flexed) + 0.75)
    for place, (coil, figures) in zip(places, flexed, strict=True):
        axes.annotate(
            _beside(coil, figures),
            (1.0, place),
            (0, 7),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            ha="right",
            color=INK,
            fontsize=9,
        )
    axes.set_yticks(
        list(places),
        [
            f"coil {printable(coil.coil)}, {format_ohm(figures.median_ohm or 0.0)}"
            for coil, figures in flexed
        ],
    )
    axes.set_xlabel("ohm off its median", color=INK)
    axes.tick_params(colors=INK)
    for name, spine in axes.spines.items():
        spine.set_visible(name == "bottom")
        spine.set_color(FAINT)


def _beside(coil: CoilResult, figures: FlexFigures) -> str:
    word = "" if coil.flex is None else str(coil.flex.stability)
    return f"{word}, {figures.dropouts} x open" if figures.dropouts else word


def _spoken(coil: CoilResult, figures: FlexFigures) -> str:
    """Words for those who hear the page."""
    least, most = figures.least_ohm, figures.most_ohm
    reach = (
        f"{format_ohm(figures.median_ohm or 0.0)} in the middle"
        if least is None or most is None
        else f"{format_ohm(least)} to {format_ohm(most)}"
    )
    return f"coil {printable(coil.coil)} {_beside(coil, figures)}, {reach}"
