"""Which readings count where a head was measured in several sittings."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

from helpers import rows, settings, shipped

from coilmeter.compute.judge import judge_rows
from coilmeter.compute.standing import TAKEN_AGAIN, standing
from coilmeter.values import HeadResult, Purpose, ReadingRow

KIND = shipped().kind("two-channel-rp")


def sitting(number: int, text: str, header: str = "coil,reading") -> list[ReadingRow]:
    """Make the rows of one sitting."""
    found = rows(f"{header}\n{text}")
    return [
        replace(row, path=f"sitting {number}", head="H", kind="two-channel-rp", named=True)
        for row in found
    ]


def counted(*sittings: list[ReadingRow]) -> list[tuple[str, str]]:
    """Coil and reading of the rows that count."""
    return [
        (row.coil, row.reading.text)
        for row in standing(sittings, KIND)
        if row.purpose is not Purpose.FREE
    ]


def judged(*sittings: list[ReadingRow]) -> HeadResult:
    """Judge what counts."""
    (head,) = judge_rows(standing(sittings, KIND), settings())
    return head


def test_the_newest_of_each_place_counts() -> None:
    """What was not read again stays; what was, is free, and says so."""
    first = sitting(1, "1,171.3\n2,172.0\n1-case,OL 40 Mohm\n")
    second = sitting(2, "2,OL 40 Mohm\n")
    every = standing([first, second], KIND)

    assert [("1", "171.3"), ("1", "OL 40 Mohm"), ("2", "OL 40 Mohm")] == counted(first, second)
    assert 4 == len(every)
    assert [TAKEN_AGAIN] == [row.note for row in every if row.purpose is Purpose.FREE]


def test_one_sitting_is_as_it_was() -> None:
    """Nothing of it is changed: contradictions in it are for the judge."""
    only = sitting(1, "1,171.3\n1,172.0\n")

    assert only == standing([only], KIND)
    assert [] == standing([[]], KIND)


def test_pins_and_names_are_the_same_place() -> None:
    """A coil read by its pins replaces one read by its name."""
    first = sitting(1, "1,171.3\n")
    second = sitting(2, "2-1,175.0\n", "pins,reading")

    assert [("", "175.0")] == counted(first, second)


def test_a_path_is_replaced_from_whichever_end() -> None:
    """A leak that was read from one pin and repaired is gone when the other pin is good."""
    header = "coil,pins,reading"
    first = sitting(1, "1-case,1-case,200 kohm\n", header)
    both = sitting(2, "1-case,1-case,OL 40 Mohm\n1-case,2-case,OL 40 Mohm\n", header)
    back = sitting(3, "case-1,,300 kohm\n".replace("case-1", "1-case"), header)

    assert [("1", "OL 40 Mohm")] * 2 == counted(first, both)
    assert [("1", "300 kohm")] == counted(first, both, back)


def test_each_sitting_has_its_own_lead_null() -> None:
    """The leads of the newest reading are those of its sitting."""
    header = "coil,reading,purpose"
    first = sitting(1, ",1.0,lead-null\n1,171.0,\n2,172.0,\n", header)
    second = sitting(2, ",0.2,lead-null\n2,172.0,\n", header)
    values = [coil.resistance_20c_ohm for coil in judged(first, second).coils]

    assert [170.0, 171.8] == [round(value or 0, 6) for value in values]


def test_of_a_head_of_no_named_kind_the_pins_tell() -> None:
    """Its coils are laid out by the rows of all sittings."""
    header = "coil,pins,reading"
    first = [replace(row, kind="") for row in sitting(1, "L,1-2,171.3\nR,3-4,172.0\n", header)]
    second = [replace(row, kind="") for row in sitting(2, ",3-4,173.0\n", header)]
    every = standing([first, second], None)

    assert ["171.3", "173.0"] == [
        row.reading.text for row in every if row.purpose is not Purpose.FREE
    ]


def test_what_is_about_no_place_stays() -> None:
    """The judge tells what is wrong with it; another reading of the same words replaces it."""
    first, second = sitting(1, "9,171.3\n"), sitting(2, "9,175.0\n1,170.0\n")

    assert [("9", "175.0"), ("1", "170.0")] == counted(first, second)


def test_a_flexing_is_never_replaced() -> None:
    """Of several the judge takes the latest that decides; the value of the coil is apart."""
    header = "coil,reading,purpose,flex"
    first = sitting(1, "1,171.3,coil,\n1,171.2,free,intermittent\n", header)
    second = sitting(2, "1,171.9,coil,\n", header)
    every = standing([first, second], KIND)

    assert 1 == len([row for row in every if row.flex is not None])
    assert ["171.9"] == [row.reading.text for row in every if row.purpose is Purpose.COIL]
