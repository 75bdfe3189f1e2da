"""The page of the shipped bands, meters and head kinds."""  # noqa: INP001 - see generate.py

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, Final

from writing import NOTE, paragraphs, table

from coilmeter.catalog import load_catalog, reference_folder
from coilmeter.units import Quantity, format_ohm
from coilmeter.units.si_text import format_si
from coilmeter.values import Band, HeadKind, Meter

_INTRODUCTION: Final = """# Bands, meters and head kinds

What `--band`, `--meter` and `--kind` can name, and the columns of a readings file.
A file of your own overrides and extends them by name: see the recipes for
[a meter of your own](../howto.md#a-meter-of-your-own) and
[a band of your own](../howto.md#a-band-of-your-own).

Labels in the basis:
**pub** a published source, named under its key in
[PROVENANCE.md](../../reference_data/PROVENANCE.md);
**prac** common practice, no source;
**rep** reported by repairers, no standing as a source;
**mem** from memory, not verified;
**der** derived."""

_BANDS: Final = """Limits at 20 degC.
They are the tool's own defaults; the basis says what they rest on.
Below the first limit a coil is `shorted`, then `low`, `intact`, `high`,
and past the last `open`."""

_KINDS: Final = """Pin numbers are the tool's own: makers number pins differently.
Find the pairs on your head first, and write your own kind if they differ.
`coils-1` to `coils-16` are heads of which only the number of coils is known:
pins 1-2, 3-4 and so on, a case, band `any`."""


def page() -> str:
    """Write the page."""
    catalog = load_catalog()
    stated = tomllib.loads((reference_folder() / "meters.toml").read_text(encoding="utf-8"))[
        "meters"
    ]
    parts = [NOTE, _INTRODUCTION, "## Bands", _BANDS, _bands(catalog.bands)]
    parts.append("## Meters")
    for name, meter in catalog.meters.items():
        parts += _meter(name, meter, stated[name])
    parts += ["## Head kinds", _KINDS]
    parts.append(_kinds(catalog.kinds))
    return paragraphs(*parts)


def _bands(bands: Mapping[str, Band]) -> str:
    return table(
        ("band", "what", "shorted below", "low", "high", "open above", "basis"),
        [
            (f"`{name}`", band.description, *map(format_ohm, band.limits_ohm), band.basis)
            for name, band in bands.items()
        ],
    )


def _meter(name: str, meter: Meter, stated: Mapping[str, Any]) -> Iterator[str]:
    yield f"### {name}"
    yield f"{meter.description[:1].upper()}{meter.description[1:]}. Basis: {meter.basis}."
    wires = "four wires" if meter.four_wire else "two wires"
    yield (
        f"Beeper {_ohm(meter.beeper)}; {wires}; "
        f"leads that nobody nulled: up to {_ohm(meter.unnulled_leads)}."
    )
    if meter.ranges:
        yield _ranges(stated)
    else:
        yield f"No ranges stated: {_limit(stated)}, on a display of 2000 counts."
    yield from _ac_volts(meter, stated.get("ac"))


def _ac_volts(meter: Meter, stated: Mapping[str, Any] | None) -> Iterator[str]:
    """AC volts of a meter; those that state none share the words of the introduction."""
    ac = meter.ac
    if stated is None:
        yield f"AC volts: none stated; {ac.basis} is taken."
        return
    low, high = (format_si(float(end.m_as("hertz")), "Hz") for end in (ac.lowest, ac.highest))
    farad, spread = (
        float(each.m_as("farad")) for each in (ac.input_capacitance, ac.capacitance_spread)
    )
    yield (
        f"AC volts, {low} to {high}; input {_ohm(ac.input_resistance)}, "
        f"{format_si(farad, 'F', spread)} with its leads. Basis: {ac.basis}."
    )
    yield _ranges(stated)


def _ranges(stated: Mapping[str, Any]) -> str:
    return table(
        ("range", "last digit", "limit of error"),
        [(each["full_scale"], each["resolution"], _limit(each)) for each in stated["ranges"]],
    )


def _limit(stated: Mapping[str, Any]) -> str:
    parts = (
        ("reading", "{:g} % of reading"),
        ("counts", "{:g} counts"),
        ("of_range", "{:g} % of range"),
        ("floor", "{}"),
    )
    return " + ".join(text.format(stated[key]) for key, text in parts if stated.get(key))


def _ohm(value: Quantity) -> str:
    return format_ohm(float(value.m_as("ohm")))


def _kinds(kinds: Mapping[str, HeadKind]) -> str:
    return table(
        ("kind", "what", "coils: pins", "bands", "case", "basis"),
        [
            (
                f"`{name}`",
                kind.description,
                ", ".join(f"{coil.name}: {'-'.join(coil.pins)}" for coil in kind.coils),
                ", ".join(dict.fromkeys(f"`{coil.band}`" for coil in kind.coils)),
                "yes" if kind.case else "no",
                kind.basis,
            )
            for name, kind in kinds.items()
            if not name.startswith("coils-")
        ],
    )
