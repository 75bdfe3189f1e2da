"""Capacitances as they are written: a coil and a meter's input have picofarads."""

from __future__ import annotations

import pytest

from coilmeter.errors import ReadingTextError
from coilmeter.units import parse_quantity


@pytest.mark.parametrize(
    ("text", "farad"),
    [("60 pF", 60e-12), ("1,5 pF", 1.5e-12), ("60 p F", 60e-12), ("0.06 nF", 60e-12)],
)
def test_picofarads(text: str, farad: float) -> None:
    """SI prefix pico, ten to the minus twelve (SI Brochure, 9th edition, table 7)."""
    assert farad == pytest.approx(float(parse_quantity(text, "farad").m_as("farad")), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit"), [("5 pohm", "ohm"), ("5 pV", "volt"), ("5 pH", "henry")]
)
def test_pico_is_for_capacitances_only(text: str, unit: str) -> None:
    """Nothing else on this bench is so small."""
    with pytest.raises(ReadingTextError):
        parse_quantity(text, unit)
