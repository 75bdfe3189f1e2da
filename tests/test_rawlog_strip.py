"""The strip of the last minute, on terminals of any width."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rawlog_files import ohms, strip_of

from coilmeter.cli.logging_strip import SLOTS, Strip
from coilmeter.values import Function, Reading


def test_a_ramp() -> None:
    """A quarter of a second a column; the scale stands at the right."""
    rows = strip_of(*[100.0 + number for number in range(16)]).rows(252, 2, 3.75)

    assert 2 == len(rows)
    assert rows[0].endswith("115 ohm")
    assert rows[1].endswith("100 ohm")
    assert "        ▁▂▃▄▅▆▇█" == rows[0][SLOTS - 16 : SLOTS]
    assert "▁▂▃▄▅▆▇█████████" == rows[1][SLOTS - 16 : SLOTS]


def test_narrow_terminals() -> None:
    """Columns take several quarters each; below ten there is no strip."""
    strip = strip_of(*[171.0] * 240)

    for width in range(18, 260):
        rows = strip.rows(width, 3, 59.9)

        assert 3 == len(rows)
        assert all(len(row) <= width for row in rows)
    assert [] == strip.rows(17, 3, 59.9)


def test_a_blip_is_not_lost_in_a_wide_column() -> None:
    """A column shows the reading that strays furthest from the middle."""
    rows = strip_of(*[171.0] * 100, 300.0, *[171.0] * 139).rows(30, 1, 59.9)

    assert 1 == rows[0].count("█")


def test_over_range_is_at_the_top_edge() -> None:
    """Over-range has nothing below it, so that it is no bar."""
    rows = strip_of(171.0, None, 171.5).rows(252, 3, 0.5)
    columns = list(zip(*(row[SLOTS - 3 : SLOTS] for row in rows), strict=True))

    assert ("▀", " ", " ") == columns[1]
    assert "▀" not in columns[0] + columns[2]


def test_over_range_alone() -> None:
    """With no reading there is no scale, and the label says what is seen."""
    rows = strip_of(None, None).rows(252, 3, 0.25)

    assert rows[0].endswith("▀▀ over-range")
    assert "" == rows[2].strip()


def test_a_pause_is_blank_and_a_slow_meter_is_not() -> None:
    """A reading stands for a second and a half; after that nothing is known."""
    strip = strip_of(171.0, 171.0, 172.0, step_s=1.25)
    strip.reading(10.0, ohms(171.5))
    row = strip.rows(252, 1, 10.0)[0][:SLOTS]

    # Two seconds and a half, and as long as the last one stands.
    assert 10 + 7 + 1 == sum(char != " " for char in row)
    assert " " == row[-2]
    assert " " != row[-1]


def test_rejected_bytes_are_marked_where_nothing_else_is() -> None:
    """A question mark at the foot, unless a reading came in the same time."""
    strip = strip_of(171.0, 171.5)
    strip.rejected(0.25)
    strip.rejected(5.0)
    rows = strip.rows(252, 2, 5.0)

    assert "?" == rows[1][SLOTS - 1]
    assert 1 == "".join(rows).count("?")


def test_a_wide_span_is_drawn_by_decades() -> None:
    """From a factor of 50 on the scale is logarithmic, and says so; zero is at the foot."""
    rows = strip_of(1.0, 10.0, 100.0, 0.0).rows(252, 1, 0.75)
    two = strip_of(1.0, 10.0, 100.0).rows(252, 2, 0.5)

    assert "▁▄█▁" == rows[0][SLOTS - 4 : SLOTS].replace("▅", "▄")
    assert two[1].endswith("1 ohm log")


def test_noise_of_the_last_digit_is_not_drawn_big() -> None:
    """The strip is eight last digits high at least."""
    rows = strip_of(171.0, 171.1, 171.0, 171.1).rows(252, 1, 0.75)

    assert {"▄", "▅"} >= set(rows[0][SLOTS - 4 : SLOTS])


def test_another_unit_begins_anew() -> None:
    """Volts and ohms have no scale together."""
    strip = strip_of(171.0)
    strip.reading(0.25, Reading(Function.DC_VOLTAGE, 1.5, "volt"))
    strip.reading(0.5, Reading(Function.OTHER, None, ""))
    rows = strip.rows(252, 2, 0.5)

    assert rows[0].endswith("1.5 volt")


def test_what_is_older_than_a_minute_is_gone() -> None:
    """Only the last minute is drawn, and nothing where it is empty."""
    strip = strip_of(171.0)

    assert [] == strip.rows(252, 2, 61.0)
    assert [] == Strip().rows(252, 2, 0.0)


def test_without_block_characters() -> None:
    """A terminal of ASCII only gets ASCII only."""
    rows = strip_of(100.0, 110.0, 120.0, None).rows(252, 2, 0.75, blocks=False)

    assert all(row.isascii() for row in rows)
    assert "^" in rows[0]
    assert "|" in rows[1]


def test_the_rate_of_the_last_ten_seconds() -> None:
    """What came before counts no longer; a young log counts from its start."""
    strip = strip_of(*[171.0] * 400, step_s=0.1)

    assert 10.0 == pytest.approx(strip.rate_hz(39.9), rel=0.05)
    assert 5.0 == pytest.approx(strip.rate_hz(44.9), rel=0.05)
    assert 0.0 == strip.rate_hz(99.0)
    assert 4.0 == pytest.approx(strip_of(171.0).rate_hz(0.1))


@given(
    st.lists(
        st.tuples(st.floats(0, 100), st.none() | st.floats(-1e9, 1e9, allow_nan=False)),
        max_size=50,
    ),
    st.integers(1, 300),
    st.integers(1, 5),
)
def test_any_readings_on_any_terminal(
    readings: list[tuple[float, float | None]], width: int, height: int
) -> None:
    """Whatever is read, the strip has its height or nothing, and keeps within the width."""
    strip = Strip()
    now = 0.0
    for at, value in sorted(readings, key=lambda each: each[0]):
        now = at
        strip.reading(at, ohms(value))
    rows = strip.rows(width, height, now)

    assert len(rows) in {0, height}
    assert all(len(row) <= width for row in rows)
