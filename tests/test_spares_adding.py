"""Readings into the bin and out of it again: the same head, the same sitting, each once."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any, Final

import pytest
from helpers import cli, rows, settings
from hypothesis import given
from hypothesis import strategies as st
from spares_helpers import (
    HEADER,
    KIND,
    counts,
    document,
    measured,
    open_bin,
    put,
    sheet,
    spares,
)
from strategies import sheets

from coilmeter.compute.judge import judge_rows
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.sheet import parse_sheet
from coilmeter.spares.judging import judge_heads
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.rows import check_fields, fields_of, row_of
from coilmeter.spares.store import Bin
from coilmeter.values import Purpose, ReadingRow
from coilmeter.values.bin import HeadRecord

TAKEN: Final = rows(sheet(measured("T-01", 171.3, None)))


def record(shelf: Bin, name: str) -> HeadRecord:
    """Read back all that is kept of a head."""
    with shelf.read() as connection:
        return next(records_of(connection, [find_head(connection, name).id]))


def without_place(row: ReadingRow) -> ReadingRow:
    """Leave out of a row where it was written down, and which head it is of."""
    return replace(row, path="", line=0, head="", kind="", named=True)


@given(sheets())
def test_a_row_comes_back_as_it_was(data: bytes) -> None:
    """Every row that a readings file can hold: all of its fields, through its record."""
    try:
        found = parse_sheet(data, "bench.csv").rows
    except InputError:
        return
    for row in found:
        if row.broken:
            continue
        fields = fields_of(row)
        again = row_of(
            json.loads(json.dumps(fields)), path=row.path, head=row.head, kind=row.kind
        )

        check_fields(fields)
        assert replace(row, named=True) == again


def test_a_head_comes_back_as_it_was(store: str) -> None:
    """All rows of a sitting, in their order, with the file they came from."""
    with open_bin(store) as shelf:
        put(shelf, "T-01", TAKEN, kind=KIND)
        found = record(shelf, "T-01")

    (sitting,) = found.sittings
    assert list(map(without_place, TAKEN)) == list(map(without_place, sitting.rows))
    assert [row.line for row in TAKEN] == [row.line for row in sitting.rows]
    assert ("bench.csv", "2026-03-01T10:00:00.000+00:00") == (sitting.source, sitting.begun)
    assert ("T-01", KIND, "available") == (found.head.name, found.head.kind, found.head.status)


def test_the_bin_judges_as_the_file_is_judged(store: str) -> None:
    """The same rows give the same verdicts, every field of them."""
    chosen = settings(meter="handheld-4000", lead="nulled", temperature="21")
    said = [
        replace(row, meter="handheld-4000", lead="nulled", temperature="21") for row in TAKEN
    ]
    (expected,) = judge_rows(TAKEN, chosen)
    with open_bin(store) as shelf:
        put(shelf, "T-01", said)
        found = record(shelf, "T-01")
        (judged,) = judge_heads([(found.head, found.sittings)], settings())

    assert expected == judged.result


def test_a_file_twice_is_a_file_once(store: str) -> None:
    """Nothing is added the second time, whatever stands around it."""
    with open_bin(store) as shelf:
        first = put(shelf, "T-01", TAKEN)
        before = counts(shelf)
        again = put(shelf, "T-01", TAKEN)
        part = put(shelf, "T-01", TAKEN[2:4])

    assert (True, False, False) == (first.is_new, again.is_new, part.is_new)
    assert (len(TAKEN), 0, 0) == (first.rows, again.rows, part.rows)
    assert (0, len(TAKEN), 2) == (first.known, again.known, part.known)
    assert first.sitting == again.sitting == part.sitting
    assert 1 == before["sittings"]


def test_a_file_that_has_grown(store: str) -> None:
    """What is new of it goes on with the sitting that holds the rest."""
    with open_bin(store) as shelf:
        first = put(shelf, "T-01", TAKEN[:2])
        grown = put(shelf, "T-01", TAKEN)
        found = record(shelf, "T-01")

    assert first.sitting == grown.sitting
    assert (2, len(TAKEN) - 2) == (grown.known, grown.rows)
    assert [row.reading.text for row in TAKEN] == [
        row.reading.text for row in found.sittings[0].rows
    ]


def test_another_day_is_another_sitting(store: str) -> None:
    """The same head measured again; the newest reading of each place counts."""
    later = rows(sheet(measured("T-01", 175.0, isolated=False, day="2026-05-01")))
    with open_bin(store) as shelf:
        put(shelf, "T-01", TAKEN)
        again = put(shelf, "T-01", later)
        found = record(shelf, "T-01")
        (judged,) = judge_heads([(found.head, found.sittings)], settings())

    assert (False, True, 1) == (again.is_new, again.again, again.rows)
    assert ["2026-03-01", "2026-05-01"] == [each.begun[:10] for each in found.sittings]
    assert judged.result is not None
    assert ["175.0", "OL"] == [coil.reading for coil in judged.result.coils]
    assert 3 == len(judged.result.isolation)


def test_hand_written_rows_have_no_time(store: str) -> None:
    """Without times the same readings are taken for known, and others for a new sitting."""
    text = "head,kind,coil,reading\nT-01,two-channel-rp,1,171.3\nT-01,two-channel-rp,2,{}\n"
    first, other = rows(text.format("172.0")), rows(text.format("172.4"))
    with open_bin(store) as shelf:
        added = [
            put(shelf, "T-01", first),
            put(shelf, "T-01", first),
            put(shelf, "T-01", other),
            put(shelf, "T-01", first, new_sitting=True),
        ]
        found = record(shelf, "T-01")

    assert [2, 0, 2, 2] == [each.rows for each in added]
    assert 3 == len(found.sittings)


def test_two_sittings_of_one_day(store: str) -> None:
    """People write the day for a time: a reading that contradicts is of another sitting."""
    text = HEADER + "".join(
        f"T-01,two-channel-rp,{coil},{{}},,{purpose},2026-03-01\n"
        for coil, purpose in (("1", "coil"), ("1-case", "coil-to-case"))
    )
    morning, evening = (rows(text.format(ohm, "OL 40 Mohm")) for ohm in ("171.3", "175.0"))
    with open_bin(store) as shelf:
        added = [put(shelf, "T-01", each) for each in (morning, evening, evening, morning)]
        found = record(shelf, "T-01")
        (judged,) = judge_heads([(found.head, found.sittings)], settings())

    assert [2, 2, 0, 0] == [each.rows for each in added]
    assert 2 == len(found.sittings)
    assert judged.result is not None
    assert "175.0" == judged.result.coils[0].reading


def test_a_reading_taken_again(store: str) -> None:
    """The file says of the older one that it is free now: so does the bin from then on."""
    head = "T-01,two-channel-rp,1"
    before = f"{HEADER}{head},171.3,,coil,2026-03-01T10:00:00Z\n"
    after = (
        f"{HEADER}{head},171.3,,free,2026-03-01T10:00:00Z\n"
        f"{head},172.9,,coil,2026-03-01T10:01:00Z\n"
    )
    with open_bin(store) as shelf:
        put(shelf, "T-01", rows(before))
        put(shelf, "T-01", rows(after))
        put(shelf, "T-01", rows(after))
        (sitting,) = record(shelf, "T-01").sittings
        number = counts(shelf)["readings"]

    assert [("171.3", Purpose.FREE), ("172.9", Purpose.COIL)] == [
        (row.reading.text, row.purpose) for row in sitting.rows
    ]
    assert "taken again later" == sitting.rows[0].note
    assert 2 == number


def test_a_name_means_one_head(store: str) -> None:
    """Another kind under the same name, or two heads of the name, are asked about."""
    other = [replace(row, kind="coils-2") for row in TAKEN]
    later = rows(sheet(measured("T-01", 180.0, day="2026-04-01")))
    with open_bin(store) as shelf:
        first = put(shelf, "T-01", TAKEN)
        with pytest.raises(InputError, match="this one is coils-2"):
            put(shelf, "T-01", other, kind="coils-2")
        second = put(shelf, "T-01", later, new_head=True)
        newest = rows(sheet(measured("T-01", 190.0, day="2026-06-01")))
        with pytest.raises(InputError, match="2 heads") as several:
            put(shelf, "T-01", newest)
        by_code = put(shelf, second.code, newest)
        known = put(shelf, "T-01", TAKEN)

    assert "by its code" in several.value.hint
    assert second.head == by_code.head
    assert first.head == known.head


def test_heads_that_nobody_named(store: str) -> None:
    """Each is a head of its own; the file of one added again is known all the same."""
    with open_bin(store) as shelf:
        first = put(shelf, "head", TAKEN, new_head=True)
        other = rows(sheet(measured("head", 200.0, 201.0, day="2026-03-02")))
        second = put(shelf, "head", other, new_head=True)
        again = put(shelf, "head", TAKEN, new_head=True)

    assert first.head != second.head
    assert first.head == again.head
    assert 0 == again.rows


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"name": "x" * 101}, "the name of the head"),
        ({"name": "a\0b"}, "NUL"),
        ({"rows": [replace(TAKEN[0], note="n" * 10_001)]}, "note"),
        ({"rows": [replace(TAKEN[0], note="\ud800")]}, "note"),
    ],
)
def test_what_cannot_be_kept(store: str, changes: dict[str, Any], expected: str) -> None:
    """Refused before anything is written."""
    values: dict[str, Any] = {"name": "T-01", "rows": TAKEN} | changes
    with open_bin(store) as shelf:
        with pytest.raises(InputError, match=expected):
            put(shelf, values["name"], values["rows"])
        found = counts(shelf)

    assert 0 == sum(found.values())


def test_what_was_said_beside_a_file_stays_with_it(store: str) -> None:
    """Meter, leads, temperature, kind and band of the command line are kept with the rows."""
    text = b"head,coil,reading\nT-01,1,48.0\nT-01,2,48.3\n"
    said = ("--meter", "handheld-4000", "--lead", "nulled", "--temperature", "21")
    spares(store, "add", "-", "--kind", KIND, "--band", "rp-low", *said, stdin=text)
    shown = document(store, "show", "T-01", code=1)
    plain = cli(
        "judge", "-", "--kind", KIND, "--band", "rp-low", *said, "--as", "json", stdin=text
    )

    assert json.loads(plain.out)["heads"] == shown["heads"]


def test_a_lead_null_of_a_whole_file(store: str) -> None:
    """It is kept with every head of the file, and counts there."""
    text = b"head,kind,coil,reading,purpose\n,,,0.2,lead-null\n"
    text += b"A,one-erase,E,3.1,\nB,one-erase,E,3.4,\n"
    spares(store, "add", "-", stdin=text)
    found = [document(store, "show", name, code=1)["heads"][0]["coils"][0] for name in "AB"]

    assert [2.9, 3.2] == [pytest.approx(each["resistance_20c_ohm"]) for each in found]


def test_a_file_with_mistakes_adds_nothing(store: str) -> None:
    """Every mistake is told, of all files, and the bin is as it was."""
    ran = cli(
        "spares", "add", "-", "--store", store, stdin=b"coil,reading\n1,x\n2,172\n2,173\n"
    )

    assert 2 == ran.code
    assert "nothing was added" in ran.err
    assert "standard input:2: reading" in ran.err
    assert 4 == cli("spares", "list", "--store", store).code


def test_an_unknown_name_adds_nothing(store: str) -> None:
    """A kind that nobody defined could not be judged afterwards."""
    ran = cli("spares", "add", "-", "--store", store, stdin=b"coil,kind,reading\n1,nix,171\n")

    assert 2 == ran.code
    assert "kind" in ran.err


def test_only_lead_nulls(store: str) -> None:
    """Nothing to put into the bin."""
    ran = cli(
        "spares", "add", "-", "--store", store, stdin=b"coil,reading,purpose\n,0.2,lead-null\n"
    )

    assert 2 == ran.code
    assert "no reading of a head" in ran.err


def test_mistakes_say_what_was_left_undone() -> None:
    """The words of the error, with what was not done."""
    with pytest.raises(MistakesError, match="nothing was added"):
        raise MistakesError([], undone="nothing was added")


@given(st.permutations(range(3)))
def test_sittings_count_by_age_and_not_by_arrival(order: list[int]) -> None:
    """Added in any order, the newest reading of a coil is the one that counts."""
    days = [
        rows(sheet(measured("T-01", 170.0 + n, isolated=False, day=f"2026-0{n + 1}-01")))
        for n in range(3)
    ]
    with Bin.empty() as shelf:
        for number in order:
            put(shelf, "T-01", days[number])
        found = record(shelf, "T-01")
        (judged,) = judge_heads([(found.head, found.sittings)], settings())

    assert judged.result is not None
    assert "172.0" == judged.result.coils[0].reading
