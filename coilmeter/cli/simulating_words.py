"""The plain language of the simulator: what is typed, and what is done."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import Final

from coilmeter.cli.simulating_head import HANDS, HEAD
from coilmeter.cli.simulating_meter import METER, WIRE
from coilmeter.cli.simulating_texts import Order, Phrase, nothing
from coilmeter.cli.simulating_tone import TONE, tone_line
from coilmeter.errors import InputError
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_station import Station
from coilmeter.units import format_ohm
from coilmeter.values import Function
from coilmeter.wire.contract import Display

QUIT: Final = frozenset({"quit", "q", "exit"})
ONLY_IN_SCRIPTS: Final = frozenset({"wait", "repeat"})
_SHORT: Final = 30


def understand(station: Station, line: str) -> Order:
    """Make an order of a line.

    Raises
    ------
    InputError
        When it is none, with what was expected.

    """
    first, *rest = line.split()
    phrase = _BY_WORD.get(first.lower())
    if first.lower() in ONLY_IN_SCRIPTS:
        raise InputError(f"saw {first!r}", hint="it stands in a --script only.")
    if phrase is None:
        like = difflib.get_close_matches(first.lower(), _BY_WORD, 1)
        meant = f"did you mean {like[0]}? " if like else ""
        raise InputError(f"saw {first[:_SHORT]!r}", hint=f"{meant}type help for what there is.")
    try:
        return phrase.understand(station, rest)
    except InputError as error:
        hint = error.hint or "; ".join(each.usage for each in _ALL if each.word == phrase.word)
        raise InputError(f"{phrase.word}: {error.message}", hint=hint) from error


def _help(_: Station, words: Sequence[str]) -> Order:
    nothing(words)
    return help_text


def help_text() -> str:
    """Say what can be typed."""
    wide = max(len(phrase.usage) for phrase in _ALL)
    lines = []
    for title, phrases in _GROUPS.items():
        lines.append(title)
        lines += [f"  {phrase.usage:<{wide}}  {phrase.meaning}" for phrase in phrases]
    return "\n".join(lines)


def _status(station: Station, words: Sequence[str]) -> Order:
    nothing(words)

    def order() -> str:
        meter, port, wire = station.meter, station.port(), station.wire
        shown = meter.last_shown
        states = [
            *(["HOLD"] if meter.held else []),
            *([] if meter.taken_off_ohm is None else ["REL"]),
            *([] if meter.fixed is None else ["a range by hand"]),
            *([] if meter.dial is None else [meter.dial.function.replace("_", " ")]),
            *(["battery low"] if meter.battery_low else []),
            *([f"{meter.gain_error:+.3%} wrong"] if meter.gain_error else []),
            *(["asleep"] if wire.asleep else []),
        ]
        spoilt = wire.damage
        lines = [
            f"port: {port.where}{'' if port.plugged else ' (unplugged)'}",
            f"clips: {station.hands.where}",
            f"display: {'nothing yet' if shown is None else _shown(shown)}"
            + "".join(f", {state}" for state in states),
            *([tone_line(station)] if isinstance(meter.dial, AcDial) else []),
            *station.faults(),
        ]
        if spoilt.share or spoilt.spoilt:
            lines.append(f"{spoilt.share:.2%} of the frames are spoilt, {spoilt.spoilt} so far")
        return "\n".join(lines)

    return order


def _shown(display: Display) -> str:
    if display.overload:
        return "OL"
    if display.function in {Function.RESISTANCE, Function.CONTINUITY}:
        return format_ohm(display.value)
    return f"{display.value:g} V"


def _quit(_: Station, words: Sequence[str]) -> Order:
    nothing(words)
    return lambda: ""


_GROUPS: Final = {
    "Hands": HANDS,
    "Head": HEAD,
    "Tone": TONE,
    "Meter": METER,
    "Wire": WIRE,
    "Besides": (
        Phrase("status", "what is so now", _status),
        Phrase("help", "this list", _help),
        Phrase("quit", "end", _quit),
    ),
}
_ALL: Final = tuple(phrase for phrases in _GROUPS.values() for phrase in phrases)
_BY_WORD: Final = {phrase.word: phrase for phrase in _ALL} | {
    word: phrase for phrase in _ALL if phrase.word == "quit" for word in QUIT
}
