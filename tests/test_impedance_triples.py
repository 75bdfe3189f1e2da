"""Three voltages that are no circuit: put aside on disk at once, and corrected one by one."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from impedance_bench import TRUE, Bench, kinds

from coilmeter.sources.impedance_sheet import parse_volts, read_volts
from coilmeter.values.impedance_rows import PUT_ASIDE
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneEvent,
    ToneMade,
    TonesPlanned,
)

GOOD = tuple(f"{1e3 * volt:.1f} mV" for volt in TRUE)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give a file that is not there yet."""
    return tmp_path / "A-ac.csv"


def type_all(bench: Bench, texts: tuple[str, ...]) -> list[ToneEvent]:
    """Type one voltage after the other."""
    return [event for text in texts for event in bench.walk.type(text)]


def close(bench: Bench) -> None:
    """End a run."""
    bench.file.__exit__(None, None, None)


def in_file(path: Path) -> dict[tuple[str, str], float]:
    """Give the voltages that count, in millivolt, by coil and by what they are across."""
    return {
        (row.coil, across): round(1e3 * volts.shown.volt, 4)
        for row in parse_volts(path.read_bytes(), path.name, empty_is_fine=True).rows
        for across, volts in row.volts.items()
    }


def test_what_is_put_aside_is_marked_in_the_file_at_once(path: Path) -> None:
    """Killed the moment after, the refused three stand in the file and count no more."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    told = type_all(bench, ("150.0 mV", "120.7 mV", "150.0 mV"))
    (row,) = read_volts(path).rows

    assert ToneAgain in kinds(told)
    assert {} == row.volts
    assert row.aside
    assert PUT_ASIDE in path.read_text().splitlines()[-1]
    assert 2 == path.read_text().count("150.0 mV")


def test_gone_on_with_that_coil_is_asked_again(path: Path) -> None:
    """The next run begins with the coil whose three were put aside."""
    first = Bench(path, ("1", "2"))
    first.walk.start()
    type_all(first, ("150.0 mV", "120.7 mV", "150.0 mV"))
    close(first)
    second = Bench(path, ("1", "2"), resume=True)
    begun = second.walk.start()[-1]
    type_all(second, GOOD)

    assert 6 == second.file.count
    assert isinstance(begun, ToneBegun)
    assert ("1", "total") == (begun.step.coil, begun.step.across)
    assert {("1", "total"), ("1", "resistor"), ("1", "coil")} == in_file(path).keys()
    assert GOOD[1] == f"{in_file(path)['1', 'resistor']:.1f} mV"


def test_a_file_from_before_is_marked_when_it_is_gone_on_with(path: Path) -> None:
    """A run that ended between the third voltage and its mark: the next one puts them aside."""
    first = Bench(path, ("1", "2"))
    first.walk.start()
    type_all(first, ("150.0 mV", "120.7 mV", "150.0 mV"))
    close(first)
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(lines[:-1]))
    second = Bench(path, ("1", "2"), resume=True)
    told = second.walk.start()

    assert [TonesPlanned, ToneAgain, ToneBegun] == kinds(told)
    assert TonesPlanned(6, 6) == told[0]
    assert {} == in_file(path)


@pytest.mark.parametrize(("wrong", "steps_back"), [(0, 3), (1, 2), (2, 1)])
@pytest.mark.parametrize("first", ["back", "redo"])
def test_one_of_the_three_is_corrected(
    path: Path, wrong: int, steps_back: int, first: str
) -> None:
    """Back to the slip, typed anew: the other two stand, here and in the file."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    slipped = list(GOOD)
    slipped[wrong] = "390.0 mV"
    refused = type_all(bench, tuple(slipped))
    bench.walk.redo() if first == "redo" else bench.walk.back()
    for _ in range(steps_back - 1):
        bench.walk.back()
    told = bench.walk.type(GOOD[wrong])
    close(bench)
    read_back = Bench(path, ("1", "2"), resume=True)
    close(read_back)

    assert ToneAgain in kinds(refused)
    assert ToneMade in kinds(told)
    assert bench.walk.step is not None
    assert ("2", "total") == (bench.walk.step.coil, bench.walk.step.across)
    assert (4, 4) == (bench.file.count, read_back.file.count)
    expected = [float(text.removesuffix(" mV")) for text in GOOD]
    assert dict(
        zip((("1", a) for a in ("total", "resistor", "coil")), expected, strict=True)
    ) == (in_file(path))


def test_a_correction_may_be_wrong_too(path: Path) -> None:
    """Then all three are put aside once more, and corrected once more."""
    bench = Bench(path)
    bench.walk.start()
    type_all(bench, ("150.0 mV", "120.7 mV", "390.0 mV"))
    bench.walk.redo()
    again = bench.walk.type("380.0 mV")
    bench.walk.redo()
    told = bench.walk.type(GOOD[2])

    assert ToneAgain in kinds(again)
    assert ToneMade in kinds(told)
    assert bench.walk.finished


def test_read_anew_from_the_first_nothing_stands(path: Path) -> None:
    """Whoever types the first again reads all three: none of the old ones comes back."""
    bench = Bench(path)
    bench.walk.start()
    type_all(bench, ("150.0 mV", "120.7 mV", "150.0 mV"))
    bench.walk.type(GOOD[0])
    waiting = bench.walk.step
    bench.walk.back()
    bench.walk.type(GOOD[0])

    assert waiting is not None
    assert "resistor" == waiting.across
    assert {("1", "total")} == in_file(path).keys()


def test_back_reads_one_again_and_goes_on(path: Path) -> None:
    """Without a refusal, too: one step back each time, then on with what is left."""
    bench = Bench(path)
    bench.walk.start()
    type_all(bench, ("151.0 mV", GOOD[1]))
    bench.walk.back()
    bench.walk.back()
    bench.walk.back()
    bench.walk.type(GOOD[0])
    waiting = bench.walk.step

    assert waiting is not None
    assert "coil" == waiting.across
    assert ToneMade in kinds(bench.walk.type(GOOD[2]))
    assert 150.0 == in_file(path)["1", "total"]


def test_back_into_a_coil_that_was_left_out(path: Path) -> None:
    """It was left out as a whole, and comes back as a whole."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    bench.walk.skip()
    bench.walk.back()
    bench.walk.type(GOOD[2])

    assert set() == bench.walk.skipped
    assert bench.walk.step is not None
    assert ("1", "total") == (bench.walk.step.coil, bench.walk.step.across)


def test_volts_for_millivolts_are_told_at_once(path: Path) -> None:
    """A thousand times what the source has is a slip before the third voltage shows it."""
    bench = Bench(path)
    bench.walk.start()
    told = type_all(bench, ("150.0 mV", "120.7 V"))
    (caution,) = [event.text for event in told if isinstance(event, ToneCaution)]

    assert "120.7 V across the resistor is more than the source has, 150 mV" in caution


def test_a_note_of_a_person_puts_nothing_aside() -> None:
    """Only a line without voltages does; one with some counts as before."""
    text = (
        "coil,frequency,v_total,v_resistor,v_coil,resistor,note\n"
        "1,10 kHz,150 mV,117.3 mV,,10 kohm +/- 1 %,\n"
        "1,10 kHz,,,77.1 mV,10 kohm +/- 1 %,put aside the first head for this\n"
    )
    (row,) = parse_volts(text.encode(), "ac.csv").rows

    assert 3 == len(row.volts)


words = st.sampled_from(["back", "redo", "skip", *GOOD, "390.0 mV", "12.0 mV"])


@given(st.lists(words, max_size=25))
def test_the_file_always_says_what_the_walk_says(
    tmp_path_factory: pytest.TempPathFactory, typed: list[str]
) -> None:
    """Whatever is typed, in memory and in the file the same voltages count."""
    path = tmp_path_factory.mktemp("volts") / "A-ac.csv"
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    for text in typed:
        commands = {"back": bench.walk.back, "redo": bench.walk.redo, "skip": bench.walk.skip}
        commands[text]() if text in commands else bench.walk.type(text)
    close(bench)
    counting = {
        (step.coil, step.across): round(1e3 * bench.walk.taken[step.key].shown.volt, 4)
        for step in bench.walk.steps
        if step.key in bench.walk.taken
    }

    assert counting == in_file(path)
