"""Which formats fit what a meter sends: they are listed for a person, and never chosen.

A format whose meter must be asked is not tried: it says nothing by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilmeter.sources.clock import Clock
from coilmeter.sources.poll_link import Link
from coilmeter.sources.port_errors import is_socket
from coilmeter.values import Reading
from coilmeter.wire import formats
from coilmeter.wire.contract import Format
from coilmeter.wire.dialogue import polled

LISTEN_S: Final = 3.0
FEWEST_READINGS: Final = 2
MOST_REJECTED: Final = 0.25
"""Share of the bytes that may belong to no frame: a torn one at either end."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A format that fits: at which baud rate, how many readings, what the last one shows."""

    form: Format
    baud: int
    readings: int
    display: str


@dataclass(frozen=True, slots=True)
class Heard:
    """What came while nobody knew the format: the bytes, at each baud rate, and what fits."""

    data: dict[int, bytes]
    fits: tuple[Fit, ...]


def listen(port: str, baud: int | None, clock: Clock, seconds: float = LISTEN_S) -> Heard:
    """Listen to a port, and try every format that talks by itself on what came.

    A meter may be set to another rate than is usual for its format: each is tried on what
    came at any.  Rates after the first at which one fits are not tried.

    Parameters
    ----------
    port
        Device name or URL.
    baud
        Bits per second; None for the usual ones of all formats, one after the other.
    clock
        Tells how long.
    seconds
        How long, at each rate.

    Raises
    ------
    InputError, MeterError
        When the port cannot be opened, or is lost.

    """
    tried = [form for form in formats().values() if polled(form) is None]
    rates = sorted({form.settings.baud for form in tried}) if baud is None else [baud]
    if is_socket(port):
        # A network connection has no rate: the computer that serves the meter sets it.
        rates = rates[:1]
    data: dict[int, bytes] = {}
    for rate in rates:
        data[rate] = _heard(port, rate, clock, seconds)
        fits = tuple(fit for form in tried if (fit := try_format(form, rate, data[rate])))
        if fits:
            return Heard(data, fits)
    return Heard(data, ())


def try_format(form: Format, baud: int, data: bytes) -> Fit | None:
    """Try one format on bytes; None where it does not fit them."""
    answers = form.decoder().feed(data)
    readings = [answer for answer in answers if isinstance(answer, Reading)]
    lost = sum(len(answer.raw) for answer in answers if not isinstance(answer, Reading))
    if len(readings) < FEWEST_READINGS or lost > MOST_REJECTED * len(data):
        return None
    return Fit(form, baud, len(readings), readings[-1].display)


def _heard(port: str, baud: int, clock: Clock, seconds: float) -> bytes:
    """Bytes that come in a while; the usual lines are set, and nothing is sent."""
    link = Link(port, baud, (True, False))
    data = bytearray()
    end = clock.now() + seconds
    try:
        while clock.now() < end:
            data += link.read(0.05)
    finally:
        link.close()
    return bytes(data)
