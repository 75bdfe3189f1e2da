"""What shared options mean together: a catalog, a wire format, settings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from coilmeter.catalog import Catalog
    from coilmeter.compute.settings import Settings
    from coilmeter.wire.contract import Format

ValueT = TypeVar("ValueT")


def make_catalog(files: list[Path] | None) -> Catalog:
    """Read the shipped reference files, the user's own in the usual place, and `files`."""
    from coilmeter.catalog import load_catalog
    from coilmeter.cli.folders import own_catalog_files

    return load_catalog([*own_catalog_files(), *(files or [])])


def make_format(name: str) -> Format:
    """Find the wire format of that name.

    Raises
    ------
    CoilmeterError
        When there is none, or none was named: two formats can look alike, so that a person
        must choose.

    """
    from coilmeter.errors import InputError
    from coilmeter.wire import find, formats

    if name in {"", "?"}:
        raise InputError(
            "what does the meter send?",
            hint=f"give --format with one of: {', '.join(formats())}; its manual says which.",
        )
    return find(name)


def make_format_at(name: str, port: str, baud: int | None) -> Format:
    """Find the wire format of that name; where none is named, listen, and list what fits.

    Raises
    ------
    CoilmeterError
        When there is none, or none was named: two formats can look alike, so that a person
        must choose.

    """
    from coilmeter.errors import InputError

    if name or not port:
        return make_format(name)
    from coilmeter.cli.format_choice import what_fits

    seen, hint = what_fits(port, baud)
    raise InputError(seen, hint=hint)


def make_settings(
    catalog: Catalog,
    *,
    kind: str,
    band: str,
    meter: str,
    lead: str,
    temperature: str,
    confidence: float,
    leaking_below: str,
) -> Settings:
    """Check what the options say and put it together.

    Raises
    ------
    CoilmeterError
        For a name nobody defined or a text that is no such quantity.

    """
    from coilmeter.compute.settings import Settings
    from coilmeter.errors import InputError
    from coilmeter.units import in_ohm, parse_quantity

    settings = Settings(
        bands=catalog.bands,
        meters=catalog.meters,
        kinds=catalog.kinds,
        meter=meter,
        kind=kind,
        band=band,
        lead=lead,
        temperature=temperature,
        confidence=confidence,
    )
    settings.check_names()
    for option, check in (
        ("--lead", settings.check_lead),
        ("--temperature", settings.check_temperature),
    ):
        named(option, check)
    leaking = named("--leaking-below", lambda: in_ohm(parse_quantity(leaking_below, "ohm")))
    settings = replace(settings, leaking_below_ohm=leaking)
    if not settings.confidence_is_sane:
        raise InputError(f"--confidence: saw {confidence:g}, expected above 0.5 and below 1")
    settings.check_limits()
    return settings


def named(option: str, understand: Callable[[], ValueT]) -> ValueT:
    """Understand the text of an option, naming the option where that fails."""
    from coilmeter.errors import InputError, ReadingTextError

    try:
        return understand()
    except ReadingTextError as error:
        raise InputError(f"{option}: {error.message}", hint=error.hint) from error
