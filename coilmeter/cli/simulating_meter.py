"""What can be typed at the simulator about the meter and its wire."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from coilmeter.cli.simulating_texts import Order, Phrase, nothing, number, on_off, wrong
from coilmeter.cli.simulating_tone import held_range, tone_line
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_meter import SimulatedMeter
from coilmeter.sources.simulated_station import Station
from coilmeter.units import format_ohm, ohms, parse_range_end
from coilmeter.values import Flag, Function
from coilmeter.wire.dialogue import polled

_FUNCTIONS: Final = {
    "ohms": Function.RESISTANCE,
    "continuity": Function.CONTINUITY,
    "diode": Function.DIODE,
    "dc volts": Function.DC_VOLTAGE,
    "ac volts": Function.AC_VOLTAGE,
}


def _unsaid(station: Station, flag: Flag) -> str:
    """Say that the format has no sign for a flag; nothing where it has."""
    form = station.wire_format
    if flag in form.facts.flags:
        return ""
    return f"; {form.name} has no sign for it, so that nothing on the wire says so"


def _hold(station: Station, words: Sequence[str]) -> Order:
    on = on_off(words)

    def order() -> str:
        station.meter.hold(on=on)
        if not on:
            return "the display goes on"
        return f"the display is frozen{_unsaid(station, Flag.HOLD)}"

    return order


def _rel(station: Station, words: Sequence[str]) -> Order:
    on = on_off(words)

    def order() -> str:
        station.meter.relative(on=on)
        off_ohm = station.meter.taken_off_ohm
        if off_ohm is None:
            return "nothing is taken off"
        said = _unsaid(station, Flag.RELATIVE)
        return f"{format_ohm(off_ohm)} is taken off what follows{said}"

    return order


def _battery(station: Station, words: Sequence[str]) -> Order:
    low = on_off(words, "low", "good")

    def order() -> str:
        station.meter.battery_low = low
        return f"the battery is low{_unsaid(station, Flag.LOW_BATTERY)}" if low else "good"

    return order


def _range(station: Station, words: Sequence[str]) -> Order:
    text = " ".join(words)
    of_volts = held_range(station, text)
    if of_volts is not None:
        return of_volts
    try:
        end_ohm = parse_range_end(text)
    except ReadingTextError as error:
        raise wrong(text, error.expected) from error
    fixed = None if math.isinf(end_ohm) else ohms(end_ohm)
    SimulatedMeter(station.model, fixed=fixed)

    def order() -> str:
        station.meter.choose_range(fixed)
        if isinstance(station.meter.dial, AcDial):
            station.meter.dial = station.meter.dial.holding(None)
        if fixed is None:
            return "the meter chooses its range"
        return f"the {format_ohm(end_ohm)} range is held{_unsaid(station, Flag.MANUAL)}"

    return order


def _function(station: Station, words: Sequence[str]) -> Order:
    text = " ".join(words).lower()
    if text not in _FUNCTIONS:
        raise wrong(words, f"one of: {', '.join(_FUNCTIONS)}")
    asked = polled(station.wire_format)
    if text == "ac volts" and asked is not None and asked.ac_volts is not None:
        line = asked.ac_volts.dialogue.setup[-1]
        raise InputError(
            f"a {asked.name} meter is turned to {text} by the program that asks it: {line}",
            hint="leave the line out; coilmeter impedance sends it.",
        )
    dial = station.bench.dial_for(_FUNCTIONS[text])

    def order() -> str:
        station.meter.dial = dial
        if isinstance(dial, AcDial):
            return f"the meter is on {text}; {tone_line(station)}"
        return f"the meter is on {text}"

    return order


def _gain(station: Station, words: Sequence[str]) -> Order:
    text = "".join(words).removesuffix("%")
    percent = number(text, "percent, such as 3% or -0.5%", low=-99.0, high=1000.0)

    def order() -> str:
        station.meter.gain_error = percent / 100
        return f"the meter reads {percent:+g} % wrong" if percent else "the meter reads right"

    return order


def _noise(station: Station, words: Sequence[str]) -> Order:
    counts = number(" ".join(words), "counts of the last digit, such as 5", high=1e4)

    def order() -> str:
        station.meter.noise_counts = counts
        return f"readings scatter by {counts:g} counts"

    return order


def _corrupt(station: Station, words: Sequence[str]) -> Order:
    share = number(" ".join(words), "a share of the frames, 0 to 1, such as 0.05", high=1.0)

    def order() -> str:
        station.wire.damage.share = share
        return f"{share:.2%} of the frames are spoilt on their way"

    return order


def _asleep(station: Station, words: Sequence[str], *, asleep: bool) -> Order:
    nothing(words)

    def order() -> str:
        station.wire.asleep = asleep
        if not asleep:
            return "the data output is on"
        wake = station.wire_format.settings.wake
        how = f"the byte {wake.decode('ascii')} or 'wake'" if wake else "'wake'"
        return f"the data output is off, until {how} comes"

    return order


def _sleep(station: Station, words: Sequence[str]) -> Order:
    return _asleep(station, words, asleep=True)


def _wake(station: Station, words: Sequence[str]) -> Order:
    return _asleep(station, words, asleep=False)


def _unplug(station: Station, words: Sequence[str]) -> Order:
    nothing(words)

    def order() -> str:
        station.port().unplug()
        return "unplugged"

    return order


def _plug(station: Station, words: Sequence[str]) -> Order:
    nothing(words)

    def order() -> str:
        station.port().plug()
        return f"plugged in: {station.port().where}"

    return order


METER: Final = (
    Phrase("hold on", "freeze the display; 'hold off'", _hold),
    Phrase("rel on", "take what is shown off what follows; 'rel off'", _rel),
    Phrase("battery low", "say that the battery is low; 'battery good'", _battery),
    Phrase("range END", "hold a range, such as 400 ohm or 400 mV; 'range auto'", _range),
    Phrase("function NAME", f"turn it to {', '.join(_FUNCTIONS)}", _function),
    Phrase("gain PERCENT", "have it read wrong by so much, such as 3%", _gain),
    Phrase("noise COUNTS", "scatter of the last digit", _noise),
)
WIRE: Final = (
    Phrase("corrupt SHARE", "spoil a share of the frames: bits, lost bytes, rubbish", _corrupt),
    Phrase("sleep", "fall silent, the port stays open", _sleep),
    Phrase("wake", "talk again", _wake),
    Phrase("unplug", "take the port away", _unplug),
    Phrase("plug", "plug it in again", _plug),
)
