"""Ports and wire formats as lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.report.listing import Listing
from coilmeter.values import Flag
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
        headings=("format", "settings", "who starts", "lines", "it cannot tell", "byte map"),
        shown=[
            (
                form.name,
                _settings(form),
                form.facts.starts,
                _lines(form),
                form.facts.cannot_tell,
                "verified" if form.facts.verified else "not verified",
            )
            for form in forms
        ],
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
            "flags",
            "flags_not_carried",
            "verified",
            "lookalikes",
        ),
        fields=[_fields(form) for form in forms],
        notes=(_LOOKALIKES,),
    )


def _settings(form: Format) -> str:
    serial = form.settings
    return f"{serial.baud} {serial.data_bits}{serial.parity}{serial.stop_bits}"


def _lines(form: Format) -> str:
    serial = form.settings
    return f"DTR {'on' if serial.dtr else 'off'}, RTS {'on' if serial.rts else 'off'}"


def _fields(form: Format) -> tuple[object, ...]:
    serial, facts, asked = form.settings, form.facts, polled(form)
    return (
        form.name,
        facts.title,
        serial.baud,
        f"{serial.data_bits}{serial.parity}{serial.stop_bits}",
        facts.starts,
        None if asked is None else asked.dialogue.query,
        serial.dtr,
        serial.rts,
        facts.tells,
        facts.cannot_tell,
        sorted(facts.flags),
        sorted(set(Flag) - facts.flags),
        facts.verified,
        list(facts.lookalikes),
    )
