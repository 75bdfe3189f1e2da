"""The flex cell of a readings file: a word, its figures, and what is refused."""

from __future__ import annotations

import math
from contextlib import suppress
from typing import Any

import pytest
from helpers import mistakes_of, rows
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.errors import ReadingTextError
from coilmeter.values import FlexEvidence, FlexFigures, Stability
from coilmeter.values.flexing import FIGURES, LONGEST_CELL, flex_text, parse_flex

COUNTS = st.none() | st.integers(0, 10**9)
SIZES = st.none() | st.floats(0.0, 1e9)
SIGNED = st.none() | st.floats(-1e9, 1e9)


@st.composite
def evidences(draw: st.DrawFn) -> FlexEvidence:
    """Draw any evidence that can be."""
    least, median, most = sorted(draw(st.tuples(*[st.floats(-1e9, 1e9)] * 3)))
    figures = FlexFigures(
        readings=draw(COUNTS),
        duration_s=draw(SIZES),
        rate_hz=draw(SIZES),
        least_ohm=draw(st.sampled_from([None, least])),
        median_ohm=draw(st.sampled_from([None, median])),
        most_ohm=draw(st.sampled_from([None, most])),
        scatter_ohm=draw(SIZES),
        dropouts=draw(COUNTS),
        open_share=draw(st.none() | st.floats(0.0, 1.0)),
        largest_jump_ohm=draw(SIGNED),
        drift_ohm=draw(SIGNED),
    )
    return FlexEvidence(draw(st.sampled_from(list(Stability))), figures)


@given(evidences())
def test_what_is_written_reads_back(evidence: FlexEvidence) -> None:
    """Words and counts exactly, numbers to the six digits that are written."""
    back = parse_flex(flex_text(evidence))

    assert evidence.stability == back.stability
    assert list(evidence.figures.known()) == list(back.figures.known())
    assert evidence.figures.known() == pytest.approx(back.figures.known(), rel=5e-6, abs=1e-12)


@given(st.text(max_size=60))
def test_any_text_is_understood_or_refused(text: str) -> None:
    """Nothing else than evidence or a refusal comes out."""
    found = None
    with suppress(ReadingTextError):
        found = parse_flex(text)

    assert found is None or text.strip().startswith(found.stability)


def test_the_word_alone_is_enough() -> None:
    """A person may write it by hand."""
    assert FlexEvidence(Stability.NOISY) == parse_flex("noisy")


def test_every_figure_at_its_longest_fits_a_cell() -> None:
    """What a flexing writes can always be read back."""
    counts = {"readings", "dropouts", "doubtful", "jumps", "blips"}
    longest: dict[str, Any] = {
        name: 10**14 if name in counts else 1.23456e-10 for name in FIGURES
    }
    figures = FlexFigures(**longest)

    assert len(flex_text(FlexEvidence(Stability.INTERMITTENT, figures))) < LONGEST_CELL


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("loose", "expected one of steady, noisy, intermittent, creeping, undecided"),
        ("steady dropouts=3", "expected one of steady"),
        ("steady; dropouts", "expected a whole number behind dropouts="),
        ("steady; dropouts=1.5", "expected a whole number behind dropouts="),
        ("steady; dropouts=-1", "expected a whole number behind dropouts="),
        ("steady; dropouts=1; dropouts=2", "expected name=number, each once, of: readings"),
        ("steady; colour=1", "expected name=number, each once, of: readings"),
        ("steady; longest_s=-1", "expected zero or more behind longest_s="),
        ("steady; longest_s=nan", "expected zero or more behind longest_s="),
        ("steady; longest_s=1e400", "expected zero or more behind longest_s="),
        ("steady; drift_ohm=2**3", "expected a number behind drift_ohm="),
        ("steady; open_share=1.5", "expected an open_share from 0 to 1"),
        ("steady; least_ohm=3; most_ohm=2", "least_ohm, median_ohm and most_ohm in that order"),
        ("steady" + "; " * 600, "expected one of steady"),
    ],
)
def test_garbage_is_told_with_its_place(cell: str, expected: str) -> None:
    """File, line and column, what was seen and what was expected."""
    (mistake,) = mistakes_of(f"coil,reading,flex\n1,171.3,\n1,171.3,{cell}\n")

    assert mistake.startswith("bench.csv:3: flex: saw ")
    assert expected in mistake


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("1-case,OL 40 Mohm,,steady", "flex: saw 'steady', expected nothing: only a coil"),
        ("1-2,OL 40 Mohm,coil-to-coil,steady", "expected nothing: only a coil is flexed"),
        (",0.2,lead-null,steady", "expected nothing: only a coil is flexed"),
        (",171.3,free,steady", "coil: saw neither a coil nor pins, expected which coil"),
    ],
)
def test_only_a_coil_is_flexed(line: str, expected: str) -> None:
    """A path or a lead cannot be, and a flexing of nothing says nothing."""
    (mistake,) = mistakes_of(f"coil,reading,purpose,flex\n{line}\n")

    assert expected in mistake


def test_a_flexed_coil_that_the_kind_does_not_have() -> None:
    """It is looked up like that of any other row."""
    (mistake,) = mistakes_of(
        "coil,reading,purpose,flex\n9,171.3,free,steady\n", kind="two-channel-rp"
    )

    assert mistake.startswith("bench.csv:2: coil: saw '9', expected a coil of two-channel-rp")


def test_a_row_carries_it() -> None:
    """The row has the evidence, whatever its purpose; other rows have none."""
    text = "coil,reading,purpose,flex\n1,171.3,coil,\n1,171.3,free,noisy; jumps=4\n"
    first, second = rows(text)

    assert None is first.flex
    assert FlexEvidence(Stability.NOISY, FlexFigures(jumps=4)) == second.flex


def test_words_that_decide() -> None:
    """Two make a coil unstable, one clears it, two decide nothing."""
    assert {"noisy", "intermittent"} == {each for each in Stability if each.faulty}
    assert {"steady", "noisy", "intermittent"} == {each for each in Stability if each.decides}


def test_numbers_are_finite() -> None:
    """What is parsed never holds an infinity, which no JSON could carry."""
    found = parse_flex("steady; rate_hz=9e99")

    assert math.isfinite(found.figures.rate_hz or 0.0)
