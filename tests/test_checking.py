"""One head from its steps to its verdict: names, refusals, resuming."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import pytest
from helpers import settings, shipped
from hypothesis import given
from hypothesis import strategies as st
from walk_helpers import Tape, job_in, names, ohms_of, overload, refused

from coilmeter.cli.checking import (
    LONGEST_NAME,
    Job,
    check_resumed,
    checked_name,
    file_name,
    key_of_row,
    make_keeper,
)
from coilmeter.errors import InputError, MistakesError, StoreError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.sheet import read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import Condition, Isolation, Purpose, ReadingRow
from coilmeter.walks.events import Planned
from coilmeter.walks.keeping import REFUSED


def fill(job: Job, **texts: str) -> None:
    """Type readings of a job from the start, as long as the walk asks for one of these."""
    walk = job.walk()
    walk.start()
    while walk.step is not None and (text := texts.get(walk.step.key.replace(" ", "_"))):
        walk.type(text)


WHOLE: Final = {"leads": "0.2", "coil_1": "171.3", "1_to_2": "OL 40 Mohm", "coil_2": "172"}
"""A reading for each step of the kind that `job_in` makes."""


def test_from_steps_to_verdicts(tmp_path: Path) -> None:
    """What was typed is in the file, and is judged from there."""
    job = job_in(tmp_path)
    fill(job, **WHOLE)
    (head,) = job.results()

    assert [Condition.INTACT] * 2 == [coil.verdict for coil in head.coils]
    assert [Isolation.ISOLATED] == [path.verdict for path in head.isolation]
    assert ["H"] * 4 == [row.head for row in read_sheet(job.keeper.path).rows]


def test_verdict_so_far(tmp_path: Path) -> None:
    """A word for a coil and for a path from either end, and none for the leads."""
    job = job_in(tmp_path)
    steps = {step.key: step for step in job.walk().steps}
    leads, first, second, path = (steps[key] for key in ("leads", "coil 1", "coil 2", "1 to 2"))
    before = job.verdict(first)
    fill(job, leads="0.2", coil_1="171.3")
    found = [job.verdict(step) for step in (leads, first, second, path)]
    fill(job, **WHOLE)

    assert "" == before
    assert ["", "intact", "missing", "missing"] == found
    assert "isolated" == job.verdict(replace(path, coil="2", other="1"))
    assert "" == job.verdict(replace(path, coil="9"))


@pytest.mark.parametrize(
    ("lead", "four_wire", "first"),
    [
        ("", False, "leads"),
        ("0.2 ohm", False, "coil 1"),
        ("nulled", False, "coil 1"),
        ("", True, "coil 1"),
    ],
)
def test_a_lead_null_where_it_is_needed(
    tmp_path: Path, lead: str, *, four_wire: bool, first: str
) -> None:
    """Not where the leads are known, nor where four wires are used."""
    job = job_in(tmp_path, lead=lead)
    meter = replace(job.settings.meters["handheld-4000"], four_wire=four_wire)
    meters = {**job.settings.meters, meter.name: meter}
    job = replace(job, settings=replace(job.settings, meters=meters))

    assert first == job.walk().steps[0].key


def test_without_isolation(tmp_path: Path) -> None:
    """Only coils are asked for."""
    job = replace(job_in(tmp_path), isolation=False)

    assert ["leads", "coil 1", "coil 2"] == [step.key for step in job.walk().steps]


def test_a_band_for_every_coil(tmp_path: Path) -> None:
    """A band named on the command line counts for the steps too."""
    job = job_in(tmp_path, band="any")

    assert {0.6} == {
        step.near_zero_ohm for step in job.walk().steps if step.purpose is Purpose.COIL
    }


def test_what_cannot_be_right_is_kept_as_free(tmp_path: Path) -> None:
    """A lead null of a coil is put aside with the reason, and is not lost."""
    job = job_in(tmp_path)
    walk = job.walk()
    walk.start()
    aside = walk.type("171.3")
    (row,) = read_sheet(job.keeper.path).rows

    assert ["NotKept"] == names(aside)
    assert "saw '171.3'" in refused(aside)[0]
    assert "expected" in refused(aside)[0]
    assert (Purpose.FREE, REFUSED, "171.3") == (row.purpose, row.note, row.reading.text)
    assert walk.step == walk.steps[0]


def test_a_live_null_on_a_coil_is_put_aside(tmp_path: Path) -> None:
    """Clips on a coil while the leads are asked for: told, and the clips must be lifted."""
    job = job_in(tmp_path)
    bench = Tape(job.walk())
    bench.play(1.0, overload())
    bench.play(3.0, ohms_of(171.3))
    bench.play(1.5, overload())
    bench.play(1.5, ohms_of(0.2))

    assert ["Contact", "NotKept", "Contact", "Taken", "Lift"] == names(bench.events)
    assert [("leads", "0.2 ohm")] == bench.taken


def test_a_reading_replaced_by_a_better_one_is_not_judged_with_it(tmp_path: Path) -> None:
    """A wrong null can be taken again: the old one does not count against the new."""
    job = job_in(tmp_path)
    walk = job.walk()
    walk.start()
    walk.type("4.9")
    walk.back()
    again = walk.type("0.2")

    assert "Taken" in names(again)
    assert ["free", "lead-null"] == [row.purpose for row in job.keeper.rows]


def test_resume_asks_only_for_what_is_left(tmp_path: Path) -> None:
    """Steps whose readings are in the file are done; one put aside is not."""
    first = job_in(tmp_path)
    fill(first, leads="0.2", coil_1="171.3")
    put_aside = first.walk()
    put_aside.start()
    put_aside.type("-50")
    first.keeper.close()
    with SheetKeeper(first.keeper.path, resume=True) as keeper:
        again = replace(first, keeper=keeper)
        check_resumed(again)
        walk = again.walk()
        began = walk.start()

    assert Purpose.FREE is keeper.rows[-1].purpose
    assert {"leads", "coil 1"} == set(walk.taken)
    assert walk.step is not None
    assert "coil 2" == walk.step.key
    assert Planned(2, 4, 3) == began[0]


@pytest.mark.parametrize(
    ("head", "kind"), [("K", "two-channel-rp-no-case"), ("H", "two-channel-rp")]
)
def test_readings_of_another_head_are_not_mixed_in(
    tmp_path: Path, head: str, kind: str
) -> None:
    """Another name or kind is refused with both."""
    job = job_in(tmp_path)
    fill(job, leads="0.2")
    other = Job(head, shipped().kind(kind), settings(), job.keeper)
    with pytest.raises(InputError, match="holds head 'H' of kind") as caught:
        check_resumed(other)

    assert repr(head) in str(caught.value)
    assert repr(kind) in str(caught.value)


def test_readings_that_contradict_are_told_before_the_walk(tmp_path: Path) -> None:
    """A file edited into nonsense would have every new reading put aside."""
    job = job_in(tmp_path)
    fill(job, leads="0.2", coil_1="171.3")
    job.keeper.close()
    path = job.keeper.path
    path.write_text(path.read_text().replace("171.3", "-171.3"))
    edited = replace(job, keeper=SheetKeeper(path, resume=True))
    with pytest.raises(MistakesError, match=r"H\.csv:3"):
        check_resumed(edited)


def test_a_keeper_of_its_own_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without --keep the file is named after the head, in the folder one is in."""
    monkeypatch.chdir(tmp_path)

    assert Path("K-07_left.csv") == make_keeper(None, "K-07/left", resume=False).path
    assert tmp_path / "x" == make_keeper(tmp_path / "x", "K", resume=False).path


def test_nothing_to_resume(tmp_path: Path) -> None:
    """A name mistyped must not begin another file."""
    with pytest.raises(InputError, match="no such file to go on with"):
        make_keeper(tmp_path / "typo.csv", "H", resume=True)

    assert [] == list(tmp_path.iterdir())


def test_a_file_in_the_way(tmp_path: Path) -> None:
    """Readings are never written over."""
    job = job_in(tmp_path)
    fill(job, leads="0.2")
    job.keeper.close()
    with pytest.raises(StoreError, match="something in it already"):
        make_keeper(tmp_path / "H.csv", "H", resume=False)


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        ("K-07", "K-07"),
        ("../../etc/passwd", "etc_passwd"),
        ("CON: a\\b", "CON_a_b"),
        ("Kopf Ä", "Kopf_Ä"),
        ("=1+1", "1_1"),
        ("...", "head"),
        ("x" * 99, "x" * 60),
    ],
)
def test_file_names(head: str, expected: str) -> None:
    """A head's name is no path."""
    assert expected == file_name(head)


@given(st.text(max_size=200))
def test_any_name_makes_a_file_name(head: str) -> None:
    """It is never empty, hidden, long or a path."""
    name = file_name(head)

    assert 0 < len(name) <= 60
    assert not {"/", "\\", ".", ":", "\0", "\n"} & set(name)


@pytest.mark.parametrize("head", ["K-07", "=1+1", "a,b", 'say "hm"', "\u202eK", "é", "a#b"])
def test_names_that_come_back_are_let_through(head: str) -> None:
    """Commas, quotes, formulas and direction marks are no trouble in a readings file."""
    assert head == checked_name(f" {head} ")


@pytest.mark.parametrize(
    "head",
    [
        "", "  ", "#1", " #1", "a\nb", "a\rb", "a\tb\x00", "\x1b[2J", "\udcff", "a\u2028b",
        "x" * (LONGEST_NAME + 1),
    ],
)  # fmt: skip
def test_names_that_would_not_come_back_are_refused(head: str) -> None:
    """One that reads as a comment would lose the reading; others break the line."""
    with pytest.raises(InputError, match="as the name of the head") as caught:
        checked_name(head)

    assert str(caught.value).isprintable() or "\n  next:" in str(caught.value)
    assert "\x1b" not in str(caught.value)


@given(st.text(max_size=LONGEST_NAME + 5))
def test_a_name_let_through_comes_back(head: str) -> None:
    """Whatever name is let through, a readings file gives it back."""
    try:
        name = checked_name(head)
    except InputError:
        return
    from coilmeter.sources.keeper import _cells, _line  # noqa: PLC0415 - only here
    from coilmeter.sources.sheet import COLUMNS, parse_sheet  # noqa: PLC0415 - only here

    row = ReadingRow("x", 0, name, parse_reading("171"), coil="1", purpose=Purpose.COIL)
    text = _line(COLUMNS) + _line(_cells(row))
    sheet = parse_sheet(text.encode(), "x")

    assert [name] == [each.head for each in sheet.rows]
    assert 2 == text.count("\n")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"purpose": Purpose.COIL}, "coil 1"),
        ({"purpose": Purpose.COIL_TO_CASE, "other": "case"}, "1 to case"),
        ({"purpose": Purpose.COIL_TO_COIL, "other": "2"}, "1 to 2"),
        ({"purpose": Purpose.LEAD_NULL, "coil": ""}, "leads"),
        ({"purpose": Purpose.FREE}, ""),
        ({"purpose": None}, ""),
    ],
)
def test_which_step_a_row_was_for(changes: dict[str, Any], expected: str) -> None:
    """A free reading is for none."""
    row = ReadingRow("x", 0, "H", parse_reading("1"), coil="1")

    assert expected == key_of_row(replace(row, **changes))
