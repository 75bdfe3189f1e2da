"""The walk over AC volts: hands-free capture, and what it refuses."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from impedance_bench import HUM, TRUE, Bench, kinds, shown

from coilmeter.errors import ReadingTextError
from coilmeter.sources.impedance_sheet import read_volts
from coilmeter.values import Flag, Function
from coilmeter.walks.events import Finished, LowBattery, MeterAway, Refused
from coilmeter.walks.impedance_contact import Told, VoltsRule, VoltsState, VoltsWatcher
from coilmeter.walks.impedance_refusals import volts_text, why_no_tone
from coilmeter.walks.impedance_steps import plan_tones
from coilmeter.walks.impedance_told import (
    ToneAgain,
    ToneBegun,
    ToneCaution,
    ToneMade,
    ToneMoving,
    ToneQuiet,
    ToneSkipped,
    TonesPlanned,
    ToneStillOn,
    ToneTaken,
    ToneTouched,
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give a file that is not there yet."""
    return tmp_path / "A-ac.csv"


def test_three_voltages_hands_free(path: Path) -> None:
    """Touch, hold, lift, three times: each on disk before it is told, then put together."""
    bench = Bench(path)
    told = bench.walk.start()
    for volt in TRUE:
        told += bench.hold(volt)
        told += bench.lift()

    assert [TonesPlanned, ToneBegun] == kinds(told[:2])
    assert 3 == kinds(told).count(ToneTaken)
    (made,) = [event for event in told if isinstance(event, ToneMade)]
    assert "100 mH" == made.text
    assert Finished is type(told[-1])
    (row,) = read_volts(path).rows
    assert {name: volts.range_volt for name, volts in row.volts.items()} == dict.fromkeys(
        ("total", "resistor", "coil"), 0.4
    )
    assert all(volts.count >= 4 for volts in row.volts.values())


def test_the_same_contact_is_taken_once(path: Path) -> None:
    """Probes that stay on are told to lift, and nothing more is taken."""
    bench = Bench(path)
    bench.walk.start()
    told = bench.hold(TRUE[0], 10.0)

    assert 1 == kinds(told).count(ToneTaken)
    assert ToneStillOn in kinds(told)


def test_a_person_may_say_that_the_probes_have_moved(path: Path) -> None:
    """Where the lift was too quick to be seen, one key goes on."""
    bench = Bench(path)
    bench.walk.start()
    bench.hold(TRUE[0])
    assert [] == bench.walk.next_is_on()
    told = bench.hold(TRUE[1])

    assert ToneTaken in kinds(told)


@pytest.mark.parametrize("how", ["skip", "type", "type, unplugged"])
def test_probes_that_have_not_moved_give_no_second_voltage(path: Path, how: str) -> None:
    """Skipped or typed, the probes sit where they were: the next is taken after a lift only."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    bench.hold(TRUE[0], 0.5)
    if how == "type, unplugged":
        bench.walk.interrupted("gone", "plug it in")
    told = bench.walk.skip() if how == "skip" else bench.walk.type("150.0 mV")
    still = bench.hold(TRUE[0], 8.0)
    after = bench.lift() + bench.hold(TRUE[1])

    assert ToneBegun in kinds(told)
    assert ToneTaken not in kinds(still)
    assert ToneStillOn in kinds(still)
    assert ToneTaken in kinds(after)


def test_another_voltage_than_the_one_typed_is_no_lift_either(path: Path) -> None:
    """Typed while the meter last showed more: half of that may still be the same contact."""
    bench = Bench(path)
    bench.walk.start()
    bench.hold(0.39, 0.5)
    bench.walk.type("150.0 mV")

    assert ToneTaken not in kinds(bench.hold(0.15, 4.0))


def test_gone_on_with_the_probes_may_still_be_on(path: Path) -> None:
    """After --resume what the probes sit on was taken by the run before."""
    before = Bench(path)
    before.walk.start()
    before.hold(TRUE[0])
    before.file.__exit__(None, None, None)
    bench = Bench(path, resume=True)
    bench.walk.start()

    assert ToneTaken not in kinds(bench.hold(TRUE[0], 4.0))
    assert ToneTaken in kinds(bench.lift() + bench.hold(TRUE[1]))


def test_hum_is_no_tone(path: Path) -> None:
    """Probes in the air: nothing is taken, and after a while it is asked about."""
    bench = Bench(path)
    bench.walk.start()
    told = bench.hold(HUM, 12.0)

    assert [ToneQuiet] == kinds(told)


def test_a_source_that_drifts_is_told(path: Path) -> None:
    """A voltage that goes on moving is not taken."""
    bench = Bench(path)
    bench.walk.start()
    told = []
    for step in range(60):
        told += bench.hold(0.1 + 0.004 * step, 0.2)

    assert [ToneTouched, ToneMoving] == kinds(told)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"function": Function.DC_VOLTAGE}, "on DC volts: turn it to AC volts"),
        ({"function": Function.RESISTANCE}, "on ohms: turn it to AC volts"),
        ({"overload": True, "value": None}, "next higher range"),
        ({"flags": frozenset({Flag.HOLD})}, "HOLD is on"),
        ({"flags": frozenset({Flag.RELATIVE})}, "REL is on"),
        ({"value": -0.1}, "a null (REL) or an offset is on"),
    ],
)
def test_what_is_no_tone_is_refused_once(
    path: Path, more: dict[str, object], words: str
) -> None:
    """With the knob to turn; and the reading after it is taken."""
    bench = Bench(path)
    bench.walk.start()
    told = bench.hold(0.0, 2.0, shown(0.1, **more))
    after = bench.hold(TRUE[0])

    (event,) = told
    assert isinstance(event, Refused)
    assert words in event.advice
    assert ToneTaken in kinds(after)


def test_a_voltage_below_zero_where_ac_is_not_told() -> None:
    """A meter whose format says volts only may stand on DC."""
    direct = shown(0.1, value=-0.1, function=Function.VOLTAGE)

    assert "turn the meter to AC volts" in why_no_tone(direct)


@pytest.mark.parametrize(
    "around_zero", [{"value": -0.001, "resolution": 1e-3}, {"value": -0.0006}]
)
def test_a_meter_on_ac_volts_may_be_a_digit_below_zero(
    path: Path, around_zero: dict[str, object]
) -> None:
    """Nothing connected, -0.001 V on the display: the dial is right, and nothing is said."""
    bench = Bench(path)
    bench.walk.start()

    assert [] == bench.hold(0.0, 2.0, shown(0.0, **around_zero))
    assert ToneTaken in kinds(bench.hold(TRUE[0]))


def test_a_format_that_does_not_tell_ac_is_cautioned(path: Path) -> None:
    """Where the wire says volts only, a person must look at the display."""
    bench = Bench(path)
    bench.walk.start()
    told = bench.hold(0.0, 2.0, shown(TRUE[0], function=Function.VOLTAGE))

    (caution,) = [event for event in told if isinstance(event, ToneCaution)]
    assert "does not tell AC from DC" in caution.text
    assert ToneTaken in kinds(told)


def test_a_low_battery_is_told_once(path: Path) -> None:
    """What is taken may be off."""
    bench = Bench(path)
    bench.walk.start()
    told = bench.hold(0.0, 2.0, shown(TRUE[0], flags=frozenset({Flag.LOW_BATTERY})))

    assert 1 == kinds(told).count(LowBattery)


def test_voltages_that_are_no_circuit_are_taken_again(path: Path) -> None:
    """The three are put aside while the probes are at hand; the file says which count."""
    bench = Bench(path)
    told = bench.walk.start()
    for volt in (0.39, TRUE[1], TRUE[2]):
        told += bench.hold(volt) + bench.lift()
    (again,) = [event for event in told if isinstance(event, ToneAgain)]
    for volt in TRUE:
        told += bench.hold(volt) + bench.lift()

    assert "more than" in again.why
    assert Finished is type(told[-1])
    (row,) = read_volts(path).rows
    assert TRUE[0] == pytest.approx(row.volts["total"].shown.volt, abs=1e-4)


def test_a_drive_that_is_too_high_and_a_range_of_its_own(path: Path) -> None:
    """Both are said at once; what was taken stays."""
    bench = Bench(path)
    told = bench.walk.start()
    loud = [4 * volt for volt in TRUE]
    for volt, resolution in zip(loud, (1e-3, 1e-3, 1e-4), strict=True):
        told += bench.hold(0.0, 2.0, shown(volt, resolution=resolution, value=volt))
        told += bench.lift()
    cautions = [event.text for event in told if isinstance(event, ToneCaution)]

    assert any("turn the source down" in text for text in cautions)
    assert any("different ranges" in text for text in cautions)


def test_typed_voltages(path: Path) -> None:
    """The same walk at a prompt; a text that is none is refused and asked for again."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    with pytest.raises(ReadingTextError):
        bench.walk.type("150")
    told = []
    for text in ("150.0 mV", "117.3 mV", "77.2 mV"):
        told += bench.walk.type(text)

    assert ToneMade in kinds(told)
    assert ("2", "total") == (bench.walk.step.coil, bench.walk.step.across)  # type: ignore[union-attr]


def test_skip_redo_and_again(path: Path) -> None:
    """A coil is left out as a whole; one voltage, or all of a coil, is taken again."""
    bench = Bench(path, ("1", "2"))
    bench.walk.start()
    for text in ("150.0 mV", "117.3 mV", "77.2 mV"):
        bench.walk.type(text)
    assert [ToneSkipped, Finished] == kinds(bench.walk.skip())
    assert ToneBegun in kinds(bench.walk.again("coil 1 at 10 kHz"))
    assert 3 == len([key for key in bench.walk.skipped if "coil 2" in key])
    for text in ("150.0 mV", "117.2 mV"):
        bench.walk.type(text)
    bench.walk.redo()
    told = bench.walk.type("117.4 mV") + bench.walk.type("77.1 mV")

    assert ToneMade in kinds(told)
    assert bench.walk.finished
    assert [] == bench.walk.again("nothing of that name")
    assert [] == bench.walk.type("1 V")
    assert [] == bench.walk.skip()
    (row,) = read_volts(path).rows
    assert (0.1174, 0.0771) == tuple(
        row.volts[name].shown.volt for name in ("resistor", "coil")
    )


def test_a_gap_in_the_stream_forgets_what_was_half_settled(path: Path) -> None:
    """Unplugged and back: the voltage is settled afresh."""
    bench = Bench(path)
    bench.walk.start()
    bench.hold(TRUE[0], 0.8)
    assert [MeterAway] == kinds(bench.walk.interrupted("gone", "plug it in"))
    bench.walk.resumed("back")
    told = bench.hold(TRUE[0], 0.8)

    assert ToneTaken not in kinds(told)
    assert ToneTaken in kinds(bench.hold(TRUE[0], 1.0))


def test_the_plan() -> None:
    """Tone by tone, three voltages a coil; source and coil are named where they change."""
    steps = plan_tones(["1", "2"], [1e3, 10e3])

    assert 12 == len(steps)
    assert [0, 6] == [number for number, step in enumerate(steps) if step.retune]
    assert [0, 3, 6, 9] == [number for number, step in enumerate(steps) if step.connect]
    assert "coil 1 at 1 kHz, v_total" == steps[0].key
    assert ("B", "C") == steps[2].points


def test_the_watcher_after_a_pause() -> None:
    """A stream that was silent for long says nothing of what the probes did."""
    watcher = VoltsWatcher(VoltsRule())
    assert Told.TOUCHED is watcher.feed(0.0, 0.1, shown(0.1))
    for at in (0.2, 0.4, 5.0):
        watcher.feed(at, 0.1, shown(0.1))

    assert VoltsState.SETTLING is watcher.state
    assert None is watcher.feed(5.2, 0.1, shown(0.1))


def test_a_contact_that_drops_out_is_begun_again() -> None:
    """Low for a third of a second while settling: the probes have slipped."""
    watcher = VoltsWatcher(VoltsRule())
    for at in (0.0, 0.2):
        watcher.feed(at, 0.1, shown(0.1))
    for at in (0.4, 0.6, 0.8):
        watcher.feed(at, HUM, shown(HUM))

    assert VoltsState.WAITING is watcher.state


def test_texts() -> None:
    """A voltage as the display shows it."""
    assert "98.4 mV" == volts_text(0.0984, 1e-4)
    assert "77.60 mV" == volts_text(0.0776, 1e-5)
    assert "0.150 V" == volts_text(0.15, 1e-3)
    assert "" == why_no_tone(shown(0.1))
