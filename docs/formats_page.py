"""The page of all wire formats, from their discovery."""  # noqa: INP001 - see generate.py

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from writing import NOTE, paragraphs, table

from coilmeter.wire import formats
from coilmeter.wire.contract import Example, Format

_INTRODUCTION: Final = """# Wire formats

What `--format` can name.
The program never guesses a format:
bytes of one can be valid in another and mean something else.
The manual of the meter says which it sends; compare the first readings with the display.

A format marked *not verified* has a byte map from memory.
The program says so each time until you have compared it with your own meter.
None of the formats was tried on a real meter by this project:
the frames come from the sources listed at the head of
[wire_frames.csv](../../reference_data/wire_frames.csv).

A port is always opened with 8 data bits, no parity and 1 stop bit.
A meter that sends 7 bits and parity fits into the same time,
and the decoder checks the eighth bit itself.
The cells below give what the meter sends.

To add a format, see [adding a wire format](../adding-a-wire-format.md)."""


def page() -> str:
    """Write the page."""
    parts = [NOTE, _INTRODUCTION]
    for form in formats().values():
        parts += _format(form)
    return paragraphs(*parts)


def _format(form: Format) -> Iterator[str]:
    facts, serial = form.facts, form.settings
    lines = [
        f"{name} {'on' if raised else 'off'}"
        for name, raised in (("DTR", serial.dtr), ("RTS", serial.rts))
    ]
    first = "is always recognised" if facts.cut_shows else "may pass for a whole one"
    yield f"## {form.name}"
    yield f"{facts.title[:1].upper()}{facts.title[1:]}."
    yield table(
        ("what", ""),
        [
            ("speed", f"{serial.baud} baud (`--baud` for another)"),
            ("bits", f"{serial.data_bits}{serial.parity}{serial.stop_bits}"),
            ("control lines", ", ".join(lines)),
            ("who starts a reading", facts.starts),
            ("a frame carries", facts.tells),
            ("it cannot tell", facts.cannot_tell),
            ("a frame cut at its beginning", first),
            ("byte map", "verified against its source" if facts.verified else "not verified"),
        ],
    )
    yield "Examples:"
    yield table(("bytes", "meaning", "basis"), map(_example, form.examples))


def _example(example: Example) -> tuple[str, str, str]:
    return (f"`{_bytes(example.raw)}`", _meaning(example), example.basis)


def _bytes(raw: bytes) -> str:
    """Write a line of text as text, anything else in hex."""
    text = raw.rstrip(b"\r\n")
    ends = raw[len(text) :].decode().replace("\r", "\\r").replace("\n", "\\n")
    try:
        shown = text.decode("ascii")
    except UnicodeDecodeError:
        shown = ""
    if not shown.isprintable() or not shown:
        return raw.hex(" ").upper()
    return shown + ends


def _meaning(example: Example) -> str:
    if not example.valid:
        return "refused"
    value = "overload" if example.overload else f"{example.value:.6g}"
    return ", ".join([f"{example.function} {value}", *sorted(example.flags)])
