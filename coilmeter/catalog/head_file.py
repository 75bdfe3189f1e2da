"""A head to practise on, described in a TOML file: its coils, and what is wrong with them.

::

    kind = "two-channel-rp"      # coils, pins and bands; without it each coil names its pins
    temperature = "22 degC"      # of the copper; 20 degC where nothing is said
    case = true                  # as the kind says, or true

    [coils.1]
    resistance = "184 ohm"       # at 20 degC; that of a sound coil where a kind is named
    pins = ["1", "2"]            # coils that name the same pin share it
    open_at = 0.5                # the wire is broken there, 0 to 1 from the first pin
    shorted_turns = 0.1          # share of the turns around its middle
    taps = { T = 0.5 }           # pins along the wire

    [[leaks]]
    between = ["coil 1 at 0.5", "case"]  # pins, case, or places along a coil
    resistance = "220 kohm"

What a tone sees of it is in `coilmeter.catalog.head_tone`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Final, TypeAlias

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from coilmeter.catalog import Catalog, mistake_of, read_toml
from coilmeter.catalog.entries import Ohms, Point
from coilmeter.catalog.head_tone import (
    CoreDescription,
    CoreEntry,
    ToneDescription,
    ToneEntry,
)
from coilmeter.errors import Mistake, MistakesError, ReadingTextError
from coilmeter.units import in_degc, in_ohm, parse_temperature
from coilmeter.values import CASE, Band, HeadKind, shown_kinds

Place: TypeAlias = str | tuple[str, float]
"""A pin, ``case``, or a place along a coil as (coil, fraction from its first pin)."""

SPREAD: Final = (0.0, 0.006, -0.004, 0.003)
"""How far sound siblings lie from each other, as fractions, in turn (invented)."""

_ALONG: Final = re.compile(r"coil (\S+?)(?: at ([0-9]*\.?[0-9]+))?")
_Share = Annotated[float, Field(gt=0, lt=1)]


@dataclass(frozen=True, slots=True)
class HeadDescription:
    """A head as a file describes it.

    Parameters
    ----------
    kind
        The kind it names, None for none.
    coils
        Name to first pin, second pin and resistance in ohm at 20 degC.
    leaks
        Pairs of places with the resistance between them in ohm.
    breaks
        Where a wire is broken, as (coil, fraction from its first pin).
    shorted
        Coils with the share of their turns that is shorted.
    taps
        Pins along a wire, to (coil, fraction).
    case
        Whether it has a metal case.
    temperature_degc
        Temperature of its copper.
    cores
        What it says of coils beside their copper.
    tone
        What it says of source, resistor and leads.

    """

    kind: HeadKind | None
    coils: Mapping[str, tuple[str, str, float]]
    leaks: tuple[tuple[Place, Place, float], ...] = ()
    breaks: tuple[tuple[str, float], ...] = ()
    shorted: tuple[tuple[str, float], ...] = ()
    taps: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    case: bool = True
    temperature_degc: float = 20.0
    cores: Mapping[str, CoreDescription] = field(default_factory=dict)
    tone: ToneDescription = field(default_factory=ToneDescription)


def load_head(path: Path, catalog: Catalog) -> HeadDescription:
    """Read a head that is described in a file.

    Raises
    ------
    MistakesError
        With every mistake of the file.
    InputError
        When it cannot be read, or is no TOML file.

    """
    try:
        entry = _HeadFile.model_validate(read_toml(path))
    except ValidationError as error:
        raise _mistakes([mistake_of(path, fault) for fault in error.errors()]) from error
    mistakes = [
        Mistake(str(path), None, place, seen, expected)
        for place, seen, expected in _wrong(entry, catalog)
    ]
    if mistakes:
        raise _mistakes(mistakes)
    kind = catalog.kind(entry.kind) if entry.kind else None
    coils = _coils(entry, kind, catalog.bands)
    case = entry.case if entry.case is not None else kind is None or kind.case
    return HeadDescription(
        kind=kind,
        coils=coils,
        leaks=tuple(
            (place_of(leak.between[0]), place_of(leak.between[1]), in_ohm(leak.resistance))
            for leak in entry.leaks
        ),
        breaks=tuple(
            (name, coil.open_at)
            for name, coil in entry.coils.items()
            if coil.open_at is not None
        ),
        shorted=tuple(
            (name, coil.shorted_turns)
            for name, coil in entry.coils.items()
            if coil.shorted_turns is not None
        ),
        taps={
            pin: (name, share)
            for name, coil in entry.coils.items()
            for pin, share in coil.taps.items()
        },
        case=case,
        temperature_degc=entry.temperature,
        cores={name: coil.core() for name, coil in entry.coils.items()},
        tone=entry.tone.tone(),
    )


def sound_coils(
    kind: HeadKind, bands: Mapping[str, Band]
) -> Mapping[str, tuple[str, str, float]]:
    """Give the coils of a kind with resistances in the middle of what is expected of them.

    Siblings differ a little, as real ones do.  The middle is the geometric one, rounded to
    three digits: an invented head, and no statement of what is usual.
    """
    coils = {}
    for number, coil in enumerate(kind.coils):
        _, low_ohm, high_ohm, _ = bands[coil.band].limits_ohm
        middle_ohm = math.sqrt(low_ohm * high_ohm) * (1 + SPREAD[number % len(SPREAD)])
        coils[coil.name] = (*coil.pins, float(f"{middle_ohm:.3g}"))
    return coils


def place_of(text: str) -> Place:
    """Read a place: a pin, ``case``, ``coil 2`` for its middle, or ``coil 2 at 0.25``.

    Whether there is such a pin or coil is not looked at.
    """
    along = _ALONG.fullmatch(text.strip())
    if along is None:
        return CASE if text.strip().lower() == CASE else text.strip()
    return along[1], float(along[2] or 0.5)


def _degc(value: object) -> float:
    text = f"{value:g}" if isinstance(value, int | float) else value
    message = "a temperature such as '22 degC'"
    if not isinstance(text, str) or isinstance(value, bool):
        raise ValueError(message)  # noqa: TRY004 - pydantic turns only this into an error
    try:
        degc, _ = parse_temperature(text)
    except ReadingTextError as error:
        raise ValueError(message) from error
    return float(in_degc(degc))


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True)


class _CoilEntry(CoreEntry, _Entry):
    pins: Annotated[list[Point], Field(min_length=2, max_length=2)] | None = None
    resistance: Ohms = None
    open_at: Annotated[float, Field(ge=0, le=1)] | None = None
    shorted_turns: Annotated[float, Field(gt=0, le=1)] | None = None
    taps: dict[Point, _Share] = {}


class _LeakEntry(_Entry):
    between: Annotated[list[str], Field(min_length=2, max_length=2)]
    resistance: Ohms


class _HeadFile(_Entry):
    kind: str | None = None
    temperature: Annotated[float, BeforeValidator(_degc)] = 20.0
    case: bool | None = None
    coils: dict[Point, _CoilEntry] = {}
    leaks: list[_LeakEntry] = []
    tone: ToneEntry = ToneEntry()


def _mistakes(mistakes: list[Mistake]) -> MistakesError:
    return MistakesError(mistakes, undone="nothing was simulated")


def _coils(
    entry: _HeadFile, kind: HeadKind | None, bands: Mapping[str, Band]
) -> dict[str, tuple[str, str, float]]:
    """Put together what the kind says of each coil, and what the file says otherwise."""
    coils = dict(sound_coils(kind, bands)) if kind is not None else {}
    for name, coil in entry.coils.items():
        first, second, ohm = coils.get(name, ("", "", math.nan))
        if coil.pins is not None:
            first, second = coil.pins
        if coil.resistance is not None:
            ohm = float(in_ohm(coil.resistance))
        coils[name] = (first, second, ohm)
    return coils


def _wrong(entry: _HeadFile, catalog: Catalog) -> Iterator[tuple[str, str, str]]:
    """Yield what does not fit together: key path, what stands there, what was expected."""
    kind = catalog.kinds.get(entry.kind) if entry.kind else None
    if entry.kind and kind is None:
        yield "kind", repr(entry.kind), f"a head kind: {', '.join(shown_kinds(catalog.kinds))}"
        return
    if kind is None and not entry.coils:
        yield "coils", "nothing", "a kind, or a table for each coil"
    yield from _wrong_coils(entry, kind)
    coils = _coils(entry, kind, catalog.bands)
    yield from entry.tone.wrong_tone(coils)
    pins = {pin for first, second, _ in coils.values() for pin in (first, second)}
    taps = [(name, pin) for name, coil in entry.coils.items() for pin in coil.taps]
    for name, pin in taps:
        again = [tapped for _, tapped in taps].count(pin) > 1
        if again or pin in pins or pin.lower() == CASE:
            yield f"coils.{name}.taps.{pin}", "a pin that has another place", "a new pin"
    has_case = entry.case if entry.case is not None else kind is None or kind.case
    points = pins | {pin for _, pin in taps} | ({CASE} if has_case else set())
    for number, leak in enumerate(entry.leaks):
        for index, text in enumerate(leak.between):
            place = place_of(text)
            found = place in points if isinstance(place, str) else place[0] in coils
            if not found or (not isinstance(place, str) and place[1] > 1):
                expected = (
                    f"one of {', '.join(sorted(points - {''}))}, or a place along a coil "
                    f"({', '.join(coils)}) such as 'coil {next(iter(coils), '1')} at 0.5'"
                )
                yield f"leaks.{number}.between.{index}", repr(text[:40]), expected


def _wrong_coils(entry: _HeadFile, kind: HeadKind | None) -> Iterator[tuple[str, str, str]]:
    names = [] if kind is None else [coil.name for coil in kind.coils]
    for name, coil in entry.coils.items():
        place = f"coils.{name}"
        if kind is not None and name not in names:
            yield place, "a coil that the kind has not", f"one of {', '.join(names)}"
            continue
        if kind is None and coil.pins is None:
            yield f"{place}.pins", "nothing", "two pins, since no kind names them"
        if kind is None and coil.resistance is None:
            yield f"{place}.resistance", "nothing", "a resistance such as '184 ohm'"
        if coil.resistance is not None and not in_ohm(coil.resistance) > 0:
            yield f"{place}.resistance", "zero", "more; shorted_turns = 1.0 shorts a coil"
        yield from coil.wrong_core(place)
        if coil.pins is not None and coil.pins[0] == coil.pins[1]:
            yield f"{place}.pins", repr(coil.pins), "two different pins"
        if coil.pins is not None and CASE in {pin.lower() for pin in coil.pins}:
            yield f"{place}.pins", repr(coil.pins), f"no pin called {CASE!r}: that is the case"
