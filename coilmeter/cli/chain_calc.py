"""The small sums of a chain, as they are typed: ``scope 1.25 at 10 us``."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from coilmeter.compute.chain_calculators import (
    PICKUP_HZ,
    Walk,
    inject_ampere,
    pickup_volt,
    scope_hz,
    scope_sine,
    series_walk,
)
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.units import Form, Quantity, format_ohm, parse_quantity, parse_reading

SHAPES: Final = (
    ("scope 1.25 at 10 us", "divisions a period at a time a division: the frequency"),
    ("scope 3.2 at 5 V", "divisions high at volts a division: the volts of a sine"),
    ("pickup 10 turns at 80 kHz", "what a pickup coil gives for bias and erase field"),
    ("inject 0.3 mV 10 turns", "the current that stands for so much at the head"),
    ("walk 260, 320, 56", "ohms before and past a part in series, and the part"),
)
_HAZARDOUS_V: Final = 30.0
_AT: Final = re.compile(r"\s*(\S+)\s*(?:div(?:isions?)?)?\s*(?:at|x)\s*(.+)")
_NUMBER: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_PREFIXES: Final = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"))


def calculated(text: str) -> list[str]:
    """Do the sum that a text asks for; the lines of the answer come back.

    Raises
    ------
    InputError
        When it is no such text.

    """
    word, _, rest = text.strip().partition(" ")
    sums: dict[str, Callable[[str], list[str]]] = {
        "scope": _scope,
        "pickup": _pickup,
        "inject": _inject,
        "walk": _walk,
    }
    if word.lower() not in sums:
        raise InputError(f"calc: saw {text!r}", hint=_hint(SHAPES))
    try:
        return sums[word.lower()](rest.strip())
    except ReadingTextError as error:
        shapes = [shape for shape in SHAPES if shape[0].startswith(word.lower())]
        raise InputError(f"calc {word}: {error.message}", hint=_hint(shapes)) from error


def _hint(shapes: Sequence[tuple[str, str]]) -> str:
    return "; ".join(f"'{shape}' ({what})" for shape, what in shapes) + "."


def _scope(text: str) -> list[str]:
    found = _AT.fullmatch(text)
    if found is None:
        raise ReadingTextError(text, "divisions at a time or volts a division")
    divisions = _number(found[1])
    try:
        second = _positive(parse_quantity(found[2], "second"), "second")
    except ReadingTextError:
        volt = _positive(parse_quantity(found[2], "volt"), "volt")
        sine = scope_sine(divisions, volt)
        lines = [
            (
                f"{_si(sine.peak_to_peak, 'V')} peak to peak, {_si(sine.peak, 'V')} peak; of a "
                f"sine {_si(sine.rms, 'V')} rms. With a x10 probe that the scope does not "
                "know of, ten times that."
            )
        ]
        if sine.rms > _HAZARDOUS_V:
            lines.append(
                "! Above 30 V rms: hazardous live, and at this frequency it burns. Only a x10 "
                "probe rated for it, and only if you are trained to."
            )
        return lines
    return [f"{_si(scope_hz(divisions, second), 'Hz')}: one over {divisions:g} x {found[2]}."]


def _pickup(text: str) -> list[str]:
    turns_text, _, at = text.partition(" at ")
    turns = _number(_without(turns_text, "turns", "turn"))
    hz = _positive(parse_quantity(at, "hertz"), "hertz") if at else PICKUP_HZ
    bias, erase = pickup_volt(turns, hz)
    return [
        (
            f"At {_si(hz, 'Hz')}, {turns:g} turns give about {_si(bias, 'V')} at a record head "
            f"(bias) and about {_si(erase, 'V')} at an erase head; derived, good to a factor "
            "of 3: compare tracks, not figures."
        )
    ]


def _inject(text: str) -> list[str]:
    words = text.rsplit(None, 2)
    if len(words) != 3 or words[2].lower() not in {"turn", "turns"}:  # noqa: PLR2004 - volts, number, unit
        raise ReadingTextError(text, "volts at the head and a number of turns")
    volt, turns = _positive(parse_quantity(words[0], "volt"), "volt"), _number(words[1])
    return [
        (
            f"About {_si(inject_ampere(volt, turns), 'A')} in {turns:g} turns stand for "
            f"{_si(volt, 'V')} at the head; derived, good to a factor of 3."
        ),
        "! Volume down and headphones off before a tone is injected.",
    ]


def _walk(text: str) -> list[str]:
    parts = [part for part in re.split(r",\s+|;|\s+(?=[0-9]|OL\b)", text) if part.strip()]
    if len(parts) != 3:  # noqa: PLR2004 - before, past, part
        raise ReadingTextError(text, "three readings: before, past, and the part between them")
    readings = [parse_reading(part) for part in parts]
    if readings[1].form is Form.OVERLOAD:
        return ["Nothing passes: the lead, the switch or the part itself is open."]
    ohms = [reading.ohm for reading in readings if reading.form is Form.NUMBER]
    if len(ohms) != 3 or any(ohm is None or ohm < 0 for ohm in ohms):  # noqa: PLR2004 - as above
        raise ReadingTextError(text, "three resistances, of which the second may be OL")
    before, past, part = (ohm or 0.0 for ohm in ohms)
    walked = series_walk(before, past, part)
    meanings = {
        Walk.AS_IT_SHOULD: "lead, switch and part pass it as they should",
        Walk.MORE: "more than the part explains: a corroded contact or a bad joint in between",
        Walk.LESS: "less than the part explains: something lies across it",
    }
    return [
        (
            f"Expected past the part {format_ohm(walked.expected_ohm)}, read "
            f"{format_ohm(past)}: {walked.excess_ohm:+.3g} ohm, where +/- "
            f"{walked.allowed_ohm:.2g} ohm is allowed (part 5 %, readings 1 %). "
            f"{meanings[walked.found].capitalize()}."
        )
    ]


def _number(text: str) -> float:
    clean = text.strip()
    if _NUMBER.fullmatch(clean) is None or float(clean.replace(",", ".")) <= 0:
        raise ReadingTextError(text, "a number above zero")
    return float(clean.replace(",", "."))


def _positive(value: Quantity, unit: str) -> float:
    size = float(value.m_as(unit))
    if size <= 0:
        raise ReadingTextError(f"{value}", "a value above zero")
    return size


def _without(text: str, *endings: str) -> str:
    for ending in endings:
        if text.lower().rstrip().endswith(ending):
            return text.rstrip()[: -len(ending)]
    return text


def _si(value: float, unit: str) -> str:
    """Write a value with a prefix, three digits."""
    scale, prefix = next(
        (pair for pair in _PREFIXES if abs(value) >= 0.9995 * pair[0]), _PREFIXES[-1]
    )
    return f"{value / scale:.3g} {prefix}{unit}"
