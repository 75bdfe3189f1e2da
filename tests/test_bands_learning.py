"""Bands learnt from good coils: factors, outliers, limits, and the command."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest
from helpers import cli
from hypothesis import given
from hypothesis import strategies as st
from published import agrees, case

from coilmeter.compute.learning import KnownCoil, learn
from coilmeter.compute.outliers import grubbs, grubbs_limit, modified_z, outliers
from coilmeter.compute.tolerance import howe_factor, one_sided_factor, two_sided_factor
from coilmeter.errors import InputError
from coilmeter.report.band_rows import STRIP, strip

HEADER = "head,kind,coil,reading\n"
GOOD = HEADER + "".join(
    f"G-0{head},four-channel-rp,{coil},{170 + 2 * head + 0.4 * coil:.1f} ohm\n"
    for head in range(1, 4)
    for coil in range(1, 5)
)


def known(*ohms: float, own: float = 0.1, shared: float = 0.0) -> list[KnownCoil]:
    """Make known-good coils, each of a head of its own."""
    return [KnownCoil(f"G-{n}", "1", ohm, own, shared) for n, ohm in enumerate(ohms)]


def test_handbook_factors() -> None:
    """One worked example: Howe's factor, its parts, and the exact one-sided factor."""
    entry = case("4.1")  # NIST/SEMATECH e-Handbook 7.2.6.3
    given_ = entry["inputs"]
    arguments = (given_["N"], given_["p"], given_["gamma"])

    assert agrees(entry, "k2_howe") == howe_factor(*arguments)
    assert agrees(entry, "k1_nct") == one_sided_factor(*arguments)


@pytest.mark.parametrize("count", ["5", "10", "20", "30"])
def test_table_of_two_sided_factors(count: str) -> None:
    """95 % of a population with 95 % confidence, from a published table."""
    entry = case("4.2")  # Berthouex & Brown, table 21.1

    assert agrees(entry, count) == two_sided_factor(int(count), 0.95, 0.95)


@pytest.mark.parametrize("count", ["5", "10", "20", "30"])
def test_table_of_one_sided_factors(count: str) -> None:
    """The same for one limit."""
    entry = case("4.3")  # ISO 16269-6:2014 annex C

    assert agrees(entry, count) == one_sided_factor(int(count), 0.95, 0.95)


@pytest.mark.parametrize("count", [5, 12])
def test_the_interval_holds_what_it_says(count: int) -> None:
    """Among many seeded groups, the stated share of intervals holds 95 % of the population."""
    factor = two_sided_factor(count, 0.95, 0.95)
    draws = np.random.default_rng(7).standard_normal((40_000, count))
    mean, spread = draws.mean(axis=1), draws.std(axis=1, ddof=1)
    within = np.vectorize(math.erf)((mean + factor * spread) / math.sqrt(2))
    within = (within - np.vectorize(math.erf)((mean - factor * spread) / math.sqrt(2))) / 2
    share = float((within >= 0.95).mean())

    assert 0.95 == pytest.approx(share, abs=4 * math.sqrt(0.95 * 0.05 / 40_000))


@given(st.integers(2, 400), st.floats(0.5, 0.99), st.floats(0.5, 0.99))
def test_factors_keep_their_order(count: int, coverage: float, confidence: float) -> None:
    """More values ask for less width, more coverage for more."""
    factor = two_sided_factor(count, coverage, confidence)

    assert factor > two_sided_factor(count + 5, coverage, confidence)
    assert factor < two_sided_factor(count, coverage + 0.005, confidence)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((1, 0.95, 0.95), "1 values"),
        ((9, 1.0, 0.95), "coverage"),
        ((9, 0.9, 0.0), "confidence"),
    ],
)
def test_no_factor(arguments: tuple[int, float, float], words: str) -> None:
    """What has no factor is refused by name."""
    for factor in (two_sided_factor, howe_factor, one_sided_factor):
        with pytest.raises(InputError, match=words):
            factor(*arguments)


def test_grubbs_example() -> None:
    """The handbook's example of a value that stands out."""
    entry = case("5.1")  # NIST/SEMATECH e-Handbook 1.3.5.17.1
    index, statistic = grubbs(entry["inputs"]["x"])

    assert 7 == index
    assert agrees(entry, "G") == statistic
    assert agrees(entry, "crit_two") == grubbs_limit(8, entry["inputs"]["alpha"])


def test_modified_z_example() -> None:
    """The same data by the median."""
    entry = case("5.2")  # Iglewicz & Hoaglin 1993; the number recomputed
    scores = modified_z(entry["inputs"]["x"])

    assert agrees(entry, "M_max") == float(scores.max())


@pytest.mark.parametrize(("level", "share"), [("two5", 0.05), ("two1", 0.01)])
def test_table_of_grubbs_limits(level: str, share: float) -> None:
    """Critical values of the two-sided test for three to eight values."""
    entry = case("5.3")  # ISO 5725-2, table 5

    for count in entry["inputs"]["n"]:
        assert agrees(entry, f"{level}_{count}") == grubbs_limit(count, share)


def test_small_groups_have_no_outliers() -> None:
    """Five values are too few to say which does not belong."""
    assert outliers([170.0, 171.0, 172.0, 170.5, 400.0]) == []


def test_two_that_hide_each_other_are_both_found() -> None:
    """Where one test is blind to the second of two, the other is not."""
    values = [170.0, 171.0, 172.0, 170.5, 171.5, 170.2, 171.8, 170.9, 171.1, 250.0, 252.0]
    found = [each.index for each in outliers(values)]

    assert [10, 9] == found


def test_limits_of_a_learnt_band() -> None:
    """Mean and spread by hand, factor from the table."""
    found = learn(known(98.0, 99.0, 100.0, 101.0, 102.0), 0.95, 0.95)

    assert 100.0 == pytest.approx(found.mean_ohm)
    assert math.sqrt(2.5) == pytest.approx(found.s_ohm)
    assert 100.0 + 5.0769 * math.sqrt(2.5) == pytest.approx(found.high_ohm, abs=1e-3)
    assert 200.0 == pytest.approx(found.low_ohm + found.high_ohm)


def test_a_spread_finer_than_the_readings_is_not_believed() -> None:
    """Coils that all read alike on a coarse range are not all alike."""
    found = learn(known(*[100.0] * 6, own=0.3), 0.95, 0.95)

    assert 0.3 == pytest.approx(found.s_ohm)


def test_what_all_readings_share_moves_the_limits_out() -> None:
    """A meter that reads 1 % high would teach limits that are 1 % high."""
    narrow = learn(known(98.0, 99.0, 100.0, 101.0, 102.0), 0.95, 0.95)
    wide = learn(known(98.0, 99.0, 100.0, 101.0, 102.0, shared=1.0), 0.95, 0.95)

    assert 2.0 * 100 / 98 == pytest.approx(wide.high_ohm - narrow.high_ohm)


def test_four_coils_are_too_few() -> None:
    """Refused, with how wide it would be."""
    with pytest.raises(InputError, match=r"6\.3 times their spread"):
        learn(known(98.0, 99.0, 100.0, 101.0), 0.95, 0.95)


def test_one_coil_is_too_few() -> None:
    """One value has no spread to speak of."""
    with pytest.raises(InputError, match="saw 1 known-good coils"):
        learn(known(98.0), 0.95, 0.95)


@pytest.mark.parametrize("ohms", [(0.0, 98.0), (170.0, 171.0, 172.0, 0.0, 169.0)])
def test_a_coil_without_resistance_is_no_good_one(ohms: tuple[float, ...]) -> None:
    """Named and refused, among few as among many."""
    with pytest.raises(InputError, match=r"known-good coils|saw 0 ohm of head"):
        learn(known(*ohms), 0.95, 0.95)


def test_coils_too_unlike_each_other() -> None:
    """Limits below zero are none."""
    with pytest.raises(InputError, match="too few for how unlike"):
        learn(known(10.0, 100.0, 50.0, 200.0, 80.0), 0.95, 0.95)


@pytest.mark.parametrize(
    ("ohm", "mark", "place"),
    [(100.0, "o", 5), (500.0, "o", STRIP - 6), (1e6, ">", STRIP - 1), (0.0, "<", 0)],
)
def test_a_coil_is_drawn_in_its_place(ohm: float, mark: str, place: int) -> None:
    """At a limit, and beyond the edge."""
    drawn = strip(ohm, 100.0, 500.0)

    assert STRIP == len(drawn)
    assert mark == drawn[place]


def learnt(tmp_path: Path, text: str, *words: str) -> tuple[int, str, str]:
    """Run ``bands learn`` on a file of that text."""
    path = tmp_path / "good.csv"
    path.write_text(text, encoding="utf-8")
    ran = cli("bands", "learn", str(path), *words, config=tmp_path / "coilmeter")
    return ran.code, ran.out, ran.err


def test_learn_shows_and_saves_nothing(tmp_path: Path) -> None:
    """Without --save it is a look."""
    code, out, _ = learnt(tmp_path, GOOD, "--meter", "handheld-4000")

    assert 0 == code
    assert "exact factor 3.175" in out
    assert "12 coils of 3 heads" in out
    assert 12 == out.count("o....") + out.count("o|")


def test_a_saved_band_is_judged_by(tmp_path: Path) -> None:
    """It stands in the user's catalog with its provenance, comments kept, and counts."""
    own = tmp_path / "coilmeter" / "catalog.toml"
    own.parent.mkdir()
    own.write_text(
        "# mine\n[bands.x]\nshorted_below='1 ohm'\nlow='2 ohm'\nhigh='3 ohm'\n"
        "open_above='4 ohm'\n"
    )
    code, _, err = learnt(tmp_path, GOOD, "--meter", "handheld-4000", "--save", "mine")
    entry = tomllib.loads(own.read_text())["bands"]["mine"]
    again = learnt(tmp_path, GOOD, "--meter", "handheld-4000", "--save", "mine")
    replaced = learnt(tmp_path, GOOD, "--meter", "handheld-4000", "--save", "mine", "--replace")
    judged = cli(
        "judge",
        str(tmp_path / "good.csv"),
        "--band",
        "mine",
        "--as",
        "json",
        "--meter",
        "handheld-4000",
        config=tmp_path / "coilmeter",
    )
    verdicts = {
        coil["verdict"] for head in json.loads(judged.out)["heads"] for coil in head["coils"]
    }

    assert (0, 2, 0) == (code, again[0], replaced[0])
    assert "mine: added to" in err
    assert "has 'mine' already" in again[2]
    assert "--replace" in again[2]
    assert own.read_text().startswith("# mine\n")
    assert "12 good coils of 3 heads" in entry["basis"]
    assert {"intact"} == verdicts


def test_outliers_are_named_and_nothing_is_learnt(tmp_path: Path) -> None:
    """The user says what is to become of them."""
    odd = GOOD.replace("G-02,four-channel-rp,3,175.2", "G-02,four-channel-rp,3,240")
    code, _, err = learnt(tmp_path, odd)
    left, out, _ = learnt(tmp_path, odd, "--leave-out", "G-02:3")
    kept, _, _ = learnt(tmp_path, odd, "--keep-all")

    assert (2, 0, 0) == (code, left, kept)
    assert "G-02:3 240 ohm" in err
    assert "--leave-out G-02:3" in err
    assert "Not used: G-02:3 (left out)." in out


@pytest.mark.parametrize(
    ("text", "words", "message"),
    [
        (GOOD, ("--leave-out", "G-09:1"), "'G-09:1'"),
        (GOOD, ("--role", "wings"), "--role: saw 'wings'"),
        (GOOD.replace(",17", ",27"), ("--base", "erase"), "is not between shorted"),
        (GOOD, ("--coverage", "2"), "coverage: saw 2"),
        (HEADER + "G-1,four-channel-rp,1,OL 40 Mohm\n", (), "saw 0 known-good coils"),
        (GOOD + "E,one-erase,E,5 ohm\n", (), "several roles"),
        (HEADER.replace("kind,", "") + "A,1,5 ohm\n", ("--base", "no"), "'no'"),
    ],
)
def test_what_cannot_be_learnt(
    tmp_path: Path, text: str, words: tuple[str, ...], message: str
) -> None:
    """Each with its message and exit code 2."""
    code, _, err = learnt(tmp_path, text, *words)

    assert 2 == code
    assert message in err


def test_list_and_show(tmp_path: Path) -> None:
    """Every shape of the lists."""
    path = tmp_path / "good.csv"
    path.write_text(GOOD)
    listed = json.loads(cli("bands", "list", "--as", "json").out)["bands"]
    rows = cli("bands", "list", "--as", "csv").out.splitlines()
    shown = cli("bands", "show", "rp-cassette", str(path))
    alone = cli("bands", "show", "rp-cassette", "--as", "markdown")

    assert 6 == len(listed) == len(rows) - 1
    assert {"band", "low_ohm", "basis"} <= set(listed[0])
    assert 12 == shown.out.count("intact")
    assert "no coil to draw" in alone.out
