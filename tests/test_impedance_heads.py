"""AC volts beside ohms: the grade of a head, its reports, and what the evidence says."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import Ran, cli, one_head, settings
from impedance_helpers import (
    HEADER,
    METER,
    SOUND,
    four,
    judged_volts,
    mistakes_in,
    signs,
    volts_csv,
)

from coilmeter.compute.grade import NOT_PROVEN
from coilmeter.compute.impedance_heads import with_impedance
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import MistakesError
from coilmeter.sources.impedance_sheet import parse_volts
from coilmeter.values import Grade, HeadResult
from coilmeter.values.impedances import Sign

SHORTED = SOUND.with_shorted(0.01)


def ohms_csv(head: str = "A", **other: str) -> str:
    """Write a readings file of a sound four-channel head, single readings changed."""
    readings = {"1": "300.1", "2": "302.0", "3": "297.0", "4": "300.4"} | other
    lines = [f"{head},four-channel-rp,{coil},{ohm},coil" for coil, ohm in readings.items()]
    paths = [f"{a}-{b}" for a, b in ("12", "23", "34")]
    lines += [f"{head},four-channel-rp,{path},OL 40 Mohm,coil-to-coil" for path in paths]
    lines += [f"{head},four-channel-rp,{n}-case,OL 40 Mohm,coil-to-case" for n in "1234"]
    return "\n".join(["head,kind,coil,reading,purpose", *lines]) + "\n"


def joined(ohms: str, volts: str, **changes: object) -> HeadResult:
    """Judge one head from ohms, and join AC volts to it."""
    head = one_head(ohms, lead="nulled", meter=METER)
    sheet = parse_volts(volts.encode(), "ac.csv")
    found = settings(meter=METER, **changes)
    (result,) = with_impedance([head], sheet.rows, found, Limits(), sheet.mistakes)
    return result


def test_a_short_of_one_per_cent_passes_ohms_and_is_caught() -> None:
    """By ohms the head is matched; by AC volts at 10 kHz one coil is suspected."""
    by_ohms = one_head(ohms_csv(), lead="nulled", meter=METER)
    head = joined(ohms_csv(), HEADER + volts_csv(four(SOUND, SOUND, SHORTED, SOUND)))

    assert Grade.MATCHED == by_ohms.grade
    assert Grade.UNMATCHED == head.grade
    assert "shorted turns suspected in coil 3" in head.grade_reason
    assert "siblings matched in ohms" in head.grade_reason
    assert head.grade_reason.endswith(NOT_PROVEN)
    assert head.coils[2].impedance is not None
    assert Sign.SHORTED == head.coils[2].impedance.sign


def test_a_sound_head_stays_matched() -> None:
    """No sign leaves the grade, and the reason says that it was looked for."""
    head = joined(ohms_csv(), HEADER + volts_csv(four(SOUND, SOUND, SOUND, SOUND)))

    assert Grade.MATCHED == head.grade
    assert "no sign of shorted turns in coil 1, 2, 3, 4" in head.grade_reason


def test_a_suspicion_never_makes_dead() -> None:
    """All four suspected beside a good reference: unmatched, and nothing worse."""
    coils = four(*4 * [SOUND.with_shorted(0.05)])
    volts = HEADER + volts_csv(coils)
    volts += volts_csv({"1": SOUND}, head="good", reference="yes")
    head = joined(ohms_csv(), volts)

    assert Grade.UNMATCHED == head.grade
    assert "suspected in coil 1, 2, 3, 4" in head.grade_reason


@pytest.mark.parametrize(
    ("farad", "words"),
    [
        (0.0, ""),
        (0.2e-9, ""),
        (1.2e-9, "L grows by"),
        (10e-9, "so does a coil above its resonance, as on a board"),
    ],
)
def test_a_capacitance_across_all_coils_bends_l_between_two_tones(
    farad: float, words: str
) -> None:
    """Two tones show what one hides: near self-resonance, or above it (L/(1 - (f/f0)^2)).

    At 10 kHz alone four coils on boards are as alike as four that are unplugged.
    """
    coils = four(*4 * [replace(SOUND, capacitance_f=farad)])
    text = HEADER + volts_csv(coils, hertz=1e3, ohm=1e3) + volts_csv(coils, hertz=10e3)
    notes = " ".join(judged_volts(text)[0].notes)

    assert words in notes
    assert bool(words) == ("still connected" in notes)


@pytest.mark.parametrize("farad", [1.2e-9, 10e-9])
def test_coils_that_all_bend_are_undecided_each_in_its_row(farad: float) -> None:
    """Alike, and all on their boards: no coil is said to show no sign."""
    coils = four(*4 * [replace(SOUND, capacitance_f=farad)])
    text = HEADER + volts_csv(coils, hertz=1e3, ohm=1e3) + volts_csv(coils, hertz=10e3)
    (head,) = judged_volts(text)
    both = joined(ohms_csv(), text)

    assert ["undecided"] * 4 == signs(head)
    assert all("as beside a capacitance" in " ".join(c.why) for c in head.coils.values())
    assert all("unplug the head" in coil.next for coil in head.coils.values())
    assert Grade.RECHECK == both.grade


def test_a_short_beside_a_bend_stays_suspected() -> None:
    """A doubt takes no suspicion away; it stands beside it."""
    few = SOUND.with_shorted(0.005)
    coils = four(*(replace(coil, capacitance_f=1.2e-9) for coil in (*3 * [SOUND], few)))
    text = HEADER + volts_csv(coils, hertz=1e3, ohm=1e3) + volts_csv(coils, hertz=10e3)
    (head,) = judged_volts(text)

    assert "shorted turns suspected" == signs(head)[3]
    assert "as beside a capacitance" in head.coils["4"].why[-1]


def timed(text: str) -> str:
    """Give a file as a walk writes it, with times."""
    lines = text.splitlines()
    return "\n".join([f"{lines[0]},time", *(f"{x},2026-11-20T10:00:00Z" for x in lines[1:])])


def test_a_coil_that_a_walk_took_and_that_is_no_circuit_stops_no_other() -> None:
    """R below the copper: that coil is left out with its reason, and the others are judged."""
    text = timed(HEADER + volts_csv(four(*4 * [SOUND])))
    lines = text.splitlines()
    lines[4] = lines[4].replace("300.0 ohm", "4000.0 ohm")
    (head,) = judged_volts("\n".join(lines) + "\n")
    both = joined(ohms_csv(), "\n".join(lines) + "\n")

    assert ["1", "2", "3"] == list(head.coils)
    assert ("4",) == head.refused
    assert any("Coil 4 at 10000 Hz is left out: dc: saw" in note for note in head.notes)
    assert Grade.RECHECK == both.grade
    assert "AC volts of coil 4 could not be used." in both.grade_reason


def test_where_no_coil_is_left_the_reasons_are_mistakes() -> None:
    """Nothing can be judged: then all of it is told, as of any file."""
    text = timed(HEADER + volts_csv(four(*4 * [SOUND]))).replace("300.0 ohm", "4000.0 ohm")
    told = mistakes_in(text + "\n")

    assert 4 == len(told)
    assert all("unplug the head" in text for text in told)


def test_a_head_without_a_usable_coil_stops_no_other_head() -> None:
    """It stands in the list with its reason."""
    good = HEADER + volts_csv(four(*4 * [SOUND]))
    bad = volts_csv({"1": SOUND}, head="B").replace("300.0 ohm", "4000.0 ohm")
    first, second = judged_volts(timed(good + bad) + "\n")

    assert 4 == len(first.coils)
    assert {} == second.coils
    assert ("1",) == second.refused


def test_a_reference_that_is_no_circuit_is_a_mistake() -> None:
    """A standard that is left out without a word would be missed by nobody."""
    good = HEADER + volts_csv(four(*4 * [SOUND]))
    bad = volts_csv({"1": SOUND}, head="good", reference="yes")
    told = mistakes_in(timed(good + bad.replace("300.0 ohm", "4000.0 ohm")) + "\n")

    assert 1 == len(told)


def test_a_person_corrects_what_a_person_wrote() -> None:
    """Without times it is a file written by hand: every mistake is told, nothing is judged."""
    text = HEADER + volts_csv(four(*4 * [SOUND]))
    told = mistakes_in(text.replace("300.0 ohm", "4000.0 ohm", 1))

    assert 1 == len(told)


def test_what_ohms_have_decided_stays() -> None:
    """A head with an open coil is partial, whatever AC volts say of the others."""
    volts = HEADER + volts_csv({"1": SOUND, "2": SOUND, "3": SHORTED})
    head = joined(ohms_csv(**{"4": "OL 40 Mohm"}), volts)

    assert Grade.PARTIAL == head.grade
    assert "shorted turns suspected in coil 3" in head.grade_reason
    assert None is head.coils[3].impedance


def test_undecided_l_and_q_ask_to_measure_again() -> None:
    """A head that would be matched is to be looked at again."""
    coils = four(*3 * [SOUND], SOUND.with_shorted(0.003))
    head = joined(ohms_csv(), HEADER + volts_csv(coils, volt=0.012, dc=False))

    assert Grade.RECHECK == head.grade
    assert "L and Q undecided in coil" in head.grade_reason


def test_the_ohms_give_the_copper() -> None:
    """Without a column 'dc', the ohms from the readings carry the range of the short."""
    volts = HEADER + volts_csv(four(SOUND, SOUND, SHORTED, SOUND), dc=False)
    head = joined(ohms_csv(), volts)

    assert head.coils[2].impedance is not None
    assert "If turns are shorted, about" in " ".join(head.coils[2].impedance.why)


def test_a_file_that_names_no_head_is_of_the_one_there_is() -> None:
    """Rows without a head belong to the head that was judged; its kind counts for them."""
    lines = volts_csv(four(SOUND, SOUND, SOUND, SOUND)).splitlines()
    text = HEADER.replace("head,kind,", "") + "".join(
        f"{line.split(',', 2)[2]}\n" for line in lines
    )
    head = joined(ohms_csv(), text)

    assert all(coil.impedance is not None for coil in head.coils)


def test_heads_and_coils_that_ohms_do_not_know() -> None:
    """Each is a mistake with its line, all of them in one go."""
    volts = HEADER + volts_csv({"1": SOUND}, head="B") + volts_csv({"7": SOUND})
    with pytest.raises(MistakesError) as caught:
        joined(ohms_csv(), volts)

    assert [
        "ac.csv:2: head: saw 'B', expected a head of the readings: A",
        "ac.csv:3: coil: saw '7', expected a coil of head A: 1, 2, 3, 4",
    ] == [str(mistake) for mistake in caught.value.mistakes]


def judged(folder: Path, *words: str) -> Ran:
    """Judge a shorted head from ohms and AC volts by the command line."""
    ohms, volts = folder / "A.csv", folder / "A-ac.csv"
    ohms.write_text(ohms_csv())
    volts.write_text(HEADER + volts_csv(four(SOUND, SOUND, SHORTED, SOUND)))
    return cli(
        *("judge", str(ohms), "--meter", METER, "--lead", "nulled"),
        *("--impedance", str(volts), *words),
    )


def test_judge_shows_both(tmp_path: Path) -> None:
    """The table of ohms, that of AC volts, and the reasons below; exit code 1."""
    ran = judged(tmp_path)

    assert 1 == ran.code
    assert ran.out.startswith("UNMATCHED: head A")
    assert "by AC volts" in ran.out
    assert "Not told apart from that" in ran.out


def test_judge_as_json_and_csv(tmp_path: Path) -> None:
    """A program finds sign, figures and covariance; the CSV has L and Q."""
    document = json.loads(judged(tmp_path, "--as", "json").out)
    coil = document["heads"][0]["coils"][2]["impedance"]
    (point,) = coil["points"]
    table = judged(tmp_path, "--as", "csv").out.splitlines()

    assert "shorted turns suspected" == coil["sign"]
    assert 10e3 == point["frequency_hz"]
    assert 0.0897 == pytest.approx(point["inductance_h"], rel=0.02)
    assert point["covariance_ohm2"][0][1] == point["covariance_ohm2"][1][0]
    assert ["gain"] == point["cancels"]
    assert table[0].endswith("frequency_hz,inductance_h,u_inductance_h,q,ac_sign")
    assert table[3].endswith("shorted turns suspected")


def test_pages_show_inductance_and_q(tmp_path: Path) -> None:
    """A page has the drawing, and shorted turns are off the list of what was not tested."""
    page = judged(tmp_path, "--as", "html").out
    report = cli(
        *("report", str(tmp_path / "A.csv"), "--meter", METER),
        *("--impedance", str(tmp_path / "A-ac.csv")),
    ).out
    without = cli("report", str(tmp_path / "A.csv"), "--meter", METER).out

    for text in (page, report):
        assert "Inductance and Q" in text
        assert "Shorted turns: a few of them do not show" not in text
    assert "Shorted turns: a few of them do not show" in without


def test_results_never_replace_ac_volts(tmp_path: Path) -> None:
    """A file of AC volts is no place for results."""
    ran = judged(tmp_path, "--out", str(tmp_path / "A-ac.csv"))

    assert 4 == ran.code
    assert "there are AC volts in it" in ran.err
