"""Rows in, verdicts out: names looked up, nulls applied, every mistake told."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace

import pytest
from helpers import STATED, judged, mistakes_of, one_coil, one_head, rows, settings, shipped

from coilmeter.compute.judge import judge_rows
from coilmeter.compute.paths import joined_coils, required_paths
from coilmeter.errors import InputError, MistakesError, UnknownNameError
from coilmeter.values import (
    CASE,
    Band,
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

TWO = {"kind": "two-channel-rp", "meter": "handheld-4000"} | STATED
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


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("coil,reading\n9,5\n", "2: coil: saw '9', expected a coil of two-channel-rp: 1, 2"),
        ("pins,reading\n1-9,5\n", "2: pins: saw '9', expected pins of two-channel-rp: 1, 2, 3"),
        ("coil,reading,kind\n1,5,nope\n", "2: kind: saw 'nope', expected a head kind: "),
        ("coil,reading,meter\n1,5,nope\n", "2: meter: saw 'nope', expected a meter: bench"),
        ("coil,reading,lead\n1,5,9 ohm\n", "2: lead: saw '9 ohm', expected a lead resistance"),
        ("coil,reading,temperature\n1,5,hot\n", "2: temperature: saw 'hot', expected "),
        ("coil,reading,role\n1,5,erase\n", "2: role: saw 'erase', expected record/playback"),
        (
            "coil,reading,range\n1,5,3 kohm\n",
            "2: range: saw '5 on 3 kohm', expected what handheld-4000 can show",
        ),
        (
            "coil,reading,range\n1,900,400 ohm\n",
            "2: range: saw '900 on 400 ohm', expected what handheld-4000 can show",
        ),
        ("coil,reading\n1,-50\n", "2: reading: saw '-50', expected a resistance, which cannot"),
        ("coil,reading\n1,171\n1,172\n", "3: coil: saw '1 of head bench a second time'"),
        ("pins,reading\n1-2,171\n2-1,172\n", "3: coil: saw '1 of head bench a second time'"),
        (
            "coil,reading,purpose\n1,OL,coil-to-case\n1,OL,coil-to-case\n",
            "3: coil: saw '1 to case of head bench a second time'",
        ),
        ("coil,reading,purpose\n,9,lead-null\n", "2: reading: saw '9', expected a lead null"),
        ("coil,reading,purpose\n,OL,lead-null\n", "2: reading: saw 'OL', expected a lead null"),
        ("coil,reading,purpose\n1-case,5,coil\n", "2: purpose: saw 'coil', expected the name"),
        ("pins,reading,purpose\n1-2,5,coil-to-coil\n", "2: purpose: saw 'coil-to-coil', exp"),
        ("pins,reading,purpose\n1-3,5,coil-to-case\n", "2: purpose: saw 'coil-to-case', exp"),
        ("pins,reading,purpose\n1-case,5,coil-to-coil\n", "2: purpose: saw 'coil-to-coil', e"),
        ("coil,reading,purpose\n1-9,OL,coil-to-coil\n", "2: coil: saw '9', expected a coil of"),
        ("pins,reading\n1-2,171\n1-1,5\n", "3: pins: saw '1-1', expected two different pins"),
        ("pins,coil,reading\n3-4,1,171\n", "2: pins: saw '3-4'"),
        ("pins,coil,reading\n3-case,1,OL\n", "2: "),
    ],
)
def test_mistakes(text: str, told: str) -> None:
    """Each mistake tells file, line, column, what was seen and what was expected."""
    first = mistakes_of(text, **TWO)[0]

    assert first.startswith(f"bench.csv:{told}")


def test_all_mistakes_of_a_row_and_of_a_file_together() -> None:
    """A second run must not bring mistakes that the first could have told."""
    told = mistakes_of(
        "coil,reading,meter,lead,temperature\n9,171,nope,9 ohm,hot\n1,x,nope,,\n", **TWO
    )
    places = {mistake.split(": ")[1] for mistake in told if mistake.startswith("bench.csv:2")}

    assert {"coil", "meter", "lead", "temperature"} == places
    assert any(mistake.startswith("bench.csv:3: meter") for mistake in told)


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


def test_two_kinds_for_one_head() -> None:
    """A head is of one kind."""
    told = mistakes_of("coil,kind,reading\n1,two-channel-rp,171\nE1,two-erase,5\n")

    assert "bench.csv:3: kind: saw 'two-erase', expected one kind" in told[0]


def test_pins_read_both_ways_without_a_kind() -> None:
    """Pins 1-2 and 2-1 are one coil, read twice."""
    told = mistakes_of("pins,reading\n1-2,171\n2-1,172\n")

    assert "second time" in told[0]


def test_a_path_through_the_common_return() -> None:
    """Hot to hot reads the sum of both coils: it is neither a coil nor an isolation path."""
    told = mistakes_of("pins,reading\n1-2,342\n", kind="two-channel-rp-common")

    assert "'free'" in told[0]


def test_free_readings_are_kept_out() -> None:
    """A reading of the purpose 'free' is judged as nothing."""
    head = one_head("coil,reading,purpose\n1,171,\n1,500,free\n,7,free\n", **TWO)

    assert 171.0 == resistance(head, "1")


@pytest.mark.parametrize("reading", ["1e300", "1e200", "9e307", "1e160"])
def test_huge_numbers_are_refused(reading: str) -> None:
    """No meter shows such numbers: a slip of the pen, and their squares overflow."""
    with pytest.raises(InputError) as caught:
        judged(f"coil,reading\n1,{reading}\n")

    assert reading in str(caught.value)


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


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"meter": "nope"}, "no meter is called 'nope'"),
        ({"kind": "nope"}, "no head kind is called 'nope'"),
        ({"band": "nope"}, "no band is called 'nope'"),
        ({"confidence": 0.5}, "a confidence of 0.5"),
        ({"confidence": 1.0}, "a confidence of 1"),
        ({"confidence": float("nan")}, "a confidence of nan"),
        ({"leaking_below_ohm": 5.0}, "isolation that leaks below 5 ohm"),
        ({"leaking_below_ohm": 2e7}, "isolation that leaks below 20 Mohm"),
        ({"lead": "9 ohm"}, "9 ohm"),
        ({"temperature": "hot"}, "hot"),
    ],
)
def test_settings_are_checked(changes: dict[str, str | float], word: str) -> None:
    """Names nobody defined and texts that mean nothing are refused before a file is read."""
    made = settings(**changes)
    with pytest.raises(InputError) as caught:
        made.check()

    assert word in str(caught.value)
    assert isinstance(caught.value, InputError | UnknownNameError)


def test_a_band_that_a_kind_names_and_nobody_defines() -> None:
    """Told as a mistake of the row, not as a crash."""
    bands: dict[str, Band] = {"any": shipped().band("any")}
    told = mistakes_of("coil,reading\n1,171\n", bands=bands, kind="two-channel-rp")

    assert "bench.csv:2: band: saw 'rp-cassette', expected a band: any" in told[0]


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


def test_nothing_is_judged_when_anything_is_wrong() -> None:
    """One mistake in a hundred rows: no verdict at all."""
    lines = "".join(f"H{n},1,171\n" for n in range(100))
    with pytest.raises(MistakesError) as caught:
        judged(f"head,coil,reading\n{lines}H100,1,-50\n", **TWO)

    assert 1 == len(caught.value.mistakes)
    assert "nothing was judged" in str(caught.value)


def test_many_mistakes_are_counted() -> None:
    """Fifty are shown, and how many more there are."""
    with pytest.raises(MistakesError) as caught:
        judged("coil,reading\n" + "".join(f"{n},-50\n" for n in range(60)))

    assert "... and 10 more" in str(caught.value)
    assert "60 mistakes" in str(caught.value)
