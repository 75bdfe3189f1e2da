"""Rows in, verdicts out: names looked up, nulls applied, bounds carried, cautions told."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers import TWO, judged, one_coil, one_head, rows, settings, shipped

from coilmeter.compute.judge import judge_rows
from coilmeter.compute.paths import joined_coils, required_paths
from coilmeter.values import (
    CASE,
    CoilSpec,
    Condition,
    EvidenceKind,
    Grade,
    HeadKind,
    HeadResult,
    Isolation,
    Meter,
    Role,
)

STAR = HeadKind(
    "star",
    "",
    (
        CoilSpec("1", Role.UNKNOWN, ("a", "m"), "any"),
        CoilSpec("2", Role.UNKNOWN, ("b", "c"), "any"),
        CoilSpec("3", Role.UNKNOWN, ("m", "c"), "any"),
        CoilSpec("4", Role.UNKNOWN, ("x", "y"), "any"),
    ),
)


def resistance(head: HeadResult, name: str) -> float | None:
    """Give the resistance of one coil."""
    return next(coil.resistance_20c_ohm for coil in head.coils if coil.coil == name)


def test_heads_in_order_of_appearance() -> None:
    """One result a head, and the coils in the order of the kind."""
    heads = judged("head,coil,reading\nB,2,171.0\nA,1,171.0\nB,1,171.0\n", **TWO)

    assert ["B", "A"] == [head.head for head in heads]
    assert ["1", "2"] == [coil.coil for coil in heads[0].coils]
    assert Condition.MISSING == heads[1].coils[1].verdict


def test_pins_find_the_coil() -> None:
    """Pins name the coil of the kind, in either order, and the path between two."""
    head = one_head(
        "pins,reading\n2-1,171.0\n3-4,172.0\n2-3,OL 40 Mohm\n3-case,OL 40M\n1-case,OL 40M\n",
        **TWO,
    )

    assert [171.0, 172.0] == [coil.resistance_20c_ohm for coil in head.coils]
    assert [("1", "2"), ("2", CASE), ("1", CASE)] == [
        (path.start, path.end) for path in head.isolation
    ]
    assert Grade.MATCHED == head.grade


def test_paths_a_head_needs() -> None:
    """Each group of coils against the next and against the case."""
    assert [["1", "3", "2"], ["4"]] == [sorted(g, key="132".find) for g in joined_coils(STAR)]
    assert [("1", "4"), ("1", CASE), ("4", CASE)] == required_paths(STAR, [])
    assert [("1", "4")] == required_paths(replace(STAR, case=False), [])
    assert [("a", "b"), ("a", CASE), ("b", CASE)] == required_paths(None, ["a", "b"])


def test_a_null_of_a_head_counts_for_that_head() -> None:
    """A null of its own, else the one of the whole file, else what the user said."""
    text = "head,coil,reading,purpose\nA,E,5.3,\nB,E,5.3,\n,,0.2,lead-null\nB,,0.4,lead-null\n"
    heads = judged(text, kind="one-erase", lead="0.1 ohm", temperature="20")
    alone = one_head(
        "coil,reading\nE,5.3\n", kind="one-erase", lead="0.1 ohm", temperature="20"
    )

    assert [5.1, 4.9] == pytest.approx([resistance(head, "E") for head in heads])
    assert 5.2 == pytest.approx(resistance(alone, "E"))


def test_what_a_row_says_of_its_leads_wins() -> None:
    """A reading that the meter has nulled already gets no second null."""
    head = one_head(
        "coil,reading,purpose,lead\nE1,5.3,,relative\nE2,5.3,,\n,0.2,lead-null,\n",
        kind="two-erase",
        temperature="20",
    )

    assert [5.3, 5.1] == pytest.approx([resistance(head, "E1"), resistance(head, "E2")])


def test_the_null_of_one_file_is_not_that_of_another() -> None:
    """A null for a whole file counts for that file: another was read with other leads."""
    first = rows("coil,reading,purpose,head\nE,5.3,,A\n,0.5,lead-null,\n", "a.csv")
    second = rows("coil,reading,head\nE,5.3,B\n", "b.csv")
    made = settings(kind="one-erase", temperature="20")
    heads = list(judge_rows([*first, *second], made))

    assert [4.8, 5.3] == pytest.approx([resistance(head, "E") for head in heads])


def test_unnamed_heads_of_two_files_stay_two() -> None:
    """Files of one name in two folders hold two heads, not the two coils of one."""
    first = rows("coil,reading\n1,171.0\n", "left/head.csv")
    second = rows("coil,reading\n2,172.0\n", "right/head.csv")
    heads = list(judge_rows([*first, *second], settings(**TWO)))

    assert 2 == len(heads)


def test_bounds_are_carried() -> None:
    """An overload has a bound and no value."""
    coil = one_coil("OL 40 Mohm", band="rp-cassette")

    assert (EvidenceKind.ABOVE, 4e7, None, None) == (
        coil.evidence,
        coil.bound_ohm,
        coil.resistance_20c_ohm,
        coil.u_ohm,
    )
    assert () == coil.parts_ohm


def test_bands_by_role_without_a_kind() -> None:
    """Without a kind, the role picks the band; the user's own band overrides all."""
    head = one_head("coil,role,reading\n1,rp,171\n2,erase,5.1\n3,,171\n4,playback,300\n")
    forced = one_head("coil,role,reading\n1,rp,171\n", band="any", kind="two-channel-rp")

    assert ["rp-cassette", "erase", "any", "any"] == [coil.band for coil in head.coils]
    assert "any" == forced.coils[0].band
    assert any("Band 'any'" in caution for caution in head.cautions)


def test_a_row_that_names_no_kind_takes_that_of_its_head() -> None:
    """`--kind` is for heads that name none; a blank cell in a later row is no other kind."""
    text = "head,coil,kind,reading\nX,E1,two-erase,5.2\nX,E2,,5.1\nY,1,,171\n"
    heads = judged(text, kind="two-channel-rp")

    assert ["two-erase", "two-channel-rp"] == [head.kind for head in heads]


def test_a_kind_named_in_a_later_row_counts() -> None:
    """The kind of a head may stand in any of its rows."""
    head = one_head("coil,kind,reading\n1,,171\n2,two-channel-rp,172\n")

    assert "two-channel-rp" == head.kind
    assert {"rp-cassette"} == {coil.band for coil in head.coils}


def test_free_readings_are_kept_out() -> None:
    """A reading of the purpose 'free' is judged as nothing."""
    head = one_head("coil,reading,purpose\n1,171,\n1,500,free\n,7,free\n", **TWO)

    assert 171.0 == resistance(head, "1")


def test_zero_ohms_are_a_reading() -> None:
    """Zero ohms is a dead short, judged like any other reading."""
    for meter in shipped().meters:
        coil = one_coil("0.00000", band="rp-cassette", meter=meter, lead="nulled")

        assert Condition.SHORTED == coil.verdict


def test_a_meter_without_counts_reads_zero_too() -> None:
    """A user's meter with a fraction of reading only: zero ohms is no reason to stop."""
    plain = shipped().meter("unstated")
    only = Meter("only", "", "", (), 0.01, 0.0, plain.beeper, plain.beeper_spread, plain.beeper)
    coil = one_coil(
        "0.0", band="rp-cassette", meters={"unstated": only}, lead="four-wire", temperature="20"
    )

    assert Condition.SHORTED == coil.verdict


def test_cautions() -> None:
    """What a person must know beside the verdicts."""
    head = one_head(
        "coil,reading,note,raw\nE1,5.1,low battery,\nE2,OL 40 Mohm,,0A\n", kind="two-erase"
    )
    told = " ".join(head.cautions)

    for words in (
        "No meter named",
        "low battery",
        "Temperature not given",
        "Leads not nulled: they add 0.1 to 0.2 ohm to coil E1;",
        "OL on coil E2: nobody proved",
        "demagnetise the head",
    ):
        assert words in told


def test_isolation_limits_can_be_moved() -> None:
    """What leaks is settable; the rest of the scale stays."""
    text = "coil,reading,purpose\n1,2 Mohm,coil-to-case\n1,171,coil\n"
    found = one_head(text, leaking_below_ohm=5e6, meter="handheld-4000").isolation[0]

    assert Isolation.LEAKING == found.verdict
