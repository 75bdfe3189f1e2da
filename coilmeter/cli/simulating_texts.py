"""Words of a line that is typed at the simulator: numbers, names, places."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from coilmeter.catalog.head_file import Place, place_of
from coilmeter.errors import InputError, ReadingTextError, UnknownNameError
from coilmeter.sources.simulated_station import Station
from coilmeter.units import Form, parse_reading

LEAST_SHARE: Final = 1e-6

Order: TypeAlias = Callable[[], str]
"""Does what a line asks for, and says what is so now."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One thing that can be typed.

    Parameters
    ----------
    usage
        How it is written: words as they are, names and numbers in capitals.
    meaning
        What it does.
    understand
        Makes an order of the words behind the first; raises `InputError` where they are
        none.

    """

    usage: str
    meaning: str
    understand: Callable[[Station, Sequence[str]], Order]

    @property
    def word(self) -> str:
        """The first word."""
        return self.usage.split()[0]


def wrong(seen: Sequence[str] | str, expected: str) -> InputError:
    """Make the error for words that are none that was expected."""
    text = seen if isinstance(seen, str) else " ".join(seen)
    return InputError(f"saw {text[:40]!r}, expected {expected}" if text else f"say {expected}")


def nothing(words: Sequence[str]) -> None:
    """Refuse words where none are expected."""
    if words:
        raise wrong(words, "nothing more")


def number(text: str, what: str, *, low: float = 0.0, high: float = math.inf) -> float:
    """Read a number from `low` to `high`, both included."""
    try:
        value = float(text)
    except ValueError:
        raise wrong(text, what) from None
    if not (math.isfinite(value) and low <= value <= high):
        raise wrong(text, what)
    return value


def share_of(text: str, what: str) -> float:
    """Read a share above 0 and up to 1: ``0.01``, ``1%``."""
    size = number(text.removesuffix("%"), what)
    share = size / 100 if text.endswith("%") else size
    if not LEAST_SHARE <= share <= 1:
        raise wrong(text, what)
    return share


def seconds(text: str) -> float:
    """Read a time in seconds, above zero."""
    value = number(text.removesuffix("s"), "a time in seconds, such as 3", high=86_400.0)
    if not value:
        raise wrong(text, "more than 0 s")
    return value


def ohm(words: Sequence[str]) -> float:
    """Read a resistance in ohm: ``220 kohm``, ``184``."""
    text = " ".join(words)
    try:
        reading = parse_reading(text, milli=True)
    except ReadingTextError as error:
        raise wrong(text, "a resistance such as '220 kohm'") from error
    if reading.form is not Form.NUMBER or reading.ohm is None or reading.ohm < 0:
        raise wrong(text, "a resistance such as '220 kohm'")
    return reading.ohm


def on_off(words: Sequence[str], on: str = "on", off: str = "off") -> bool:
    """Read one of two words."""
    said = " ".join(words).lower()
    if said not in {on, off}:
        raise wrong(words, f"{on} or {off}")
    return said == on


def coil_name(station: Station, words: Sequence[str]) -> tuple[str, Sequence[str]]:
    """Read ``coil NAME``; give the name and the words behind it."""
    names = list(station.head.coils)
    if len(words) < 2 or words[0].lower() != "coil":  # noqa: PLR2004 - word and name
        raise wrong(words, f"coil and its name: {', '.join(names)}")
    if words[1] not in names:
        raise UnknownNameError("coil of this head", words[1], names)
    return words[1], words[2:]


def pin_name(station: Station, text: str) -> str:
    """Read the name of a pin, or case."""
    pins = station.head.pins
    name = text.lower() if text.lower() in pins else text
    if name not in pins:
        raise UnknownNameError("pin of this head", text, pins)
    return name


def place(station: Station, words: Sequence[str]) -> tuple[Place, Sequence[str]]:
    """Read a pin, case, ``coil 2`` or ``coil 2 at 0.25``; give it and the words behind it."""
    if not words:
        raise wrong("", "a pin, case, or a coil such as 'coil 2'")
    if words[0].lower() != "coil":
        return pin_name(station, words[0]), words[1:]
    name, rest = coil_name(station, words)
    if len(rest) > 1 and rest[0].lower() == "at":
        along = number(rest[1], "a place along the wire, 0 to 1", high=1.0)
        return place_of(f"coil {name} at {along:f}"), rest[2:]
    return place_of(f"coil {name}"), rest


def shown(where: Place) -> str:
    """Write a place."""
    return where if isinstance(where, str) else f"coil {where[0]}"
