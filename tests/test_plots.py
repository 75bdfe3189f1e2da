"""The picture of a log: what is drawn of it, in bounded memory, with words beside it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import math
import re
import struct
import warnings
import xml.etree.ElementTree as ET
import zlib
from datetime import UTC, datetime

import matplotlib as mpl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.figure import Figure

from coilmeter.report.plots import MOST, LogPlot, Stretches, _breaks, _broken, _scale
from coilmeter.values import Function, Reading

START = datetime(2026, 11, 25, 9, 10, 39, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"


def ohms(value: float | None) -> Reading:
    """Make a resistance; None for over-range."""
    return Reading(Function.RESISTANCE, value, "ohm", overload=value is None)


def plot_of(*values: float | None, step_s: float = 0.1) -> LogPlot:
    """Gather readings at even times."""
    plot = LogPlot()
    for number, value in enumerate(values):
        plot.reading(number * step_s, ohms(value))
    return plot


def texts_of(svg: bytes) -> list[str]:
    """Texts that are written in a picture."""
    return ["".join(each.itertext()) for each in ET.fromstring(svg).iter(f"{SVG}text")]  # noqa: S314 - our own


def axes_of(plot: LogPlot) -> object:
    """Draw on axes that can be looked at."""
    figure = Figure()
    axes = figure.add_subplot()
    plot._draw(axes, START)
    return axes


def png_texts(png: bytes) -> dict[str, str]:
    """Read the textual entries of a PNG (PNG 1.2, 4.2.3)."""
    found, file = {}, io.BytesIO(png[8:])
    while head := file.read(8):
        length, kind = struct.unpack(">I4s", head)
        data = file.read(length)
        assert zlib.crc32(kind + data) == struct.unpack(">I", file.read(4))[0]
        if kind == b"tEXt":
            key, _, text = data.partition(b"\0")
            found[key.decode("latin-1")] = text.decode("latin-1")
    return found


def full_plot() -> LogPlot:
    """Gather some of everything."""
    plot = plot_of(*[171.0, 171.2] * 20, None, None, *[171.1] * 20)
    plot.rejected(3.0)
    plot.gap(7.0, 9.0)
    plot.reading(9.5, ohms(171.3))
    plot.reading(9.6, Reading(Function.DC_VOLTAGE, 1.5, "volt"))
    return plot


def test_the_picture_and_its_words() -> None:
    """Title, axes with units, a legend of the marks, and all of it in words."""
    svg = full_plot().draw("svg", "plain at /dev/ttyUSB0", START)
    root = ET.fromstring(svg)  # noqa: S314 - our own
    texts = texts_of(svg)
    title, description = (root[0], root[1])

    assert "plain at /dev/ttyUSB0" in texts
    assert "time in s since 2026-11-25T09:10:39Z" in texts
    assert "resistance in ohm" in texts
    assert {"over-range", "rejected", "gap"} <= set(texts)
    assert ("img", "title description") == (root.get("role"), root.get("aria-labelledby"))
    assert (f"{SVG}title", "title", "plain at /dev/ttyUSB0") == (
        title.tag,
        title.get("id"),
        title.text,
    )
    assert (f"{SVG}desc", "description") == (description.tag, description.get("id"))
    assert (
        "Resistance over 9.6 s; 61 readings from 171 to 171.3 ohm; "
        "2 x over-range (marked at the top edge); 1 x rejected (marked at the bottom edge); "
        "1 x without bytes for a while (shaded); 1 x of another unit (not drawn)."
    ) == description.text


def test_a_png_with_its_words() -> None:
    """The same words as entries of a PNG, and the size of a screen."""
    png = full_plot().draw("png", "plain at /dev/ttyUSB0", START)
    texts = png_texts(png)

    assert b"\x89PNG\r\n\x1a\n" == png[:8]
    assert (1000, 500) == struct.unpack(">II", png[16:24])
    assert "plain at /dev/ttyUSB0" == texts["Title"]
    assert texts["Description"].startswith("Resistance over 9.6 s; 61 readings")


def test_the_same_log_gives_the_same_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """No date and no chance, and whatever this user has set up for other programs."""
    first = full_plot().draw("svg", "a", START)
    monkeypatch.setitem(mpl.rcParams, "font.size", 40.0)
    second = full_plot().draw("svg", "a", START)

    assert first == second
    assert 40.0 == mpl.rcParams["font.size"]


def test_nothing_at_all() -> None:
    """An empty log gives an empty picture that says so, without a warning."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        svg = LogPlot().draw("svg", "empty", START)

    assert b"Resistance over 0 s." in svg


def test_only_over_range() -> None:
    """A log of an open coil has marks at the edge and no line."""
    svg = plot_of(None, None, None).draw("svg", "open", START)

    assert b"3 x over-range" in svg
    assert "over-range" in texts_of(svg)


@pytest.mark.parametrize(
    "title", ["$x_$", "\u65e5\u672c \U0001f3b5", "a<b>&\"'", "\x1b[31m", "x" * 500]
)
def test_any_title(title: str) -> None:
    """A name from a file is shown as text: no formula, no markup, no missing letter."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        svg = plot_of(171.0, 171.1).draw("svg", title, START)
    root = ET.fromstring(svg)  # noqa: S314 - our own

    assert title.replace("\x1b", "?")[:60] == (root[0].text or "")[: min(60, len(title))]
    assert 1 == len(root.findall(f"{SVG}title"))


def test_the_line_breaks_where_nothing_was_read() -> None:
    """A pause breaks the line, and so does an over-range: nothing is drawn across."""
    plot = plot_of(*[171.0] * 20)
    plot.reading(30.0, ohms(171.0))
    plot.reading(30.1, ohms(None))
    plot.reading(30.2, ohms(171.0))
    axes = axes_of(plot)
    line = axes.lines[0].get_ydata()  # type: ignore[attr-defined]

    assert 22 == sum(not math.isnan(value) for value in line)
    assert [20, 22] == [number for number, value in enumerate(line) if math.isnan(value)]


def test_slow_meters_make_one_line() -> None:
    """One reading in two seconds is no pause where all are like that."""
    axes = axes_of(plot_of(*[171.0, 171.1] * 20, step_s=2.0))
    line = axes.lines[0].get_ydata()  # type: ignore[attr-defined]

    assert 40 == len(line)
    assert not any(map(math.isnan, line))


@pytest.mark.parametrize(
    ("values", "scale"),
    [
        ([1.0, 49.0], "linear"),
        ([1.0, 50.0], "log"),
        ([0.0, 5000.0], "linear"),
        ([-1.0, 5000.0], "linear"),
        ([171.0, 171.0], "linear"),
    ],
)
def test_a_wide_span_is_drawn_by_decades(values: list[float], scale: str) -> None:
    """From a factor of 50 on, and only where there is no zero."""
    axes = axes_of(plot_of(*values))

    assert scale == axes.get_yscale()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("end", "unit"), [(100.0, "s"), (200.0, "min"), (7199.0, "min"), (90_000.0, "h")]
)
def test_the_unit_of_time_fits(end: float, unit: str) -> None:
    """Seconds, minutes or hours."""
    plot = plot_of(171.0)
    plot.reading(end, ohms(171.0))
    axes = axes_of(plot)

    assert axes.get_xlabel().startswith(f"time in {unit} since ")  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("unit", "size", "expected"),
    [
        ("ohm", 0.02, (1.0, "ohm")),
        ("ohm", 999.9, (1.0, "ohm")),
        ("ohm", 4700.0, (1e3, "kohm")),
        ("ohm", 22e6, (1e6, "Mohm")),
        ("volt", 0.1, (1e-3, "mV")),
        ("farad", 4.7e-9, (1e-9, "nF")),
        ("farad", 0.0, (1.0, "F")),
        ("degree_Celsius", 2000.0, (1.0, "degC")),
        ("", 2000.0, (1.0, "")),
    ],
)
def test_the_prefix_fits(unit: str, size: float, expected: tuple[float, str]) -> None:
    """Few digits on the axis, and never milli-ohm, which a glance takes for mega-ohm."""
    assert expected == _scale(unit, size)


def test_a_reading_without_unit() -> None:
    """A display of something else is drawn as what it is."""
    plot = LogPlot()
    plot.reading(0.0, Reading(Function.OTHER, 7.0, ""))
    plot.reading(0.1, Reading(Function.OTHER, None, ""))
    svg = plot.draw("svg", "other", START)

    assert "reading" in texts_of(svg)
    assert b"Reading over 0.1 s; 1 readings from 7 to 7." in svg


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=300), st.floats(0.01, 5000.0))
def test_stretches_keep_least_largest_and_sum(values: list[float], step: float) -> None:
    """However coarse time becomes, no extreme and no reading is lost."""
    stretches = Stretches()
    for number, value in enumerate(values):
        stretches.add(number * step, value)
    rows = list(stretches.rows())

    assert min(values) == min(least for least, _, _ in rows)
    assert max(values) == max(largest for _, largest, _ in rows)
    assert len(values) == stretches.count
    assert len(rows) == len(stretches.times())
    assert all(least <= mean + 1e-6 and mean <= most + 1e-6 for least, most, mean in rows)


def test_a_day_is_gathered_in_bounded_memory() -> None:
    """At most so many stretches, whose width is the least that does."""
    stretches = Stretches()
    for number in range(200_000):
        stretches.add(number * 0.432, 171.0 + (number == 100_000))
    times = stretches.times()

    assert MOST / 2 <= len(times) <= MOST
    assert sorted(times) == times
    assert 172.0 == max(largest for _, largest, _ in stretches.rows())


def test_many_gaps_are_bounded_and_the_longest_kept() -> None:
    """A plug that falls out all day does not fill the memory."""
    plot = LogPlot()
    for number in range(2000):
        plot.gap(number * 10.0, number * 10.0 + (5.0 if number == 3 else 1.0))

    assert 500 == len(plot._gaps)
    assert (30.0, 35.0) in plot._gaps
    assert "2000 x without bytes" in plot.alternative()


def test_one_reading_has_no_pause() -> None:
    """Where there is no distance there is no break."""
    assert set() == _breaks([1.0], 0.1, 1.0)
    assert [1.0] == _broken([1.0], set())


def test_a_time_in_another_zone() -> None:
    """The axis says UTC, whatever zone the log was begun in."""
    svg = plot_of(171.0).draw("svg", "a", datetime.fromisoformat("2026-11-25T10:10:39+01:00"))

    assert re.search(rb"time in s since 2026-11-25T09:10:39Z", svg)
