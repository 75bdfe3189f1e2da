"""Hypothesis strategies that several tests share; a new one joins them here."""

from __future__ import annotations

from typing import Any

from helpers import shipped
from hypothesis import strategies as st

resistances = st.floats(min_value=0.01, max_value=5e7)
"""Resistances in ohm that a bench meter can show."""

relative_u = st.floats(min_value=1e-4, max_value=0.9)
"""Relative standard uncertainties."""

huge_u = st.floats(min_value=1e-4, max_value=1e5)
"""The same without a limit of good sense."""

confidences = st.floats(min_value=0.51, max_value=0.9999)

bands = st.sampled_from(sorted(shipped().bands))
meters = st.sampled_from(sorted(shipped().meters))


def limits() -> st.SearchStrategy[list[float]]:
    """Four limits in ohm, low to high, each at least 1 % above the one before."""
    steps = st.lists(st.floats(min_value=1.01, max_value=100.0), min_size=3, max_size=3)

    def climb(first: float, factors: list[float]) -> list[float]:
        ends = [first]
        for factor in factors:
            ends.append(ends[-1] * factor)
        return ends

    return st.builds(climb, st.floats(min_value=0.1, max_value=100.0), steps)


@st.composite
def shown_readings(draw: st.DrawFn) -> str:
    """Draw a number of ohms as a four-digit display shows it."""
    decimals = draw(st.integers(0, 1))
    return f"{draw(st.integers(1, 3999)) / 10**decimals:.{decimals}f}"


numbers = st.one_of(
    shown_readings(),
    st.builds("{} {}".format, shown_readings(), st.sampled_from(["ohm", "kohm", "Mohm", "R"])),
    st.sampled_from(["4k7", "0R22", "1,2 kohm", "0", "-0.1", "OL", "OL 40 Mohm", "beep"]),
    st.sampled_from(["silent", "OL 400 ohm", "beep 30 ohm", "1e3", "0e999", "1e305 Mohm"]),
    st.sampled_from(["nan", "", "-50", "9**9**9", "5 V", "1e-9", "1e300", "OL 1e305M"]),
)
"""Texts that stand in the reading column, most of them readings."""

_CELLS: dict[str, st.SearchStrategy[Any]] = {
    "reading": numbers,
    "coil": st.sampled_from(
        ["1", "2", "3", "E", "1-2", "1-case", "", "case", "\x1b[31m", "=1"]
    ),
    "pins": st.sampled_from(
        ["1-2", "3-4", "2-1", "1-case", "1-3", "", "1", "R-case", "\u202e"]
    ),
    "head": st.sampled_from(["", "A", "B", "=A", "\x07", "\u202eA"]),
    "kind": st.sampled_from(["", "two-channel-rp", "two-channel-rp-common", "two-erase", "?"]),
    "role": st.sampled_from(["", "rp", "erase", "unknown", "what"]),
    "purpose": st.sampled_from(
        ["", "coil", "coil-to-coil", "coil-to-case", "lead-null", "free", "?"]
    ),
    "range": st.sampled_from(["", "auto", "400 ohm", "40 Mohm", "4 kohm", "x", "1e305 Mohm"]),
    "meter": st.sampled_from(["", "handheld-4000", "bench-6-digit", "?"]),
    "lead": st.sampled_from(
        ["", "nulled", "four-wire", "0.2 ohm", "0.2 +/- 0.1 ohm", "9 ohm", "x"]
    ),
    "temperature": st.sampled_from(["", "23", "23 +/- 2 degC", "-300", "warm"]),
    "time": st.sampled_from(["", "2026-03-01T14:05:00Z", "yesterday"]),
    "count": st.sampled_from(["", "1", "5", "0", "1e3"]),
    "scatter": st.sampled_from(["", "0.1", "50", "1 Mohm", "OL"]),
    "note": st.text(max_size=5),
    "flex": st.sampled_from(
        ["", "steady", "noisy; jumps=3", "creeping", "undecided", "loose", "steady; jumps=x"]
    ),
}


@st.composite
def sheets(draw: st.DrawFn) -> bytes:
    """Draw a readings file, right or wrong in its cells but CSV throughout."""
    columns = draw(st.lists(st.sampled_from(sorted(_CELLS)), unique=True, max_size=7))
    columns = list(dict.fromkeys(["reading", "coil", *columns]))
    count = draw(st.integers(0, 4))
    lines = [columns] + [[draw(_CELLS[column]) for column in columns] for _ in range(count)]
    quoted = [",".join('"' + cell.replace('"', '""') + '"' for cell in line) for line in lines]
    return (
        draw(st.sampled_from(["\n", "\r\n", "\r"]))
        .join(quoted)
        .encode("utf-8", "surrogatepass")
    )
