"""The model of a coil against published examples and derived tables.

Every example stands in reference_data/method_cases.toml with its source and how far that is
to be trusted; the source is repeated in a comment at each test.
"""

from __future__ import annotations

import pytest
from published import agrees, case

from coilmeter.compute.coil_model import CoilModel, gap_left, worn_inductance


def test_self_capacitance() -> None:
    """A coil with its own and an added capacitance resonates where the example says."""
    entry = case("7.10")  # Helfrick and Cooper, Example 6-4
    given, expected = entry["inputs"], entry["expected"]
    first, second = (
        CoilModel(
            1.0,
            1e-6 * expected["L_uH"],
            0.0,
            capacitance_f=1e-12 * (given[f"C{n}_pF"] + expected["Cd_pF"]),
        ).self_resonance_hz
        for n in (1, 2)
    )
    n = second / first
    own = (given["C1_pF"] - n**2 * given["C2_pF"]) / (n**2 - 1)

    # The printed inductance gives the frequencies to its four digits.
    assert given["f1_MHz"] == pytest.approx(1e-6 * first, rel=4e-4)
    assert given["f2_MHz"] == pytest.approx(1e-6 * second, rel=4e-4)
    assert agrees(entry, "Cd_pF") == own


def test_size_of_impedance() -> None:
    """|Z| of R and L in series, row by row."""
    entry = case("7.12")  # NIST Dataplot data file OHM5.DAT
    found = {
        f"{number}": abs(CoilModel(float(r), henry, 0.0).impedance_ohm(float(hertz)))
        for number, (r, hertz, henry) in enumerate(entry["inputs"]["rows"])
    }

    assert {key: agrees(entry, key) for key in found} == found


def test_shorted_turn_table() -> None:
    """R, L and Q at two tones of a coil with shorted turns, to the printed digits."""
    entry = case("7.shorted")  # derived, no published number
    found: dict[str, float] = {}
    for row, share in enumerate(entry["inputs"]["share"]):
        coil = CoilModel(300.0, 0.1).with_shorted(share)
        found |= {f"R{row}": coil.dc_ohm}
        for name, hertz in (("1k", 1e3), ("10k", 1e4)):
            found[f"L{name}{row}"] = 1e3 * coil.inductance_at(hertz)
            found[f"Q{name}{row}"] = coil.q_at(hertz)

    assert {key: agrees(entry, key) for key in entry["expected"]} == found


def test_shorted_erase_coil() -> None:
    """An erase coil: Q at 10 kHz, and L far above, to the printed digits."""
    entry = case("7.shorted-erase")  # derived, no published number
    found: dict[str, float] = {}
    for row, share in enumerate(entry["inputs"]["share"]):
        coil = CoilModel(5.0, 0.6e-3, loss=0.1).with_shorted(share)
        found |= {f"Q{row}": coil.q_at(1e4), f"L{row}": 1e3 * coil.inductance_at(8e4)}

    assert {key: agrees(entry, key) for key in entry["expected"]} == found


def test_gap_that_is_left() -> None:
    """Depth of the gap from the fall of inductance, and back."""
    entry = case("7.wear")  # derived, no published number
    found: dict[str, float] = {}
    for row, ratio in enumerate(entry["inputs"]["ratio"]):
        low, high = (gap_left(ratio, share) for share in (0.3, 0.7))
        found |= {f"low{row}": 100 * low, f"high{row}": 100 * high}

        assert ratio == pytest.approx(worn_inductance(low, 0.3))
    assert {key: agrees(entry, key) for key in found} == found
