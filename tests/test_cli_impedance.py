"""`coilmeter impedance` typed and from files: what comes out, and what is refused."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers import Ran, cli
from impedance_helpers import HEADER, METER, SOUND, four, true_volts, volts_csv

from coilmeter.sources.impedance_sheet import read_volts

RESISTOR = ("--resistor", "10 kohm +/- 1 %", "--meter", METER)


@pytest.fixture
def volts(tmp_path: Path) -> Path:
    """Write a file of AC volts with one shorted coil."""
    path = tmp_path / "A-ac.csv"
    path.write_text(HEADER + volts_csv(four(SOUND, SOUND, SOUND.with_shorted(0.01), SOUND)))
    return path


def typed(folder: Path, lines: list[str], *words: str) -> Ran:
    """Type voltages at the prompt."""
    return cli(
        *("impedance", "--head", "A", "--kind", "two-channel-rp", *RESISTOR),
        *("--keep", str(folder / "A-ac.csv"), *words),
        stdin="".join(f"{line}\n" for line in lines).encode(),
    )


def three(z: complex) -> list[str]:
    """Give the three voltages of a coil as they are typed."""
    return [f"{1e3 * volt:.1f} mV" for volt in true_volts(z, 10e3, 10e3)]


def test_a_file_is_judged(volts: Path) -> None:
    """One coil is suspected, and the exit code says that there is something."""
    ran = cli("impedance", str(volts), "--meter", METER)

    assert 1 == ran.code
    assert "shorted turns suspected" in ran.out
    assert "" == ran.err


def test_a_sound_head_ends_with_0() -> None:
    """Nothing suspected, nothing open."""
    text = HEADER + volts_csv(four(SOUND, SOUND, SOUND, SOUND))
    ran = cli("impedance", "-", "--meter", METER, stdin=text.encode())

    assert 0 == ran.code


def test_ohms_and_a_reference_from_files_of_their_own(tmp_path: Path) -> None:
    """--ohms gives the copper, --reference a good coil; a worn head shows beside it."""
    worn = tmp_path / "B-ac.csv"
    coils = four(*4 * [SOUND.worn(0.4, 0.5)])
    worn.write_text(HEADER + volts_csv(coils, head="B", dc=False))
    good = tmp_path / "good.csv"
    good.write_text(HEADER + volts_csv({"1": SOUND}, head="good"))
    ohms = tmp_path / "B.csv"
    ohms.write_text(
        "head,kind,coil,reading\n"
        + "".join(f"B,four-channel-rp,{coil},300.0\n" for coil in "1234")
    )
    ran = cli(
        *("impedance", str(worn), "--reference", str(good), "--meter", METER),
        *("--ohms", str(ohms), "--as", "json"),
    )
    (head,) = json.loads(ran.out)["heads"]

    assert {"wear suspected"} == {coil["sign"] for coil in head["coils"]}
    assert all(coil["points"][0]["reference_ratio"] < 0.8 for coil in head["coils"])


def test_limits_picture_and_budget(tmp_path: Path, volts: Path) -> None:
    """A looser limit lets the coil pass for less; the picture and the shares are there."""
    plot = tmp_path / "a.svg"
    ran = cli(
        *("impedance", str(volts), "--meter", METER, "--q-below", "30", "--budget"),
        *("--l-noticeable", "30", "--l-mismatched", "40", "--plot", str(plot)),
    )

    assert 0 == ran.code
    assert "shares in the variance" in " ".join(ran.out.split())
    assert plot.read_text().startswith("<?xml")


def test_typed_from_the_first_voltage_to_the_table(tmp_path: Path) -> None:
    """Cautions, how to connect, the advice; each voltage on disk; the table at the end."""
    lines = [*three(SOUND.impedance_ohm(10e3)), *three(SOUND.impedance_ohm(10e3))]
    ran = typed(tmp_path, lines)

    assert 0 == ran.code
    for words in (
        "Mains plug out",
        "headphones off",
        "A ---[ resistor ]--- B",
        "a resistor of about 10 kohm",
        "[1/6] coil 1 at 10 kHz, v_total: tone to 10 kHz; connect coil 1; probes on A and C",
        "L 100 mH, Q 5.",
        "done: 6 taken",
        "6 voltages are kept in",
    ):
        assert words in ran.err
    assert 2 == len(read_volts(tmp_path / "A-ac.csv").rows)
    assert 2 == ran.out.count("  no sign\n")


def test_typed_with_slips_and_words(tmp_path: Path) -> None:
    """What is no voltage is asked for again; redo, skip and quit do what they say."""
    volts = three(SOUND.impedance_ohm(10e3))
    lines = ["", "150", "OL", "1.5 V dc", volts[0], "redo", *volts, "skip"]
    ran = typed(tmp_path, lines)

    assert 1 == ran.code  # coil 2 was left out: nothing to stand beside
    assert "write mV or V behind it" in ran.err
    assert "next higher range" in ran.err
    assert "turn the meter to AC volts" in ran.err
    assert "skipped coil 2 at 10 kHz" in ran.err
    (row,) = read_volts(tmp_path / "A-ac.csv").rows
    assert 3 == len(row.volts)


def test_ended_half_way_and_gone_on_with(tmp_path: Path) -> None:
    """--resume asks for what is left; with the wrong resistor or head it is refused."""
    volts = three(SOUND.impedance_ohm(10e3))
    first = typed(tmp_path, [*volts, volts[0], "quit"])
    wrong = typed(tmp_path, [], "--resume", "--resistor", "12 kohm +/- 1 %")
    other = typed(tmp_path, [], "--resume", "--head", "B")
    second = typed(tmp_path, volts[1:], "--resume")

    assert "Go on with the same command and --resume" in first.err
    assert "not taken yet" in " ".join(first.out.split())
    assert (2, 2) == (wrong.code, other.code)
    assert "another resistor" in wrong.err
    assert "and not head 'B'" in other.err
    assert 0 == second.code
    assert "2 of 6 voltages left" in second.err


def test_a_triple_that_is_put_aside_is_asked_again(tmp_path: Path) -> None:
    """Ended right after: it counts nowhere, and --resume begins with that coil."""
    volts = three(SOUND.impedance_ohm(10e3))
    first = typed(tmp_path, ["150.0 mV", "120.7 mV", "150.0 mV", "quit"])
    second = typed(tmp_path, [*volts, *volts], "--resume")

    assert "put aside, read all three of coil 1 at 10 kHz again" in first.err
    assert "3 voltages are kept" in first.err
    assert 1 == first.code
    assert "not used" in first.out
    assert "put aside and not read again" in " ".join(first.out.split())
    assert "6 of 6 voltages" not in second.err
    assert "[1/6] coil 1 at 10 kHz, v_total" in second.err
    assert 0 == second.code
    assert 2 == second.out.count("  no sign\n")


def test_one_of_three_is_corrected_by_going_back(tmp_path: Path) -> None:
    """The slip is told at once, and after the refusal it alone is typed anew."""
    volts = three(SOUND.impedance_ohm(10e3))
    slip = volts[1].replace("mV", "V")
    lines = [volts[0], slip, volts[2], "back", "back", volts[1], *volts]
    ran = typed(tmp_path, lines)

    assert "is more than the source has" in ran.err
    assert "go back to the one that is wrong" in ran.err
    assert 0 == ran.code
    assert "done: 6 taken" in ran.err


def test_a_coil_that_is_put_aside_stops_no_other(tmp_path: Path) -> None:
    """The others are judged, the coil is named, and the exit code is not that of all sound."""
    volts = three(SOUND.impedance_ohm(10e3))
    bad = ["150.0 mV", "120.7 mV", "150.0 mV"]
    lines = [*volts, *volts, *volts, *bad, "quit"]
    ran = typed(tmp_path, lines, "--kind", "four-channel-rp")

    assert 1 == ran.code
    assert 3 == ran.out.count("  no sign\n")
    assert "Coil 4 at 10000 Hz: its voltages were put aside" in " ".join(ran.out.split())


def test_gone_on_with_by_another_meter_is_refused(tmp_path: Path) -> None:
    """One gain for all three, or it does not cancel."""
    volts = three(SOUND.impedance_ohm(10e3))
    typed(tmp_path, [*volts, "quit"])
    ran = typed(tmp_path, [], "--resume", "--meter", "unstated")

    assert 2 == ran.code
    assert "was taken with the meter 'handheld-4000'" in ran.err


def test_nothing_taken_is_nothing_to_judge(tmp_path: Path) -> None:
    """Ended at once: a word, and exit code 1."""
    ran = typed(tmp_path, ["quit"])

    assert 1 == ran.code
    assert "No voltages were kept" in ran.err
    assert "nothing to judge" in ran.err


def test_a_file_is_never_written_over(tmp_path: Path) -> None:
    """What is there is gone on with, or kept elsewhere."""
    (tmp_path / "A-ac.csv").write_text("something else\n")
    ran = typed(tmp_path, [])

    assert 4 == ran.code
    assert "--resume" in ran.err


def test_advice_alone() -> None:
    """Which resistor, which drive: for each role and tone, and nothing is measured."""
    ran = cli(
        *("impedance", "--advise", "--kind", "three-head-body"),
        *("--frequency", "1 kHz", "--frequency", "10 kHz"),
    )
    ran = ran if ran.code == 0 else cli("impedance", "--advise", "--coils", "2")

    assert 0 == ran.code
    assert "take a resistor of about" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "which head is it?"),
        (["--coils", "2"], "which resistor is in series"),
        (["--coils", "2", "--resistor", "10 kohm"], "how well it is known"),
        (["--coils", "2", "--resistor", "x"], "--resistor"),
        (["--coils", "2", "--resistor", "10 kohm +/- 5 %"], "2 % or better"),
        (["--coils", "x"], "a whole number from 1 to 16"),
        (["--coils", "2", "--kind", "two-channel-rp"], "both --kind and --coils"),
        (["--coils", "2", "--coil", "9"], "no coil of coils-2 is called '9'"),
        (["--coils", "2", "--frequency", "10"], "--frequency: saw '10'"),
        (["--coils", "2", "--frequency", "1 Hz"], "--frequency: saw '1 Hz'"),
        (["--coils", "2", *2 * ["--frequency", "1 kHz"]], "the same twice"),
        (["--coils", "2", *RESISTOR, "--format", "plain"], "without --port"),
        (["--coils", "2", *RESISTOR, "--baud", "9600"], "--baud without --port"),
        (["--coils", "2", *RESISTOR, "--plot", "a.pdf"], "ends in .svg or .png"),
        (["--q-below", "0"], "--q-below"),
        (["--l-noticeable", "30"], "the first below the second"),
        (["none.csv"], "none.csv: cannot be read"),
        (["none.csv", "--frequency", "1 kHz"], "--frequency with files"),
        (["none.csv", "--plot", "none.csv"], "ends in .svg or .png"),
    ],
)
def test_what_is_refused_at_the_command_line(words: list[str], told: str) -> None:
    """Each with exit code 2 and what to do, and no traceback."""
    ran = cli("impedance", *words)

    assert 2 == ran.code
    assert told in ran.err
    assert "Traceback" not in ran.err


def test_a_picture_of_several_heads(tmp_path: Path) -> None:
    """One head a picture."""
    text = HEADER + volts_csv(four(*4 * [SOUND])) + volts_csv(four(*4 * [SOUND]), head="B")
    ran = cli(
        *("impedance", "-", "--meter", METER, "--plot", str(tmp_path / "a.svg")),
        stdin=text.encode(),
    )

    assert 2 == ran.code
    assert "one head at a time" in ran.err


def test_results_never_replace_measurements(volts: Path) -> None:
    """Neither the file that is read nor another one with AC volts in it."""
    other = volts.with_name("other.csv")
    other.write_bytes(volts.read_bytes())
    same = cli("impedance", str(volts), "--out", str(volts))
    elsewhere = cli("impedance", str(volts), "--out", str(other), "--as", "csv")

    assert 2 == same.code
    assert 4 == elsewhere.code
    assert other.read_bytes() == volts.read_bytes()


def test_one_voltage_alone_makes_up_for_nothing(tmp_path: Path) -> None:
    """Of three put aside one was read again: the coil is not used, for programs too."""
    begun, name = "W,four-channel-rp,", "handheld-4000,2026-03-01T10:00:00+00:00,"
    full = "124.7 mV,{} mV,64.3 mV,9980 ohm +/- 99.8 ohm," + name
    lines = [
        "head,kind,coil,frequency,v_total,v_resistor,v_coil,resistor,meter,time,note",
        f"{begun}1,10 kHz,{full.format('10.0')}",
        f"{begun}1,10 kHz,,,,9980 ohm +/- 99.8 ohm,{name}put aside: no circuit",
        f"{begun}2,10 kHz,{full.format('101.1')}",
        f"{begun}3,10 kHz,{full.format('101.0')}",
        f"{begun}1,10 kHz,124.7 mV,,,9980 ohm +/- 99.8 ohm,{name}taken again",
    ]
    path = tmp_path / "w.csv"
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
    told = cli("impedance", str(path), "--as", "json")
    table = cli("impedance", str(path), "--as", "csv")
    (head,) = json.loads(told.out)["heads"]

    assert (1, 1) == (told.code, table.code)
    assert ["1"] == head["refused"]
    assert ["2", "3"] == [coil["coil"] for coil in head["coils"]]
    assert "not used" in table.out
