"""What a wire format is, stated once.

A format module in this package holds one object named ``FORMAT`` that satisfies `Format`.
Its decoder and encoder stand side by side, and its examples, with their source, stand in
the same file; simulator, conformance tests and documentation find it by discovery.

Rules for a decoder
-------------------
It does no input or output and knows no clock.  It is fed bytes as they come, in pieces of
any size, and answers with what is complete: readings, and stretches it had to reject, in
the order of the stream.  An empty answer means "need more".  Any bytes at all give one of
these and never an exception; after a rejected stretch it finds the next frame by content.

The bytes of its answers, one after the other, and then those pending, are the bytes it was
fed: none is lost and none is shown twice.  How the stream was cut into pieces changes
neither the answers nor their order, and what it keeps pending is bounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from coilmeter.values import Flag, Function, Reading


@dataclass(frozen=True, slots=True)
class SerialSettings:
    """How to open the port.

    Parameters
    ----------
    baud
        Bits per second.
    data_bits, parity, stop_bits
        Frame on the wire; parity is ``N``, ``E`` or ``O``.
    dtr, rts
        Control lines to raise, since some cables are powered from them.
    wake
        What switches the data output of some meters on; a live source sends it while no
        byte comes, and never once the meter talks.

    """

    baud: int = 9600
    data_bits: int = 8
    parity: str = "N"
    stop_bits: int = 1
    dtr: bool = True
    rts: bool = True
    wake: bytes = b""


@dataclass(frozen=True, slots=True)
class Rejected:
    """A stretch of the stream that is no frame, kept with its reason.

    Parameters
    ----------
    raw
        The bytes.
    reason
        What is wrong with them, and at which byte.
    position
        Offset of the first byte in the stream since the decoder was made.

    """

    raw: bytes
    reason: str
    position: int


@dataclass(frozen=True, slots=True)
class Display:
    """What a meter shows, for the encoder.

    Parameters
    ----------
    value
        Value in ohm (or the SI unit of `function`); ignored for an overload.
    resolution, full_scale
        Last digit and end of the range in the same unit.
    overload
        Whether the display shows over-range.
    function, flags
        As in `coilmeter.values.Reading`.

    """

    value: float
    resolution: float
    full_scale: float
    overload: bool = False
    function: Function = Function.RESISTANCE
    flags: frozenset[Flag] = frozenset()


@dataclass(frozen=True, slots=True)
class Example:
    """A frame with what it must decode to, and where that is written.

    Parameters
    ----------
    raw
        The frame's bytes.
    function, value, overload, flags
        What it decodes to, `value` in the SI unit; or `valid` False, and `basis` says why.
    basis
        Key of the source, and whether it was printed, constructed or remembered.

    """

    raw: bytes
    basis: str
    function: Function = Function.RESISTANCE
    value: float | None = None
    overload: bool = False
    flags: frozenset[Flag] = frozenset()
    valid: bool = True


@dataclass(frozen=True, slots=True)
class Facts:
    """What a person should know of a format before choosing it.

    Parameters
    ----------
    title
        One line.
    starts
        Who starts a reading: the meter by itself, or a query.
    tells
        What the frame carries, resolution and full scale included.
    cannot_tell
        What it does not carry.
    verified
        False where the byte map is from memory: then the program says so until the meter
        has been proved.
    cut_shows
        Whether a frame whose beginning is missing is always recognised.  Where it is not,
        a live source refuses the first reading after opening: it may be the end of another.
    flags
        The flags a frame can carry; any other is on the meter's display only.
    lookalikes
        Other formats whose frames pass for this one's, each with what then goes wrong.  No
        program can tell them apart by shape: a person must know which one the meter sends.

    """

    title: str
    starts: str
    tells: str
    cannot_tell: str
    verified: bool = True
    cut_shows: bool = True
    flags: frozenset[Flag] = frozenset(Flag)
    lookalikes: tuple[str, ...] = ()


class Decoder(Protocol):
    """State of one stream."""

    def feed(self, data: bytes) -> Sequence[Reading | Rejected]:
        """Take bytes, answer with what they complete."""
        ...

    def pending(self) -> bytes:
        """Bytes that are neither decoded nor rejected yet."""
        ...


class Format(Protocol):
    """One wire format.

    A format whose meter must be asked is a `coilmeter.wire.dialogue.PolledFormat` as well.
    One whose stream carries readings besides the main display's may have a method
    ``is_aside(reading)`` that tells them: a live source leaves those out.
    """

    @property
    def name(self) -> str:
        """Name on the command line; equals the module's name."""
        ...

    @property
    def settings(self) -> SerialSettings:
        """How to open the port."""
        ...

    @property
    def facts(self) -> Facts:
        """What a person should know."""
        ...

    @property
    def examples(self) -> Sequence[Example]:
        """Frames with their meaning and source."""
        ...

    def decoder(self) -> Decoder:
        """Make a decoder for one stream."""
        ...

    def encode(self, display: Display) -> bytes:
        """Make the bytes a meter sends for what it shows.

        Flags that `facts` does not name are left out, as a meter leaves them out.

        Raises
        ------
        ValueError
            When the format cannot carry that display.

        """
        ...
