"""What can be typed at the simulator about hands and head."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from coilmeter.cli.simulating_texts import (
    Order,
    Phrase,
    coil_name,
    nothing,
    number,
    ohm,
    on_off,
    pin_name,
    place,
    seconds,
    share_of,
    shown,
    wrong,
)
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_joint import BOARD_OHM, DROP_OUT_S, Board, LooseJoint
from coilmeter.sources.simulated_script import Move
from coilmeter.sources.simulated_station import Station
from coilmeter.units import format_ohm
from coilmeter.units.quantities import MEASURED_DEGC

TIP_S: Final = 0.6
"""How long the metal tip lies on the pins, in seconds."""


def _clip(station: Station, words: Sequence[str]) -> Order:
    if len(words) != 2:  # noqa: PLR2004 - two clips
        raise wrong(words, "two pins, such as 1 2, or a pin and case")
    a, b = (pin_name(station, word) for word in words)

    def order() -> str:
        station.move(Move(0.0, lambda hands: hands.clip(a, b)))
        return f"the clips are on {a} and {b}"

    return order


def _lift(station: Station, words: Sequence[str]) -> Order:
    nothing(words)

    def order() -> str:
        station.move(Move(0.0, Hands.lift))
        return "the clips are in the air"

    return order


def _short(station: Station, words: Sequence[str]) -> Order:
    if words:
        coil, rest = coil_name(station, words)
        share = 1.0
        if rest:
            share = share_of(rest[0], "a share of the turns, above 0 to 1, such as 0.01 or 1%")
        nothing(rest[1:])

        def short_turns() -> str:
            station.short_turns(coil, share)
            return f"coil {coil}: {share:.4g} of its turns are shorted"

        return short_turns

    def order() -> str:
        station.move(Move(0.0, Hands.short_leads))
        return "the clips are together"

    return order


def _bridge(station: Station, words: Sequence[str]) -> Order:
    held_s = seconds(words[0]) if words else TIP_S
    nothing(words[1:])

    def order() -> str:
        station.move(
            Move(0.0, lambda hands: hands.bridge(on=True)),
            Move(held_s, lambda hands: hands.bridge(on=False)),
        )
        return f"a metal tip lies across the clipped pins for {held_s:g} s"

    return order


def _open(station: Station, words: Sequence[str]) -> Order:
    coil, rest = coil_name(station, words)
    at = 0.5
    if rest:
        if rest[0].lower() != "at" or len(rest) != 2:  # noqa: PLR2004 - the word and a number
            raise wrong(rest, "nothing more, or 'at' and a place along the wire, 0 to 1")
        at = number(rest[1], "a place along the wire, 0 to 1", high=1.0)

    def order() -> str:
        station.break_coil(coil, at)
        return f"coil {coil} is open, at {at:g} of its wire"

    return order


def _coil(station: Station, words: Sequence[str]) -> Order:
    name, rest = coil_name(station, ["coil", *words])
    value = ohm(rest)
    if not value:
        raise wrong(rest, f"more; 'short coil {name}' shorts it")

    def order() -> str:
        station.rewind(name, value)
        return f"coil {name} has {format_ohm(value)} at 20 degC"

    return order


def _flaky(station: Station, words: Sequence[str]) -> Order:
    coil, rest = coil_name(station, words)
    if not rest:
        raise wrong("", "the share of the time it is open, such as 0.3")
    share = share_of(rest[0], "a share above 0 and below 1, such as 0.3")
    open_s = seconds(rest[1]) if rest[1:] else DROP_OUT_S
    nothing(rest[2:])
    LooseJoint(share, drop_out_s=open_s, seed=0)

    def order() -> str:
        station.loosen(coil, share, open_s)
        return f"coil {coil}: open {share:.0%} of the time, {open_s:g} s on average"

    return order


def _leak(station: Station, words: Sequence[str]) -> Order:
    a, rest = place(station, words)
    b, rest = place(station, rest)
    value = ohm(rest)

    def order() -> str:
        station.leak(a, b, value)
        return f"{shown(a)} to {shown(b)}: {format_ohm(value)}"

    return order


def _worn(station: Station, words: Sequence[str]) -> Order:
    what = "the share of its gap depth that is left, such as 0.5 or 50%"
    coil, rest = (
        coil_name(station, words) if words and words[0].lower() == "coil" else (None, words)
    )
    if not rest:
        raise wrong("", what)
    left = share_of(rest[0], what)
    nothing(rest[1:])

    def order() -> str:
        station.wear(left, coil)
        which = "the gap" if coil is None else f"coil {coil}: its gap"
        return f"{which} is worn to {left:.3g} of its depth; its ohms stay"

    return order


def _mend(station: Station, words: Sequence[str]) -> Order:
    coil, rest = coil_name(station, words) if words else (None, ())
    nothing(rest)

    def order() -> str:
        station.mend(coil)
        return "the head is whole" if coil is None else f"coil {coil} is whole"

    return order


def _creep(station: Station, words: Sequence[str]) -> Order:
    board = None
    if not words or words[0].lower() != "off":
        if not words:
            raise wrong("", "the time of the creep in seconds, such as 3, or off")
        end_ohm = ohm(words[1:]) if words[1:] else BOARD_OHM
        board = Board(seconds(words[0]), end_ohm)

    def order() -> str:
        station.connect_board(board)
        if board is None:
            return "no board is connected"
        return (
            f"a board of {format_ohm(board.ohm)} is connected: what is on the pins creeps up "
            f"with {board.time_s:g} s"
        )

    return order


def _temperature(station: Station, words: Sequence[str]) -> Order:
    low, high = MEASURED_DEGC
    text = " ".join(words).removesuffix("degC").strip()
    degc = number(text, f"a temperature in degC, {low:g} to {high:g}", low=low, high=high)

    def order() -> str:
        station.warm(degc)
        return f"the copper is at {degc:g} degC"

    return order


def _leads(station: Station, words: Sequence[str]) -> Order:
    value = ohm(words)

    def order() -> str:
        station.meter.lead_ohm = value
        return f"both leads together have {format_ohm(value)}"

    return order


def _walk(station: Station, words: Sequence[str]) -> Order:
    stop = bool(words) and on_off(words, "stop", "stop")
    if not stop and station.routine is None:
        raise wrong("walk", "a head of a known kind, which --kind or the head file names")

    def order() -> str:
        if stop:
            station.move()
            return "the hands stay where they are"
        station.perform()
        return "the hands begin the walk"

    return order


HANDS: Final = (
    Phrase("clip A B", "put the clips on two pins, or on a pin and case", _clip),
    Phrase("lift", "take the clips off", _lift),
    Phrase("short", "put the clips together", _short),
    Phrase("bridge [SECONDS]", "lay a metal tip across the clipped pins for a moment", _bridge),
    Phrase("walk", "do all that a check of this kind asks for; 'walk stop'", _walk),
    Phrase("leads OHM", "resistance of both leads together", _leads),
)
HEAD: Final = (
    Phrase("open coil C [at SHARE]", "break its wire, in the middle or at a place", _open),
    Phrase("short coil C [SHARE]", "short its turns, all or a share of them", _short),
    Phrase("flaky coil C SHARE [SECONDS]", "a joint open for a share of the time", _flaky),
    Phrase("leak A B OHM", "connect two places: pins, case, or 'coil C'", _leak),
    Phrase("coil C OHM", "give a coil another resistance", _coil),
    Phrase("creep SECONDS [OHM]", "still on the board: readings creep up; 'creep off'", _creep),
    Phrase("temperature DEGC", "temperature of the copper", _temperature),
    Phrase(
        "worn [coil C] SHARE", "wear its gap to a share of its depth, or that of all", _worn
    ),
    Phrase("mend [coil C]", "take all that away again", _mend),
)
