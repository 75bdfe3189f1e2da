"""Ports and wire formats as lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.report.listing import Listing
from coilmeter.values import Flag, Reading
from coilmeter.wire.contract import Format
from coilmeter.wire.dialogue import polled

NO_PORT: Final = (
    "no serial port is plugged in: connect the cable of the meter, and its plug at the meter; "
    "a meter on the network is socket://HOST:PORT"
)


_LOOKALIKES: Final = (
    "Two formats can look alike and mean something else: the manual of the meter says which it "
    "sends. A byte map that is not verified is from memory: prove the meter before using it."
)


@dataclass(frozen=True, slots=True)
class PortLine:
    """One port: device, what it says it is, USB numbers and serial number, and what to do."""

    device: str
    description: str
    usb: str
    serial: str
    may_open: bool
    remark: str


def ports_listing(ports: Sequence[PortLine]) -> Listing:
    """List what is plugged in."""
    return Listing(
        name="ports",
        headings=("port", "what it says it is", "USB", "serial number", "remark"),
        shown=[
            (port.device, port.description, port.usb, port.serial, port.remark)
            for port in ports
        ],
        keys=("port", "description", "usb", "serial", "may_open", "remark"),
        fields=[
            (
                port.device,
                port.description or None,
                port.usb or None,
                port.serial or None,
                port.may_open,
                port.remark or None,
            )
            for port in ports
        ],
        nothing=NO_PORT,
    )


def formats_listing(forms: Sequence[Format]) -> Listing:
    """List the formats with what a person needs to choose one, and what each leaves out."""
    return Listing(
        name="formats",
        headings=(
            "format",
            "settings",
            "who starts",
            "lines on",
            "tells last digit",
            "tells range",
            "flags it leaves out",
            "byte map",
        ),
        shown=[_shown(form) for form in forms],
        keys=(
            "format",
            "title",
            "baud",
            "bits",
            "starts",
            "query",
            "dtr",
            "rts",
            "tells",
            "cannot_tell",
            "tells_last_digit",
            "tells_range",
            "tells_range_of_overload",
            "flags",
            "flags_not_carried",
            "verified",
            "lookalikes",
        ),
        fields=[_fields(form) for form in forms],
        notes=(_LOOKALIKES, *map(_note, forms)),
    )


@dataclass(frozen=True, slots=True)
class _Tells:
    """Whether readings of resistance tell their last digit and range, an overload its range."""

    last_digit: bool
    range: bool
    range_of_overload: bool


def _tells(form: Format) -> _Tells:
    """See it in the format's own examples, decoded; some blocks have to come twice."""
    frames = [example.raw * 2 for example in form.examples if example.valid]
    read = [
        answer
        for raw in frames
        for answer in form.decoder().feed(raw)
        if isinstance(answer, Reading) and answer.is_ohms
    ]
    numbers = [reading for reading in read if not reading.overload]
    overloads = [reading for reading in read if reading.overload]
    return _Tells(
        bool(numbers) and all(reading.resolution is not None for reading in numbers),
        bool(numbers) and all(reading.full_scale is not None for reading in numbers),
        any(reading.full_scale is not None for reading in overloads),
    )


def _shown(form: Format) -> tuple[str, ...]:
    serial, facts, asked, tells = form.settings, form.facts, polled(form), _tells(form)
    lines = [name for name, on in (("DTR", serial.dtr), ("RTS", serial.rts)) if on]
    missing = sorted(set(Flag) - facts.flags)
    out = "all" if not facts.flags - {Flag.NEGATIVE} else ", ".join(missing) or "none"
    return (
        form.name,
        f"{serial.baud} {_bits(form)}",
        "the meter" if asked is None else f"asked: {asked.dialogue.query}",
        ", ".join(lines) or "none",
        "yes" if tells.last_digit else "no",
        "yes" if tells.range else "of OL" if tells.range_of_overload else "no",
        out.replace("_", " "),
        "verified" if facts.verified else "not verified",
    )


def _note(form: Format) -> str:
    alike = "".join(f"; looks like {each}" for each in form.facts.lookalikes)
    return f"{form.name}: {form.facts.title}{alike}."


def _bits(form: Format) -> str:
    serial = form.settings
    return f"{serial.data_bits}{serial.parity}{serial.stop_bits}"


def _fields(form: Format) -> tuple[object, ...]:
    serial, facts, asked, tells = form.settings, form.facts, polled(form), _tells(form)
    return (
        form.name,
        facts.title,
        serial.baud,
        _bits(form),
        facts.starts,
        None if asked is None else asked.dialogue.query,
        serial.dtr,
        serial.rts,
        facts.tells,
        facts.cannot_tell,
        tells.last_digit,
        tells.range,
        tells.range_of_overload,
        sorted(facts.flags),
        sorted(set(Flag) - facts.flags),
        facts.verified,
        list(facts.lookalikes),
    )
