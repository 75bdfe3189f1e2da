"""Files of AC volts: what is read from them, and every mistake that is told of them."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from impedance_helpers import (
    HEADER,
    METER,
    SOUND,
    four,
    mistakes_in,
    one_head,
    true_volts,
    volts_csv,
)

from coilmeter.errors import InputError
from coilmeter.sources.impedance_sheet import (
    COLUMNS,
    VoltsSheet,
    is_volts_file,
    parse_volts,
    read_volts,
)
from coilmeter.values.impedances import Method

LEAST = "coil,frequency,v_total,v_resistor,v_coil,resistor\n"
GOOD = "1,10 kHz,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %\n"


def sheet(text: str) -> VoltsSheet:
    """Read the text of a file."""
    return parse_volts(text.encode(), "ac.csv")


def told(text: str) -> list[str]:
    """Mistakes told of a text, as text."""
    return [str(mistake) for mistake in sheet(text).mistakes]


def test_the_least_file() -> None:
    """Six columns are enough; the head is the file's name."""
    (row,) = sheet(LEAST + GOOD).rows

    assert ("ac", "1", 10e3) == (row.head, row.coil, row.frequency_hz)
    assert not row.named
    assert {"total": 0.15, "resistor": 0.1171, "coil": 0.0771} == pytest.approx(
        {name: volts.shown.volt for name, volts in row.volts.items()}
    )
    assert row.resistor is not None
    assert (10e3, 100.0) == (row.resistor.value, row.resistor.half)


def test_any_order_comments_and_a_mark() -> None:
    """Columns in any order, a byte-order mark, blank lines and comments, decimal commas."""
    text = (
        "\ufeff# bench of Tuesday\n\nv_coil,coil,resistor,frequency,v_resistor,v_total\n"
        '"77,1 mV",1,10 kohm +/- 1 %,"10,0 kHz","0,1171 V",150 mV ac\n'
    )
    (row,) = sheet(text).rows

    assert 10e3 == row.frequency_hz
    assert 0.0771 == row.volts["coil"].shown.volt


def test_lines_of_one_set_are_put_together() -> None:
    """A walk writes a line a voltage; a later one that says so takes the place of another."""
    text = LEAST.replace("resistor\n", "resistor,note\n")
    text += "1,10 kHz,150 mV,,,10 kohm +/- 1 %,\n1,10 kHz,,120 mV,,10 kohm +/- 1 %,\n"
    text += "1,10 kHz,,,77.1 mV,10 kohm +/- 1 %,\n"
    text += "1,10 kHz,,117.1 mV,,10 kohm +/- 1 %,taken again\n"
    (row,) = sheet(text).rows

    assert 0.1171 == row.volts["resistor"].shown.volt
    assert 3 == len(row.volts)


def test_the_same_voltage_twice_is_a_mistake() -> None:
    """Two values of one voltage of one set: which counts is not for the program to guess."""
    (mistake,) = mistakes_in(LEAST + GOOD + GOOD)

    assert "ac.csv:3: set: saw coil 1 at 10000 Hz again (line 2 has it)" in mistake


def test_sets_are_averaged() -> None:
    """Numbered sets are one measurement, whose scatter has its degrees of freedom."""
    text = LEAST.replace("\n", ",set\n")
    for number, off in enumerate((-0.2, 0.1, 0.3, -0.2), 1):
        text += f"1,10 kHz,150.0 mV,{117.1 + off:.1f} mV,77.1 mV,10 kohm +/- 1 %,{number}\n"
    (point,) = one_head(text).coils["1"].points
    (alone,) = one_head(LEAST + GOOD).coils["1"].points

    causes = {part.cause for part in point.impedance.parts}
    assert "scatter" in causes
    assert 3.0 < point.figures.r.dof < float("inf")
    assert alone.impedance.r_ohm == pytest.approx(point.impedance.r_ohm, rel=1e-3)
    assert alone.figures.r.u < point.figures.r.u


def test_sets_of_different_resistors_are_no_sets() -> None:
    """A mean over two resistors is none."""
    text = LEAST.replace("\n", ",set\n") + GOOD.replace("\n", ",1\n")
    text += "1,10 kHz,150.0 mV,117.1 mV,77.1 mV,12 kohm +/- 1 %,2\n"

    assert any(": resistor: saw another than in the first set" in m for m in mistakes_in(text))


@pytest.mark.parametrize(
    ("cells", "place", "words"),
    [
        ("1,,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "frequency", "no inductance"),
        ("1,10,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "frequency", "with a unit"),
        ("1,10 kHz,OL,117.1 mV,77.1 mV,10 kohm +/- 1 %", "v_total", "higher range"),
        ("1,10 kHz,150.0 mV,117 mV dc,77 mV,10 kohm +/- 1 %", "v_resistor", "AC volts"),
        ("1,10 kHz,150,117.1 mV,77.1 mV,10 kohm +/- 1 %", "v_total", "write mV or V"),
        ("1,10 kHz,150.0 mV,-117 mV,77 mV,10 kohm +/- 1 %", "v_resistor", "no sign"),
        ("1,10 kHz,150.0 mV,117.1 mV,77.1 mV,10 kohm", "resistor", "how well it is known"),
        ("1,10 kHz,150.0 mV,117.1 mV,77.1 mV,", "resistor", "three-voltmeter needs"),
        ("1,10 kHz,150.0 mV,117.1 mV,,10 kohm +/- 1 %", "v_coil", "three-voltmeter needs"),
        ("1,10 kHz,350.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "v_total", "more than v_res"),
        ("1,10 kHz,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 9 %", "resistor", "2 % or better"),
        (",10 kHz,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "coil", "which coil"),
        ("1,10 kHz,150.0 mV,117.1 mV,77.1 mV", "cells", "6, as the header has"),
        ("1,2 MHz,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "frequency", "1 MHz"),
        ("1,10 kHz,150.0 mV,0.6 mV,150.0 mV,10 kohm +/- 1 %", "v_resistor", "lower range"),
        ("1,10 kHz,150 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %", "range", "every digit"),
    ],
)
def test_a_bad_line_is_refused_at_its_place(cells: str, place: str, words: str) -> None:
    """Each refusal names file, line and column, what was seen and what to do."""
    (found,) = mistakes_in(f"{LEAST}{cells}\n")

    assert found.startswith(f"ac.csv:2: {place}: saw ")
    assert words in found


def test_all_mistakes_at_once() -> None:
    """Several lines, several columns, a name nobody knows: one message has them all."""
    text = (
        "head,kind,coil,frequency,v_total,v_resistor,v_coil,resistor,meter,reference\n"
        "A,four-channel-rp,9,10 kHz,OL,1 mV dc,77 mV,10 kohm +/- 1 %,none,maybe\n"
        "A,what,1,10 kHz,150 mV,117 mV,77 mV,10 kohm +/- 1 %,,\n"
    )
    found = mistakes_in(text)
    places = [mistake.split(": ")[1] for mistake in found]

    assert ["v_total", "v_resistor", "reference", "coil", "meter", "kind"] == places


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("coil,frequency,v_coil,volts\n", "a column of: head, kind"),
        ("coil,v_coil\n", "no column 'frequency'"),
        ("coil,frequency,v_coil,coil\n", "each column once"),
        ("coil;frequency;v_coil\n", "commas, not semicolons"),
    ],
)
def test_a_bad_header_is_refused(header: str, words: str) -> None:
    """Unknown, missing and doubled columns, and other separators."""
    assert any(words in mistake for mistake in told(f"{header}1,2,3\n"))


@pytest.mark.parametrize("data", [b"", b"coil,frequency,v_coil\n", b"a\x00b", b"\xff\xfe"])
def test_no_file_at_all(data: bytes) -> None:
    """Nothing in it, nothing but a header, no text: each its own message."""
    with pytest.raises(InputError):
        parse_volts(data, "ac.csv")


def test_a_missing_file(tmp_path: Path) -> None:
    """A name that leads nowhere."""
    with pytest.raises(InputError, match="cannot be read"):
        read_volts(tmp_path / "none.csv")


def test_what_begins_as_a_file_of_ac_volts(tmp_path: Path) -> None:
    """Told from a readings file by its columns."""
    for name, text, wanted in (
        ("a", LEAST, True),
        ("b", ",".join(COLUMNS), True),
        ("c", "coil,reading\n", False),
    ):
        (tmp_path / name).write_text(text)

        assert wanted is is_volts_file(tmp_path / name)


def test_methods_are_told_from_the_cells() -> None:
    """Two voltages with the coil's ohms; V, I and phase; two voltages at two tones."""
    two = "coil,frequency,v_resistor,v_coil,resistor,dc,current,phase\n"
    known = one_head(two + "1,10 kHz,117.1 mV,77.1 mV,10 kohm +/- 1 %,300 ohm,,\n")
    phase = one_head(two + "1,400 Hz,,77.1 mV,,,191 uA +/- 1 uA,39.9 deg +/- 0.3 deg\n")
    sizes = one_head(
        two
        + "1,1 kHz,120.0 mV,88.0 mV,1 kohm +/- 1 %,,,\n"
        + "1,10 kHz,117.1 mV,77.1 mV,10 kohm +/- 1 %,,,\n"
    )
    methods = [head.coils["1"].points[0].impedance.method for head in (known, phase, sizes)]

    assert [Method.DC_KNOWN, Method.PHASE, Method.TWO_FREQUENCY] == methods
    assert known.coils["1"].points[0].figures.q.low is None
    assert 403.7 == pytest.approx(phase.coils["1"].points[0].figures.z.value, rel=1e-3)


def test_a_phase_beyond_the_band_is_refused() -> None:
    """V over I at 10 kHz: the roll-off does not cancel there."""
    text = "coil,frequency,v_coil,current,phase\n"
    found = mistakes_in(text + "1,10 kHz,77.1 mV,12 uA +/- 0.1 uA,80 deg +/- 0.5 deg\n")

    assert "its roll-off does not cancel" in found[0]


def test_a_phase_without_half_widths_is_refused() -> None:
    """One set says nothing of its own scatter."""
    text = "coil,frequency,v_coil,current,phase\n"
    found = mistakes_in(text + "1,400 Hz,77.1 mV,191 uA,39.9 deg\n")

    assert "or take several sets" in found[0]


def test_two_ranges_beyond_the_band_are_refused() -> None:
    """Gains that do not cancel, at a tone for which the meter states nothing."""
    text = LEAST.replace("\n", ",range,meter\n")
    text += f"1,10 kHz,0.510 V,0.480 V,77.1 mV,10 kohm +/- 1 %,4 V/4 V/400 mV,{METER}\n"
    found = mistakes_in(text)

    assert "one range for all" in found[0]


def test_a_head_that_is_still_connected_is_refused() -> None:
    """R at the tone below the copper, and X that falls as the tone rises."""
    text = HEADER.replace("dc,reference", "dc")
    low = mistakes_in(text + "A,,1,10 kHz,150.0 mV,117.1 mV,77.1 mV,10 kohm +/- 1 %,9 kohm\n")
    board = 1 / (1 / SOUND.impedance_ohm(10e3) + 2j * math.pi * 10e3 * 10e-9)
    total, first, second = (f"{1e3 * v:.1f} mV" for v in true_volts(board, 2e3, 10e3))
    falls = mistakes_in(
        HEADER
        + volts_csv({"1": SOUND}, hertz=5e3, ohm=4.7e3, dc=False)
        + f"A,four-channel-rp,1,10 kHz,{total},{first},{second},2 kohm +/- 1 %,,\n"
    )

    assert "unplug the head" in low[0]
    assert "still connected" in falls[0]


def test_an_unfinished_walk_is_no_mistake() -> None:
    """A line with a time and a voltage missing is told of, and the rest is judged."""
    text = HEADER.replace("reference", "reference,time") + volts_csv(
        four(SOUND, SOUND, SOUND, SOUND)
    ).replace("\n", ",2026-11-20T10:00:00Z\n")
    text += "A,four-channel-rp,4,1 kHz,150 mV,,,1 kohm +/- 1 %,,,2026-11-20T10:05:00Z\n"
    head = one_head(text)

    assert 4 == len(head.coils)
    assert any("v_resistor, v_coil not taken yet" in note for note in head.notes)


cells = st.sampled_from(
    ["", "1", "10 kHz", "98.4 mV", "OL", "10 kohm +/- 1 %", "x", "0", "-1", "1e999 V", "A/B"]
)


@given(st.lists(st.lists(cells, min_size=5, max_size=5), min_size=1, max_size=4))
def test_any_cells_give_rows_or_mistakes(lines: list[list[str]]) -> None:
    """Whatever stands in a file, nothing but rows, mistakes or one refusal comes out."""
    text = "coil,frequency,v_coil,range,resistor\n"
    text += "".join(f"{','.join(line)}\n" for line in lines)
    try:
        found = sheet(text)
    except InputError:
        return
    assert found.rows or found.mistakes
    mistakes_in(text)
