"""A picture of the readings of a log over time, as SVG or PNG.

However long the log, what is kept of it is bounded: readings are gathered in stretches of
time, each with its least, largest and mean value, and the stretches grow with the log.
"""

from __future__ import annotations

import bisect
import html
import io
import itertools
import math
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

from coilmeter.report.safe import printable
from coilmeter.values import Reading

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST: Final = 2000
"""Stretches of time that are told apart, at most."""

LOG_FROM: Final = 50.0
"""Largest by smallest reading from which on the axis is logarithmic."""

_FINEST_S: Final = 1e-3
_MOST_GAPS: Final = 500
_BREAK: Final = 5.0
"""A pause of so many usual distances between readings breaks the line."""

_SHORTEST_BREAK_S: Final = 1.0
_QUANTITIES: Final = {
    "ohm": "resistance",
    "volt": "voltage",
    "ampere": "current",
    "farad": "capacitance",
    "henry": "inductance",
    "hertz": "frequency",
    "degree_Celsius": "temperature",
}
_SYMBOLS: Final = {
    "volt": "V",
    "ampere": "A",
    "farad": "F",
    "henry": "H",
    "hertz": "Hz",
    "degree_Celsius": "degC",
}
_PREFIXES: Final = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"))
_TINY: Final = ((1e-9, "n"), (1e-12, "p"))
_TIMES: Final = ((7200.0, 3600.0, "h"), (180.0, 60.0, "min"), (0.0, 1.0, "s"))


class Stretches:
    """Values over time in bounded memory: least, largest, sum and number by stretch."""

    def __init__(self) -> None:
        self.width_s = _FINEST_S
        self.count = 0
        self._found: dict[int, list[float]] = {}

    def add(self, at: float, value: float = 0.0) -> None:
        """Take a value."""
        self.count += 1
        number = int(at / self.width_s)
        stretch = self._found.get(number)
        if stretch is None:
            self._found[number] = [value, value, value, 1.0]
            if len(self._found) > MOST:
                self._widen()
            return
        stretch[0] = min(stretch[0], value)
        stretch[1] = max(stretch[1], value)
        stretch[2] += value
        stretch[3] += 1.0

    def times(self) -> list[float]:
        """Give the middle of each stretch in seconds."""
        return [(number + 0.5) * self.width_s for number in sorted(self._found)]

    def rows(self) -> Iterator[tuple[float, float, float]]:
        """Yield least, largest and mean of each stretch, in the order of `times`."""
        for number in sorted(self._found):
            least, largest, total, count = self._found[number]
            yield least, largest, total / count

    def _widen(self) -> None:
        """Make of every two stretches one."""
        found: dict[int, list[float]] = {}
        for number, stretch in self._found.items():
            other = found.setdefault(number // 2, stretch)
            if other is not stretch:
                other[0] = min(other[0], stretch[0])
                other[1] = max(other[1], stretch[1])
                other[2] += stretch[2]
                other[3] += stretch[3]
        self._found = found
        self.width_s *= 2


class LogPlot:
    """Gathers readings, and draws those of the unit that most of them have."""

    def __init__(self) -> None:
        self._values: dict[str, Stretches] = {}
        self._over: dict[str, Stretches] = {}
        self._rejected = Stretches()
        self._gaps: list[tuple[float, float]] = []
        self._gap_count = 0
        self._end = 0.0

    def reading(self, at: float, reading: Reading) -> None:
        """Take a reading, at seconds since the start."""
        self._end = max(self._end, at)
        if reading.overload:
            self._over.setdefault(reading.unit, Stretches()).add(at)
        elif reading.value is not None and math.isfinite(reading.value):
            self._values.setdefault(reading.unit, Stretches()).add(at, reading.value)

    def rejected(self, at: float) -> None:
        """Take the time of a stretch of bytes that is no frame."""
        self._end = max(self._end, at)
        self._rejected.add(at)

    def gap(self, start: float, end: float) -> None:
        """Take a time without readings."""
        self._end = max(self._end, end)
        self._gap_count += 1
        self._gaps.append((start, end))
        if len(self._gaps) > _MOST_GAPS:
            self._gaps.remove(min(self._gaps, key=lambda gap: gap[1] - gap[0]))

    def draw(self, shape: str, title: str, start: datetime) -> bytes:
        """Draw the picture.

        Parameters
        ----------
        shape
            ``svg`` or ``png``.
        title
            What the log is about.
        start
            When second zero was.

        Returns
        -------
        bytes
            The file.  Its text alternative is the title and description of the SVG, or the
            entries Title and Description of the PNG.

        """
        import matplotlib as mpl  # noqa: PLC0415 - heavy, and only here
        from matplotlib.figure import Figure  # noqa: PLC0415 - as above

        title = printable(title)
        with mpl.rc_context():
            # Not as this user has set up other programs, and the same bytes each time.
            mpl.rcdefaults()
            mpl.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "coilmeter"})
            figure = Figure(figsize=(10.0, 5.0), layout="constrained")
            axes = figure.add_subplot()
            # Letters that the font does not have would be boxes, each with a warning.
            shown = title.encode("ascii", "backslashreplace").decode()
            axes.set_title(shown, parse_math=False)
            self._draw(axes, start)
            file = io.BytesIO()
            about = {"Title": title, "Description": self.alternative()}
            metadata: dict[str, Any] = {"Date": None} if shape == "svg" else about
            figure.savefig(file, format=shape, metadata=metadata)
        data = file.getvalue()
        return with_alternative(data, **about) if shape == "svg" else data

    def alternative(self) -> str:
        """Say in words what the picture shows."""
        unit, values = self._main()
        rows = list(values.rows())
        texts = [f"{_QUANTITIES.get(unit, 'reading')} over {self._end:.4g} s"]
        if rows:
            factor, symbol = _scale(unit, max(largest for _, largest, _ in rows))
            least, largest = min(row[0] for row in rows), max(row[1] for row in rows)
            texts.append(
                f"{values.count} readings from {least / factor:.5g} to "
                f"{largest / factor:.5g} {symbol}".rstrip()
            )
        others = sum(each.count for name, each in self._values.items() if name != unit)
        for count, what in (
            (self._over.get(unit, Stretches()).count, "over-range (marked at the top edge)"),
            (self._rejected.count, "rejected (marked at the bottom edge)"),
            (self._gap_count, "without bytes for a while (shaded)"),
            (others, "of another unit (not drawn)"),
        ):
            if count:
                texts.append(f"{count} x {what}")
        return f"{'; '.join(texts).capitalize()}."

    def _main(self) -> tuple[str, Stretches]:
        """Find the unit of most readings, and those."""
        counts = {
            unit: sum(each[unit].count for each in (self._values, self._over) if unit in each)
            for unit in [*self._values, *self._over]
        }
        unit = max(counts, key=counts.__getitem__, default="ohm")
        return unit, self._values.get(unit, Stretches())

    def _draw(self, axes: Axes, start: datetime) -> None:
        unit, values = self._main()
        rows = list(values.rows())
        size = max((abs(row[1]) for row in rows), default=1.0)
        factor, symbol = _scale(unit, size)
        per, time_unit = next(entry[1:] for entry in _TIMES if self._end >= entry[0])
        times = [time / per for time in values.times()]
        over = self._over.get(unit, Stretches())
        breaks = _breaks(times, values.width_s / per, per)
        # Through an over-range there is no line: it went up to the edge in between.
        breaks |= {bisect.bisect(times, time / per) for time in over.times()}
        means = _broken([row[2] / factor for row in rows], breaks)
        at = _broken(times, breaks)
        axes.plot(at, means, color="#0b5394", linewidth=1.2, marker=".", markersize=2.5)
        axes.fill_between(
            at,
            _broken([row[0] / factor for row in rows], breaks),
            _broken([row[1] / factor for row in rows], breaks),
            color="#0b5394",
            alpha=0.25,
            linewidth=0,
        )
        least = min((row[0] for row in rows), default=0.0)
        if least > 0 and size / least >= LOG_FROM:
            axes.set_yscale("log")
        edge = axes.get_xaxis_transform()
        marks = (
            (over, 1.0, "^", "#b45f06", "over-range"),
            (self._rejected, 0.0, "x", "#990000", "rejected"),
        )
        for stretches, height, marker, color, label in marks:
            if stretches.count:
                axes.plot(
                    [time / per for time in stretches.times()],
                    [height] * len(stretches.times()),
                    linestyle="none",
                    marker=marker,
                    color=color,
                    label=label,
                    transform=edge,
                    clip_on=False,
                    zorder=3,
                )
        for number, (begun, ended) in enumerate(self._gaps):
            label = "gap" if number == 0 else "_gap"
            axes.axvspan(begun / per, ended / per, color="#999999", alpha=0.35, label=label)
        axes.set_xlim(0.0, max(self._end / per, values.width_s / per))
        begun_text = start.astimezone(UTC).isoformat(timespec="seconds")
        axes.set_xlabel(f"time in {time_unit} since {begun_text.replace('+00:00', 'Z')}")
        quantity = _QUANTITIES.get(unit, "reading")
        axes.set_ylabel(f"{quantity} in {symbol}" if symbol else quantity)
        axes.grid(visible=True, alpha=0.3)
        if axes.get_legend_handles_labels()[0]:
            axes.legend(loc="center left", bbox_to_anchor=(1.01, 0.5))


def _scale(unit: str, size: float) -> tuple[float, str]:
    """Factor and symbol in which a size is written with few digits."""
    symbol = _SYMBOLS.get(unit, unit)
    if not unit or unit == "degree_Celsius":
        return 1.0, symbol
    prefixes = _PREFIXES if unit != "farad" else _PREFIXES + _TINY
    factor, letter = next((entry for entry in prefixes if size >= entry[0]), prefixes[3])
    if unit == "ohm" and factor < 1.0:
        factor, letter = 1.0, ""
    return factor, letter + symbol


def _breaks(times: Sequence[float], width: float, per: float) -> set[int]:
    """Numbers of the stretches before which there was a pause."""
    distances = [after - before for before, after in itertools.pairwise(times)]
    if not distances:
        return set()
    usual = sorted(distances)[len(distances) // 2]
    longest = max(_BREAK * usual, _SHORTEST_BREAK_S / per, 1.5 * width)
    return {number + 1 for number, distance in enumerate(distances) if distance > longest}


def _broken(values: Sequence[float], breaks: set[int]) -> list[float]:
    """Values with a hole before each of the numbers."""
    shown: list[float] = []
    for number, value in enumerate(values):
        if number in breaks:
            shown.append(math.nan)
        shown.append(value)
    return shown


def with_alternative(svg: bytes, *, Title: str, Description: str) -> bytes:  # noqa: N803 - the names that files have for them
    """Put title and description where screen readers look for them: first in the SVG."""
    text = svg.decode("utf-8")
    start = text.index("<svg")
    end = text.index(">", start)
    opened = f'{text[:end]} role="img" aria-labelledby="title description">'
    title = f'\n <title id="title">{html.escape(Title)}</title>'
    description = f'\n <desc id="description">{html.escape(Description)}</desc>'
    return f"{opened}{title}{description}{text[end + 1 :]}".encode()
