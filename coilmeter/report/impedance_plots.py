"""Pictures of impedances: |Z| and phase over frequency with the fit; L and Q side by side."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Mapping
from statistics import median
from typing import TYPE_CHECKING, Any, Final

from coilmeter.compute.turns_group import Limits
from coilmeter.report.drawings import FAINT, INK, MARK, inline
from coilmeter.report.plots import with_alternative
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm
from coilmeter.units.si_text import format_si
from coilmeter.values.impedances import CoilFit, CoilImpedance, Figure, ImpedancePoint

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_COLOURS: Final = ("#0b5394", "#b45f06", "#38761d", "#741b47", "#7f6000", "#351c75")
_ON_ANY_PAPER: Final = ("#3b82c4", "#c9771e", "#4c9a4c", "#a05fb4", "#9a8a1e", "#6f6fd0")
"""Told from light paper and from dark; the markers differ as well."""

_MARKERS: Final = "osD^vP"
_RED: Final = "#990000"
_GREY: Final = "#999999"
_CURVE: Final = 120
_TWO: Final = 2


def impedance_picture(
    coils: Mapping[str, CoilImpedance], shape: str, title: str, limits: Limits | None = None
) -> bytes:
    """Draw the coils of a head as ``svg`` or ``png``, the text alternative in the file.

    Parameters
    ----------
    coils
        By name.
    shape
        ``svg`` or ``png``.
    title
        Title of the picture.
    limits
        Drawn as lines; None for the usual ones.

    """
    import matplotlib as mpl  # noqa: PLC0415 - heavy, and only here
    from matplotlib.figure import Figure as Canvas  # noqa: PLC0415 - as above

    title = printable(title)
    with mpl.rc_context():
        # Not as this user has set up other programs, and the same bytes each time.
        mpl.rcdefaults()
        mpl.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "coilmeter"})
        tones = any(len(coil.points) >= _TWO for coil in coils.values())
        canvas = Canvas(figsize=(9.0, 7.0 if tones else 3.6), layout="constrained")
        canvas.suptitle(title.encode("ascii", "backslashreplace").decode(), parse_math=False)
        axes = canvas.subplots(2 if tones else 1, 2, squeeze=False)
        if tones:
            _over_frequency(axes[0][0], axes[0][1], coils)
        _side_by_side(axes[-1][0], axes[-1][1], coils, limits or Limits())
        file = io.BytesIO()
        about = {"Title": title, "Description": alternative(coils)}
        metadata: dict[str, Any] = {"Date": None} if shape == "svg" else about
        canvas.savefig(file, format=shape, metadata=metadata)
    data = file.getvalue()
    return with_alternative(data, **about) if shape == "svg" else data


def impedance_drawing(coils: Mapping[str, CoilImpedance]) -> str:
    """Draw L and Q of the coils side by side as a part of a page, in the page's colours."""

    def draw(left: Axes, right: Axes) -> None:
        _side_by_side(left, right, coils, Limits(), MARK)

    return _part_of_page(draw, alternative(coils))


def frequency_drawing(coils: Mapping[str, CoilImpedance]) -> str:
    """Draw |Z| and phase over frequency as a part of a page; empty where no coil has two tones.

    The coils are told apart by colour and marker.
    """
    several = {name: coil for name, coil in coils.items() if len(coil.points) >= _TWO}
    if not several:
        return ""

    def draw(left: Axes, right: Axes) -> None:
        _over_frequency(left, right, several, _ON_ANY_PAPER)

    told = "; ".join(
        f"coil {printable(name)} "
        + ", ".join(
            f"{format_ohm(point.figures.z.value)} and {_degrees(point):.0f} degrees at "
            f"{format_si(point.impedance.frequency_hz, 'Hz')}"
            for point in coil.points
        )
        for name, coil in several.items()
    )
    return _part_of_page(draw, f"Impedance over frequency: {told}.")


def _part_of_page(draw: Callable[[Axes, Axes], None], spoken: str) -> str:
    """Draw two pictures side by side as SVG in the page's colours."""
    from matplotlib import rc_context  # noqa: PLC0415 - heavy, and only for pages
    from matplotlib.figure import Figure as Canvas  # noqa: PLC0415 - as above

    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "coilmeter", "font.size": 10}):
        canvas = Canvas(figsize=(6.6, 2.6), layout="constrained")
        left, right = canvas.subplots(1, 2)
        draw(left, right)
        _plain(canvas, left, right)
        out = io.StringIO()
        blank = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        canvas.savefig(out, format="svg", metadata=blank)
    return inline(out.getvalue(), spoken)


def alternative(coils: Mapping[str, CoilImpedance]) -> str:
    """Say in words what the picture shows."""
    parts = []
    for name, coil in coils.items():
        point = coil.leading
        q = point.figures.q.value
        parts.append(
            f"coil {printable(name)} {format_si(point.figures.l.value, 'H')}, Q "
            f"{q:.2g} at {format_si(point.impedance.frequency_hz, 'Hz')}, {coil.sign}"
        )
    return f"Inductance and Q of the coils side by side: {'; '.join(parts)}."


def _over_frequency(
    size: Axes,
    phase: Axes,
    coils: Mapping[str, CoilImpedance],
    colours: tuple[str, ...] = _COLOURS,
) -> None:
    """|Z| and phase of each coil over frequency, the fit as a line."""
    for number, (name, coil) in enumerate(coils.items()):
        colour = colours[number % len(colours)]
        marker = _MARKERS[number % len(_MARKERS)]
        at = [point.impedance.frequency_hz for point in coil.points]
        label = f"coil {printable(name)}"
        look: dict[str, Any] = {"color": colour, "marker": marker, "markersize": 5}
        look |= {"linestyle": "none", "capsize": 3, "label": label}
        size.errorbar(
            at,
            [point.figures.z.value for point in coil.points],
            yerr=[point.figures.z.k * point.figures.z.u for point in coil.points],
            **look,
        )
        phase.errorbar(
            at,
            [_degrees(point) for point in coil.points],
            yerr=[_u_degrees(point) for point in coil.points],
            **look,
        )
        if coil.fit is not None:
            _curve(size, phase, coil.fit, at, colour)
    for axes, what in ((size, "|Z| in ohm"), (phase, "phase in degrees")):
        axes.set_xscale("log")
        axes.set_xlabel("frequency in Hz")
        axes.set_ylabel(what)
        axes.grid(visible=True, which="both", alpha=0.25)
    size.set_yscale("log")
    phase.set_ylim(0.0, 90.0)
    size.legend(loc="best")


def _curve(size: Axes, phase: Axes, fit: CoilFit, at: list[float], colour: str) -> None:
    from coilmeter.compute.coil_model import CoilModel  # noqa: PLC0415 - only for a fit

    model = CoilModel(
        fit.resistance_ohm,
        fit.inductance_h,
        min(fit.loss, 0.99),
        capacitance_f=fit.capacitance_f,
    )
    low, high = math.log(min(at) / 1.5), math.log(max(at) * 1.5)
    curve = [math.exp(low + (high - low) * step / _CURVE) for step in range(_CURVE + 1)]
    z = [model.impedance_ohm(hertz) for hertz in curve]
    size.plot(curve, [abs(each) for each in z], color=colour, linewidth=1.0)
    phase.plot(
        curve,
        [math.degrees(math.atan2(each.imag, each.real)) for each in z],
        color=colour,
        linewidth=1.0,
    )


def _degrees(point: ImpedancePoint) -> float:
    return math.degrees(math.atan2(point.impedance.x_ohm, point.impedance.r_ohm))


def _u_degrees(point: ImpedancePoint) -> float:
    """Give the expanded uncertainty (k = 2) of the phase, from the covariance of R and X."""
    r, x = point.impedance.r_ohm, point.impedance.x_ohm
    (rr, rx), (_, xx) = point.impedance.covariance_ohm2
    variance = (x * x * rr - 2 * r * x * rx + r * r * xx) / (r * r + x * x) ** 2
    return 2 * math.degrees(math.sqrt(max(variance, 0.0)))


def _side_by_side(
    left: Axes,
    right: Axes,
    coils: Mapping[str, CoilImpedance],
    limits: Limits,
    sound: str = _COLOURS[0],
) -> None:
    """L and Q of each coil at its highest tone, with the limits about the median."""
    names = [printable(name) for name in coils]
    points = [coil.leading for coil in coils.values()]
    tones = {point.impedance.frequency_hz for point in points}
    at = f" at {format_si(max(tones), 'Hz')}" if len(tones) == 1 else ""
    colours = [_RED if coil.sign.suspicious else sound for coil in coils.values()]
    _column(left, names, [point.figures.l for point in points], colours, 1e3)
    _column(right, names, [point.figures.q for point in points], colours, 1.0)
    left.set_ylabel(f"L in mH{at}")
    right.set_ylabel(f"Q{at}")
    if len(points) >= _TWO:
        middle = 1e3 * median(point.figures.l.value for point in points)
        for limit, style in zip(
            (limits.l_noticeable, limits.l_mismatched), (":", "--"), strict=True
        ):
            for side in (1 - limit, 1 + limit):
                left.axhline(side * middle, color=_GREY, linestyle=style, linewidth=1.0)
        known = [point.figures.q.value for point in points if point.figures.q.value < math.inf]
        if known:
            right.axhline(
                limits.q_below * median(known), color=_GREY, linestyle="--", linewidth=1.0
            )
    left.set_ylim(bottom=0.0)
    right.set_ylim(bottom=0.0)


def _column(
    axes: Axes, names: list[str], figures: list[Figure], colours: list[str], factor: float
) -> None:
    for place, (figure, colour) in enumerate(zip(figures, colours, strict=True)):
        value = figure.value * factor
        if not math.isfinite(value):
            continue
        low = value - (figure.low if figure.low is not None else 0.0) * factor
        high = ((figure.high if figure.high is not None else figure.value) * factor) - value
        axes.errorbar(
            place,
            value,
            yerr=[[max(low, 0.0)], [max(high, 0.0)]],
            fmt="s" if colour == _RED else "o",
            color=colour,
            markersize=6,
            capsize=4,
            linewidth=1.6,
        )
    axes.set_xticks(range(len(names)), names)
    axes.set_xlim(-0.6, len(names) - 0.4)
    axes.set_xlabel("coil")


def _plain(canvas: Canvas, *every: Axes) -> None:
    """Take off background and frame, and give the text the page's colour."""
    canvas.patch.set_alpha(0)
    for axes in every:
        axes.patch.set_alpha(0)
        axes.tick_params(colors=INK)
        axes.xaxis.label.set_color(INK)
        axes.yaxis.label.set_color(INK)
        axes.tick_params(which="minor", color=FAINT, labelcolor=INK)
        legend = axes.get_legend()
        if legend is not None:
            legend.get_frame().set_alpha(0.0)
            for text in legend.get_texts():
                text.set_color(INK)
        for name, spine in axes.spines.items():
            spine.set_visible(name in {"left", "bottom"})
            spine.set_color(FAINT)
