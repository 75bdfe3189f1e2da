"""Flexing as evidence on a head: verdict, grade and report."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from helpers import STATED, cli, judged, one_head, rows

from coilmeter.cli.checking import key_of_row
from coilmeter.compute.flexings import FIND_IT
from coilmeter.report.document import head_document
from coilmeter.report.tables import csv_chunks, text_chunks
from coilmeter.values import Condition, Grade, HeadResult, Match, Stability

HEADER = "coil,reading,purpose,time,flex\n"
SOUND = (
    "1,171.0,coil,,\n2,172.0,coil,,\n1-2,OL 40 Mohm,coil-to-coil,,\n"
    "1,OL 40 Mohm,coil-to-case,,\n2,OL 40 Mohm,coil-to-case,,\n"
)


def two(lines: str) -> HeadResult:
    """Judge a two-channel head that is sound, with lines about flexing."""
    return one_head(
        HEADER + SOUND + lines, kind="two-channel-rp", meter="handheld-4000", **STATED
    )


def flexed(coil: str, word: str, time: str = "") -> str:
    """Write the line of a flexing."""
    return f"{coil},171.0,free,{time},{word}\n"


@pytest.mark.parametrize("word", ["noisy", "intermittent"])
def test_a_loose_joint_makes_coil_and_head_unstable(word: str) -> None:
    """However good its resistance is; the other coil keeps its verdict."""
    head = two(flexed("2", f"{word}; dropouts=3"))
    first, second = head.coils

    assert Grade.UNSTABLE == head.grade
    assert head.grade_reason.startswith(f"Unstable: coil 2 ({word} when moved). 1 of 2 coils")
    assert (Condition.INTACT, Condition.UNSTABLE) == (first.verdict, second.verdict)
    assert 172.0 == pytest.approx(second.resistance_20c_ohm)
    assert FIND_IT == second.next
    assert Match.NO_SIBLING == first.match


def test_a_steady_coil_stays_what_it_is() -> None:
    """It adds to the evidence, and is no second value of the coil."""
    head = two(flexed("1", "steady; dropouts=0") + flexed("2", "steady"))

    assert Grade.MATCHED == head.grade
    assert [Stability.STEADY] * 2 == [coil.flex and coil.flex.stability for coil in head.coils]
    assert "steady when moved" in "".join(text_chunks([head]))


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("creeping", "Coil 1 crept one way as it was flexed: is it still connected"),
        ("undecided", "Coil 1 was flexed, and that decided nothing: flex it again."),
    ],
)
def test_what_decides_nothing_is_a_caution(word: str, said: str) -> None:
    """The verdict stays, and a person is told."""
    head = two(flexed("1", word))

    assert Grade.MATCHED == head.grade
    assert any(caution.startswith(said) for caution in head.cautions)


def test_the_latest_that_decides_counts() -> None:
    """By time where all say theirs, else in the order of the rows; a doubt clears nothing."""
    in_order = two(flexed("1", "intermittent") + flexed("1", "steady"))
    by_time = two(
        flexed("1", "steady", "2026-03-01T14:05:00Z")
        + flexed("1", "intermittent", "2026-03-01T13:05:00+00:00")
    )
    later = two(
        flexed("1", "intermittent", "2026-03-01T14:05:00+00:00")
        + flexed("1", "steady", "2026-03-01T14:05:00+02:00")
    )
    doubt = two(flexed("1", "intermittent") + flexed("1", "undecided"))

    assert Grade.MATCHED == in_order.grade
    assert Grade.MATCHED == by_time.grade
    assert Grade.UNSTABLE == later.grade
    assert Grade.UNSTABLE == doubt.grade
    assert any("decided nothing" in caution for caution in doubt.cautions)
    assert not any("crept" in caution for caution in in_order.cautions)


@pytest.mark.parametrize(
    ("before", "said"),
    [
        ("intermittent", "Coil 1 was intermittent when it was flexed before, and that stands"),
        ("steady", "Coil 1 was steady when it was flexed before; the latest flexing decided"),
    ],
)
def test_a_later_doubt_contradicts_nothing(before: str, said: str) -> None:
    """What was found before is named beside it: that counts, and is in the verdict."""
    head = two(flexed("1", before) + flexed("1", "undecided"))
    about = [caution for caution in head.cautions if "flexed" in caution]

    assert 1 == len(about)
    assert about[0].startswith(said)


def test_a_cleared_doubt_is_no_caution() -> None:
    """Unplugged and flexed again, it is steady."""
    head = two(flexed("1", "creeping") + flexed("1", "steady"))

    assert not any("crept" in caution for caution in head.cautions)


def test_a_coil_that_was_flexed_and_not_read() -> None:
    """A loose joint is known without a value; a steady one leaves the coil unread."""
    text = HEADER + flexed("1", "intermittent") + flexed("2", "steady")
    head = one_head(text, kind="two-channel-rp")
    first, second = head.coils

    assert Grade.UNSTABLE == head.grade
    assert (Condition.UNSTABLE, Condition.MISSING) == (first.verdict, second.verdict)
    assert (("1", "2"), "rp-cassette") == (first.pins, first.band)
    assert (None, None) == (first.evidence, first.resistance_20c_ohm)
    assert any("demagnetise" in caution for caution in head.cautions)


def test_without_a_kind_and_a_reading_it_still_has_its_place() -> None:
    """By its name or its pins, as it was written."""
    by_name = one_head(HEADER + flexed("L", "noisy"))
    (by_pins,) = judged("pins,reading,purpose,flex\n1-2,171,free,noisy\n")

    assert ["L"] == [coil.coil for coil in by_name.coils]
    assert [("1-2", ("1", "2"))] == [(coil.coil, coil.pins) for coil in by_pins.coils]
    assert Grade.UNSTABLE == by_pins.grade


def test_a_flexing_does_not_lay_the_head_out() -> None:
    """Coils named by pins, one of them flexed by the same pins: still two coils."""
    head = one_head(
        "pins,reading,purpose,flex\n1-2,171.0,,\n3-4,172.0,,\n1-2,171.0,free,steady\n"
        "1-3,OL 40 Mohm,coil-to-coil,\n2-case,OL 40 Mohm,,\n4-case,OL 40 Mohm,,\n",
        meter="handheld-4000",
        band="rp-cassette",
        **STATED,
    )

    assert Grade.MATCHED == head.grade
    assert ["1-2", "3-4"] == [coil.coil for coil in head.coils]


def test_by_its_pins_it_finds_the_coil_of_the_kind() -> None:
    """Pins 3 and 4 of the kind are coil 2."""
    text = "coil,pins,reading,purpose,flex\n2,,172,coil,\n,3-4,172,free,intermittent\n"
    head = one_head(text, kind="two-channel-rp")

    assert Condition.UNSTABLE == head.coils[1].verdict


def test_the_report_shows_it() -> None:
    """In the table with its drop-outs, as a column of the CSV, as an object of the JSON."""
    head = two(
        flexed("1", "steady; readings=200; rate_hz=9.9")
        + flexed("2", "intermittent; dropouts=1; longest_s=0.4")
    )
    text = "".join(text_chunks([head]))
    header, *lines = csv.reader(io.StringIO("".join(csv_chunks([head]))))
    words = [dict(zip(header, line, strict=True))["flex"] for line in lines]
    first, second = head_document(head)["coils"]

    assert "intermittent when moved: 1" in text
    assert f"coil 2: {FIND_IT[:40]}" in text
    assert ["steady", "intermittent", "", "", ""] == words
    assert ("steady", 200, 9.9, None) == tuple(
        first["flex"][key] for key in ("verdict", "readings", "rate_hz", "dropouts")
    )
    assert ("intermittent", 1, 0.4) == tuple(
        second["flex"][key] for key in ("verdict", "dropouts", "longest_s")
    )
    json.dumps(first, allow_nan=False)


def test_a_file_of_flexings_alone_can_be_judged(tmp_path: Path) -> None:
    """It says something of the head, though every row is `free`."""
    path = tmp_path / "K-07.csv"
    path.write_text("head,kind,coil,reading,purpose,flex\nK-07,coils-2,1,171,free,noisy\n")
    ran = cli("judge", str(path))

    assert 1 == ran.code
    assert ran.out.startswith("UNSTABLE: head K-07")


def test_check_does_not_take_it_for_the_coil() -> None:
    """A walk that goes on still asks for the coil, whatever the purpose of the row."""
    read, moved, free = rows(
        "coil,reading,purpose,flex\n1,171,coil,\n1,171,coil,steady\n1,171,free,steady\n"
    )

    assert ["coil 1", "", ""] == [key_of_row(row) for row in (read, moved, free)]
