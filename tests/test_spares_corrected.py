"""A file that its author corrected and added again: the new words count, the old ones stay."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections import Counter
from typing import Final

import pytest
from helpers import rows
from hypothesis import given
from hypothesis import strategies as st
from spares_helpers import HEADER, counts, document, measured, open_bin, put, sheet, spares

from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.rows import fields_of
from coilmeter.spares.store import Bin
from coilmeter.values import Purpose, ReadingRow

COLUMNS: Final = "head,kind,coil,reading,range,meter,lead,role,note,time\n"
OLD: Final = "E7,one-erase,E-case,OL,,,,,,\n"
AUTO: Final = "E7,one-erase,E-case,OL,auto,,,,,\n"
METER: Final = ("--meter", "handheld-4000")


def file(*lines: str) -> bytes:
    """Write a readings file."""
    return (COLUMNS + "E7,one-erase,E,5.5,400 ohm,,,,,\n" + "".join(lines)).encode()


def standing(shelf: Bin, name: str) -> list[ReadingRow]:
    """Rows of a head's only sitting that count."""
    with shelf.read() as connection:
        (found,) = records_of(connection, [find_head(connection, name).id])
    (sitting,) = found.sittings
    return [row for row in sitting.rows if row.purpose is not Purpose.FREE]


def test_the_advice_that_is_followed_is_seen(store: str) -> None:
    """An OL without its range decides nothing; with 'auto' written in, as advised, it does."""
    spares(store, "add", "-", *METER, stdin=file(OLD))
    before = document(store, "show", "E7", code=1)["heads"][0]["isolation"][0]
    told = spares(store, "add", "-", *METER, stdin=file(AUTO))
    after = document(store, "show", "E7", code=None)["heads"][0]["isolation"][0]

    assert ("undecided", "isolated") == (before["verdict"], after["verdict"])
    assert "1 reading corrected" in " ".join(told.split())
    assert [] == document(store, "verify")["findings"]


@pytest.mark.parametrize(
    ("line", "name", "value"),
    [
        ("E7,one-erase,E-case,OL,40 Mohm,,,,,\n", "range", "40000000.0 ohm"),
        ("E7,one-erase,E-case,OL,,handheld-4000,,,,\n", "meter", "handheld-4000"),
        ("E7,one-erase,E-case,OL,,,0.2 ohm,,,\n", "lead", "0.2 ohm"),
        ("E7,one-erase,E-case,OL,,,,erase,,\n", "role", "erase"),
        ("E7,one-erase,E-case,OL,,,,,damp,\n", "note", "damp"),
    ],
)
def test_any_cell_is_a_correction(store: str, line: str, name: str, value: str) -> None:
    """Each is one reading in place of one; the same file again is known whole."""
    with open_bin(store) as shelf:
        put(shelf, "E7", rows(file(OLD).decode()), kind="one-erase")
        corrected = put(shelf, "E7", rows(file(line).decode()), kind="one-erase")
        again = put(shelf, "E7", rows(file(line).decode()), kind="one-erase")
        found = [fields_of(row) for row in standing(shelf, "E7")]
        kept = counts(shelf)["readings"]

    assert (1, 1, 1) == (corrected.rows, corrected.corrected, corrected.known)
    assert (0, 0, 2, 0) == (again.rows, again.corrected, again.known, again.older)
    assert [value] == [each[name] for each in found if each["coil"] == "E" and each["other"]]
    assert 3 == kept


def test_older_words_are_left_out_and_it_is_said(store: str) -> None:
    """A copy from before the correction takes nothing back, and does not pass in silence."""
    for line in (OLD, AUTO):
        spares(store, "add", "-", *METER, stdin=file(line))
    told = " ".join(spares(store, "add", "-", *METER, stdin=file(OLD)).split())
    found = document(store, "show", "E7", code=None)["heads"][0]["isolation"][0]

    assert "1 reading left out" in told
    assert "--new-sitting" in told
    assert "isolated" == found["verdict"]


def test_a_file_that_is_silent_takes_nothing_back(store: str) -> None:
    """What was said on the command line stands when it is not said again, and that is told."""
    spares(store, "add", "-", *METER, stdin=file(OLD))
    told = " ".join(spares(store, "add", "-", stdin=file(OLD)).split())
    with open_bin(store) as shelf:
        found = standing(shelf, "E7")
        number = counts(shelf)["readings"]

    assert ["handheld-4000"] * 2 == [row.meter for row in found]
    assert 2 == number
    assert "these stand" in told


def test_a_figure_of_the_same_second_is_corrected(store: str) -> None:
    """A slip of the pen in a reading with its time: the same reading, another figure."""
    taken = sheet(measured("T-01", 117.3, 172.0))
    mended = taken.replace(",117.3,", ",171.3,")
    with open_bin(store) as shelf:
        put(shelf, "T-01", rows(taken))
        found = put(shelf, "T-01", rows(mended))
        again = put(shelf, "T-01", rows(mended))
        counting = [row.reading.text for row in standing(shelf, "T-01")]

    assert (1, 1) == (found.rows, found.corrected)
    assert (0, 0) == (again.rows, again.older)
    assert {"171.3", "172.0", "OL"} == set(counting)


def test_a_reading_that_is_taken_back(store: str) -> None:
    """Set free in the file with nothing in its place: it no longer counts in the bin."""
    head = "T-01,two-channel-rp"
    text = f"{HEADER}{head},1,171.3,,{{}},2026-03-01T10:00:00Z\n{head},2,172.0,,coil,\n"
    with open_bin(store) as shelf:
        put(shelf, "T-01", rows(text.format("coil")))
        found = put(shelf, "T-01", rows(text.format("free")))
        again = put(shelf, "T-01", rows(text.format("free")))
        counting = [row.reading.text for row in standing(shelf, "T-01")]

    assert (1, 0) == (found.corrected, again.rows)
    assert ["172.0"] == counting


@given(st.lists(st.sampled_from(["", "auto", "400 ohm", "4 kohm"]), min_size=1, max_size=4))
def test_the_last_new_words_count(ranges: list[str]) -> None:
    """However often it is corrected: one reading counts, and it is the newest in the bin."""
    newest = ""
    with Bin.empty() as shelf:
        for number, end in enumerate(ranges):
            line = f"head,coil,reading,range\nT,1,171.3,{end}\n"
            put(shelf, "T", rows(line), kind="")
            if end not in ranges[:number]:
                newest = fields_of(rows(line)[0])["range"]
        found = standing(shelf, "T")
        kept = counts(shelf)["readings"]

    assert [newest] == [fields_of(row)["range"] for row in found]
    assert len(set(ranges)) == kept


EDITS: Final = st.tuples(
    st.sampled_from((0, 1, 2)),
    st.sampled_from(
        [
            *(("reading", text) for text in ("181.0", "182.0", "287.0")),
            *(("temperature", text) for text in ("", "20", "25")),
            *(("purpose", text) for text in ("coil", "free")),
            ("note", "x"),
            ("note", ""),
            ("coil", "4"),
            ("as it was", ""),
        ]
    ),
)


def written(cells: list[dict[str, str]]) -> list[ReadingRow]:
    """Read rows of these cells."""
    names = ("head", "kind", "coil", "purpose", "reading", "temperature", "time", "note")
    lines = [",".join(each[name] for name in names) for each in cells]
    return rows("\n".join([",".join(names), *lines, ""]))


def telling(found: list[ReadingRow]) -> Counter[tuple[object, ...]]:
    """Give what rows that count say, each as often as it is said."""
    names = ("coil", "other", "reading", "temperature", "purpose")
    fields = [fields_of(row) for row in found if row.purpose is not Purpose.FREE]
    return Counter(tuple(each[name] for name in names) for each in fields)


@given(st.lists(EDITS, min_size=1, max_size=4))
def test_what_counts_is_what_the_file_says_or_it_is_told(
    edits: list[tuple[int, tuple[str, str]]],
) -> None:
    """Cells are changed in any order and back again, the file added after each change."""
    begun = [
        {
            "head": "T",
            "kind": "four-channel-rp",
            "coil": str(number),
            "purpose": "coil",
            "reading": f"18{number}.0",
            "temperature": "20",
            "time": f"2026-03-01T10:0{number}:00+00:00",
            "note": "",
        }
        for number in (1, 2, 3)
    ]
    cells = [dict(each) for each in begun]
    with Bin.empty() as shelf:
        put(shelf, "T", written(cells), kind="four-channel-rp")
        for place, (name, text) in edits:
            if name == "as it was":
                cells[place] = dict(begun[place])
            elif name != "coil" or all(each["coil"] != text for each in cells):
                cells[place][name] = text
            if len({each["coil"] for each in cells}) < len(cells):
                return
            added = put(shelf, "T", written(cells), kind="four-channel-rp")
            if added.again:
                # Of another sitting, whose readings stand beside these and are told so.
                return
            counting = telling(standing(shelf, "T"))
            said = telling(written(cells))
            told = added.older or added.absent or added.silent

            assert told or counting == said


def test_a_row_under_another_place_is_the_same_reading(store: str) -> None:
    """Read at that second, it was one reading: the wrong path no longer counts."""
    line = "E7,two-channel-rp,{},OL,40 Mohm,,,,,2026-03-01T10:03:00Z\n"
    coils = "".join(
        f"E7,two-channel-rp,{n},171.{n},400 ohm,,,,,2026-03-01T10:0{n}:00Z\n" for n in (1, 2)
    )
    for place in ("1-case", "2-case"):
        data = (COLUMNS + coils + line.format(place)).encode()
        told = spares(store, "add", "-", *METER, stdin=data)
    found = document(store, "show", "E7", code=1)["heads"][0]["isolation"]

    assert "1 reading corrected" in " ".join(told.split())
    assert {"1": "missing", "2": "isolated"} == {
        each["from"]: each["verdict"] for each in found if each["to"] == "case"
    }


def test_a_row_that_is_left_out_of_the_file_still_counts_and_is_told(store: str) -> None:
    """A file may be a part only; what it no longer has is not taken back in silence."""
    taken = sheet(measured("T-01", 171.3, 172.0))
    spares(store, "add", "-", stdin=taken.encode())
    told = spares(store, "add", "-", stdin=taken.rpartition("T-01")[0].encode())

    assert "1 reading of this sitting is not in the file, and still counts" in " ".join(
        told.split()
    )


def test_what_is_said_last_beside_a_file_counts(store: str) -> None:
    """A slip in an option is put right by saying it again as it should have been."""
    taken = sheet(measured("T-01", 171.3, 172.0)).encode()
    values = []
    for degc in ("21", "31", "21"):
        told = " ".join(spares(store, "add", "-", "--temperature", degc, stdin=taken).split())
        head = document(store, "show", "T-01", code=None)["heads"][0]
        values.append([coil["resistance_20c_ohm"] for coil in head["coils"]])

    assert "corrected: what the file says now, and what was said beside it" in told
    assert "left out" not in told
    assert "not in the file" not in told
    assert values[0] == values[2] != values[1]
    assert 1 == len(document(store, "show", "T-01", code=None)["record"]["sittings"])


def test_a_file_without_times_grows(store: str) -> None:
    """All that was read is in it still, and one more: the same sitting."""
    lines = ["head,kind,coil,reading,range", "U,two-channel-rp,1,171.3,400 ohm"]
    spares(store, "add", "-", stdin="\n".join([*lines, ""]).encode(), code=None)
    lines.append("U,two-channel-rp,2,172.4,400 ohm")
    told = spares(store, "add", "-", stdin="\n".join([*lines, ""]).encode(), code=None)
    record = document(store, "show", "U", code=None)["record"]

    assert "measured again" not in told
    assert [2] == [each["readings"] for each in record["sittings"]]


def test_the_record_tells_what_does_not_count(store: str) -> None:
    """Old words do not; a flexing does, though its row is free as they are."""
    lines = ["head,kind,coil,reading,range,purpose,time,flex"]
    for number in (1, 2):
        time = f"2026-03-01T10:0{number}:00Z"
        lines.append(f"V,two-channel-rp,{number},171.{number},400 ohm,coil,{time},")
    figures = "readings=200; duration_s=20; rate_hz=10; dropouts=0"
    flexed = f'V,two-channel-rp,1,171.1,400 ohm,free,2026-03-01T10:05:00Z,"steady; {figures}"'
    data = "\n".join([*lines, flexed, ""])
    spares(store, "add", "-", stdin=data.encode(), code=None)
    before = " ".join(spares(store, "show", "V", code=None).split())
    spares(store, "add", "-", stdin=data.replace("171.2", "172.1").encode(), code=None)
    after = " ".join(spares(store, "show", "V", code=None).split())

    assert "measured, 3 readings (" in before
    assert "measured, 3 readings, and 1 that does not count (" in after
