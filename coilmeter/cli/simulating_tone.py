"""What can be typed at the simulator about the tone: source, resistor, coil, leads."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from coilmeter.catalog.head_tone import LEADS
from coilmeter.cli.simulating_texts import Order, Phrase, coil_name, nothing, ohm, wrong
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.sources.simulated_dial import AcDial
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_script import Move
from coilmeter.sources.simulated_station import Station
from coilmeter.units import format_ohm, parse_quantity
from coilmeter.units.si_text import format_si
from coilmeter.values.impedance_rows import ACROSS
from coilmeter.walks.impedance_contact import VOLTS_SETTLE, VoltsRule
from coilmeter.walks.impedance_steps import POINTS

_HIGHEST_HZ: Final = 1e6
_HIGHEST_VOLT: Final = 100.0
_SPARE: Final = 2.0
"""Times the least that a walk needs: another machine may be busy."""

_AMOUNT: Final = re.compile(r"\s*([0-9.,]+(?:e[+-]?[0-9]+)?)\s*([A-Za-z]+)", re.IGNORECASE)
_WHERE: Final = LEADS | {across: across for across in ACROSS}
_BY_POINTS: Final = {frozenset(points): across for across, points in POINTS.items()}


def _source(station: Station, words: Sequence[str]) -> Order:
    text = " ".join(words)
    if text.lower() in {"on", "off"}:
        on = text.lower() == "on"

        def switch() -> str:
            station.hands.tone.on = on
            return tone_line(station)

        return switch
    hertz, volt = _hertz_and_volt(text)

    def order() -> str:
        tone = station.hands.tone
        tone.frequency_hz = hertz or tone.frequency_hz
        tone.drive_volt = volt or tone.drive_volt
        tone.on = True
        return tone_line(station)

    return order


def _hertz_and_volt(text: str) -> tuple[float | None, float | None]:
    """Read a frequency, a level, or both; None for what is not said."""
    expected = "a frequency, a level or both, such as '10 kHz 150 mV'; on or off"
    found: dict[str, float] = {}
    place = 0
    while place < len(text):
        amount = _AMOUNT.match(text, place)
        if amount is None:
            raise wrong(text, expected)
        place = amount.end()
        for unit, highest in (("hertz", _HIGHEST_HZ), ("volt", _HIGHEST_VOLT)):
            try:
                value = float(parse_quantity(amount[0], unit).m_as(unit))
            except ReadingTextError:
                continue
            if unit in found or not 0 < value <= highest:
                raise wrong(text, expected)
            found[unit] = value
            break
        else:
            raise wrong(text, expected)
    if not found:
        raise wrong("", expected)
    return found.get("hertz"), found.get("volt")


def _series(station: Station, words: Sequence[str]) -> Order:
    value = ohm(words)
    if not value:
        raise wrong(words, "more than 0 ohm")

    def order() -> str:
        station.hands.tone.resistor_ohm = value
        return tone_line(station)

    return order


def _connect(station: Station, words: Sequence[str]) -> Order:
    coil, rest = coil_name(station, words)
    nothing(rest)

    def order() -> str:
        # At once, not as a move: the line that puts the leads on would replace it.
        station.move()
        station.hands.connect(coil)
        return f"coil {coil} is behind the resistor, the leads are in the air"

    return order


def _probe(station: Station, words: Sequence[str]) -> Order:
    text = " ".join(words).lower()
    across = _WHERE.get(text) or _BY_POINTS.get(frozenset(text.upper().split()))
    if across is None:
        raise wrong(words, "source, resistor, coil, or two of the points A, B and C")

    def order() -> str:
        station.move(Move(0.0, lambda hands: hands.probe(across)))
        return f"the leads are on {' and '.join(POINTS[across])}, {_named(across)}"

    return order


def _round(station: Station, words: Sequence[str]) -> Order:
    nothing(words)

    def order() -> str:
        station.move(*volts_moves(station))
        return f"the leads go round: {len(station.head.coils)} coils, three voltages each"

    return order


def volts_moves(station: Station) -> tuple[Move, ...]:
    """Make the moves of a whole walk over AC volts at the tone as it is.

    The hands do not see the screen of the walk: they hold each place for as long as a
    settled voltage takes, and go on.
    """
    rule, period_s = VoltsRule(), 1 / station.rate_hz
    held_s = max(VOLTS_SETTLE.window_s, (VOLTS_SETTLE.least + 1) * period_s) * _SPARE + 0.5
    lifted_s = rule.lift_s * _SPARE + 2 * period_s
    moves = []
    for coil in station.head.coils:
        for across in ACROSS:
            first = coil if across == ACROSS[0] else None
            moves.append(Move(lifted_s, _touching(first, across)))
            moves.append(Move(held_s, Hands.lift))
    return tuple(moves)


def _touching(coil: str | None, across: str) -> Callable[[Hands], None]:
    def touch(hands: Hands) -> None:
        if coil is not None:
            hands.connect(coil)
        hands.probe(across)

    return touch


def tone_line(station: Station) -> str:
    """Say what source, resistor and coil are."""
    tone = station.hands.tone
    level = format_si(tone.drive_volt, "V") if tone.on else "off"
    return (
        f"tone {format_si(tone.frequency_hz, 'Hz')}, {level}; resistor "
        f"{format_ohm(tone.resistor_ohm)}; coil {tone.coil}"
    )


def held_range(station: Station, text: str) -> Order | None:
    """Understand the end of a range of AC volts; None where the text is no voltage.

    Raises
    ------
    InputError
        When the meter is not on AC volts, or has no such range.

    """
    try:
        volt = float(parse_quantity(text, "volt").m_as("volt"))
    except ReadingTextError:
        return None

    def order() -> str:
        dial = station.meter.dial
        if not isinstance(dial, AcDial):
            raise InputError(
                f"range {text}: the meter is not on AC volts",
                hint="type function ac volts first.",
            )
        station.meter.dial = dial.holding(volt)
        return f"the {format_si(volt, 'V')} range is held"

    return order


def _named(across: str) -> str:
    return f"across the {'source' if across == 'total' else across}"


TONE: Final = (
    Phrase("source HERTZ VOLT", "set the tone: '10 kHz 150 mV'; 'source off'", _source),
    Phrase("series OHM", "what the resistor before the coil really has", _series),
    Phrase("connect coil C", "put another coil behind the resistor", _connect),
    Phrase("probe PLACE", "put the leads across source, resistor or coil", _probe),
    Phrase("round", "read all that impedance asks for at this tone", _round),
)
