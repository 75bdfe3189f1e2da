"""Evidence that decides nothing must not be made into a fault, or into a sound head."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from helpers import cli, one_coil, one_head, shipped
from hypothesis import given
from hypothesis import strategies as st
from strategies import confidences, limits, resistances

from coilmeter.compute.verdict import zones_of_value
from coilmeter.units import ohms
from coilmeter.values import Condition, Grade, Match
from coilmeter.values.notes import UNMOVED


@pytest.mark.parametrize("where", ["", "range,40 Mohm"])
def test_a_reading_too_coarse_to_say_anything_makes_nothing_faulty(where: str) -> None:
    """0.00 Mohm is a sound coil, a dead short or an open one: all of them stay."""
    name, _, end = where.partition(",")
    head = one_head(
        f"coil,reading{',' * bool(name)}{name}\n1,0.00 Mohm{',' * bool(end)}{end}\n",
        kind="one-channel-rp",
        meter="handheld-4000" if where else "unstated",
    )

    assert Grade.RECHECK is head.grade
    assert Condition.UNDECIDED is head.coils[0].verdict
    assert {Condition.SHORTED, Condition.INTACT, Condition.HIGH} <= set(head.coils[0].between)


@given(
    resistances,
    st.floats(0.001, 1000.0),
    limits(),
    confidences,
)
def test_what_is_ruled_out_is_improbable(
    y: float, relative: float, ends: list[float], confidence: float
) -> None:
    """The zones left hold the value and, of the plain normal distribution, the confidence.

    What lies below zero counts for the lowest zone, the only one it can be.  Oracle: the
    standard library's normal distribution, JCGM 106:2012 equation (7).
    """
    u = max(relative * y, 1e-6)
    left = zones_of_value(ohms(y), ohms(u), ohms(ends), confidence).possible
    edges = [-math.inf, *ends, math.inf]
    below = [0.5 * math.erfc((y - edge) / (u * math.sqrt(2.0))) for edge in edges]
    mass = sum(
        high - low for low, high, may in zip(below, below[1:], left, strict=False) if may
    )
    (marked,) = np.nonzero(left)

    assert mass >= confidence - 1e-9
    assert left[int(np.searchsorted(ends, y, side="right"))]
    assert (np.diff(marked) == 1).all()


def test_an_undecided_coil_is_never_undecided_between_one_and_itself() -> None:
    """5 ohm read to 10 ohm: intact is likely, and shorted stays."""
    coil = one_coil("5 ohm", band="any", lead="0.2 +/- 5 ohm")

    assert coil.verdict is not Condition.UNDECIDED or len(coil.between) > 1


@pytest.mark.parametrize(
    ("kind", "rows"),
    [
        ("coils-4", "1,170.2\n2,171.1\n3,169.8\n4,50.0\n"),
        ("", "1,170.2\n2,171.1\n3,50.0\n"),
    ],
)
def test_coils_that_were_not_compared_are_not_matched(kind: str, rows: str) -> None:
    """Unlike coils of unknown role may be of two sorts, or one of them is wrong."""
    names = "1234"[: rows.count("\n")]
    paths = "".join(
        f"{a}-{b},OL 40 Mohm,coil-to-coil\n" for a in names for b in names if a < b
    ) + "".join(f"{name}-case,OL 40 Mohm,coil-to-case\n" for name in names)
    lines = rows.replace("\n", ",coil\n")
    head = one_head(f"coil,reading,purpose\n{lines}{paths}", kind=kind, band="any")

    assert Grade.RECHECK is head.grade
    assert {Match.NO_SIBLING} == {coil.match for coil in head.coils}
    assert "too unlike to be siblings" in head.grade_reason
    assert "siblings matched" not in head.grade_reason


ISOLATED = "1-case,OL 40 Mohm,coil-to-case\n2-case,OL 40 Mohm,coil-to-case\n"
BETWEEN = "1-2,OL 40 Mohm,coil-to-coil\n"


def test_a_coil_that_is_surely_faulty_is_no_measure_of_its_sibling() -> None:
    """20 ohm is shorted or low, which of both is open: the other coil is sound."""
    rows = f"coil,reading,purpose\n1,170.2,coil\n2,20.0,coil\n{ISOLATED}{BETWEEN}"
    head = one_head(rows, kind="two-channel-rp")

    assert [Match.NO_SIBLING] * 2 == [coil.match for coil in head.coils]
    assert "sound: coil 1." in head.grade_reason
    assert "which of them is wrong" not in head.grade_reason


def test_a_coil_whose_paths_were_not_read_is_not_called_sound() -> None:
    """Intact it is; whether it leaks to the case nobody knows."""
    rows = f"coil,reading,purpose\n1,170.2,coil\n2,OL 40 Mohm,coil\n{BETWEEN}"
    some = one_head(rows + ISOLATED.partition("\n")[0] + "\n", kind="two-channel-rp")
    none = one_head(rows, kind="two-channel-rp")

    assert "sound: coil 1." in some.grade_reason
    assert "1 of 2 coils intact. Faulty: coil 2 open." in none.grade_reason
    assert "sound" not in none.grade_reason


@pytest.mark.parametrize(
    ("kind", "word"), [("one-erase", "silent"), ("one-channel-rp", "beep")]
)
def test_the_usual_threshold_of_a_beeper_makes_nothing_faulty(kind: str, word: str) -> None:
    """A meter that is named, and states no threshold, may sound below 10 or 120 ohm.

    Published thresholds run from 10 to 120 ohm (reference_data/PROVENANCE.md, J2 to J5).
    """
    coil = "E" if kind == "one-erase" else "1"
    unknown = one_head(f"coil,reading\n{coil},{word}\n", kind=kind, meter="handheld-4000")
    stated = one_head(f"coil,reading\n{coil},{word}\n", kind=kind, meter="handheld-4000-b")

    assert not shipped().meters["handheld-4000"].beeper_known
    assert shipped().meters["handheld-4000-b"].beeper_known
    assert (Grade.RECHECK, Grade.DEAD) == (unknown.grade, stated.grade)


def test_a_lead_null_belongs_to_its_meter() -> None:
    """0.7 ohm of one meter's zero and leads is not taken off what another one reads."""
    rows = "coil,reading,purpose,meter\n,0.7,lead-null,{0}\nE,5.5,coil,{1}\n"
    same = one_head(rows.format("handheld-4000", "handheld-4000"), kind="one-erase")
    other = one_head(rows.format("handheld-4000", "handheld-6000"), kind="one-erase")
    values = [head.coils[0].resistance_20c_ohm for head in (same, other)]

    assert [4.8, 5.5] == pytest.approx(values, abs=0.01)


def test_a_lead_null_is_not_taken_off_four_wires() -> None:
    """Said of the whole file: none of the leads is in the reading."""
    rows = "coil,reading,purpose\n,0.7,lead-null\nE,5.5,coil\n"
    four = one_head(rows, kind="one-erase", lead="four-wire")

    assert 5.5 == pytest.approx(four.coils[0].resistance_20c_ohm, abs=0.01)


def test_a_coil_that_nobody_knows_makes_no_head_sound(tmp_path: Path) -> None:
    """Beside coils of known role, one of none is compared with nothing: it only conducts."""
    own = tmp_path / "own.toml"
    pairs = (("A", "rp", "rp-cassette"), ("B", "unknown", "any"), ("C", "rp", "rp-cassette"))
    coils = ", ".join(
        f'{{ name = "{name}", role = "{role}", band = "{band}", pins = ["{n}a", "{n}b"] }}'
        for n, (name, role, band) in enumerate(pairs, 1)
    )
    own.write_text(f"[kinds.mapped]\ncase = false\ncoils = [{coils}]\n", encoding="utf-8")
    rows = tmp_path / "rows.csv"
    paths = "".join(f"{path},coil-to-coil,OL,40 Mohm\n" for path in ("A-B", "B-C"))
    values = "A,coil,184.2,400 ohm\nB,coil,1.53 kohm,4 kohm\nC,coil,184.6,400 ohm\n"
    rows.write_text(f"coil,purpose,reading,range\n{values}{paths}", encoding="utf-8")
    ran = cli("judge", str(rows), "--kind", "mapped", "--catalog", str(own), "--as", "json")
    (head,) = json.loads(ran.out)["heads"]

    assert 1 == ran.code
    assert "recheck" == head["grade"]
    assert "of unknown role among others" in head["grade_reason"]


def test_what_was_moved_stays_unstable_where_the_clips_were_not_seen_to_move() -> None:
    """A flexing decides more than the OL beside it; no zones are left where it has decided."""
    figures = "readings=200; duration_s=20; rate_hz=10; dropouts=5"
    head = one_head(
        "coil,reading,range,purpose,note,flex\n"
        f"1,OL,40 Mohm,coil,{UNMOVED},\n"
        f'1,171.3,400 ohm,free,flexed,"intermittent; {figures}"\n',
        kind="one-channel-rp",
    )

    assert Condition.UNSTABLE is head.coils[0].verdict
    assert () == head.coils[0].between
