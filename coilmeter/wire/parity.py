"""Seven bits and odd parity, as a port of eight bits without parity receives them.

Seven data bits, parity and a stop bit take the time of eight data bits and a stop bit, so
that the parity arrives as bit 7.  It is checked here and not by the port: drivers may keep
a byte whose parity is wrong, and a pseudo-terminal takes the setting and ignores it.
"""

from __future__ import annotations

from typing import Final

from coilmeter.wire.framing import NoFrameError

_SEVEN: Final = bytes(byte & 0x7F for byte in range(256))
_ODD: Final = bytes(
    seven if seven.bit_count() % 2 else seven | 0x80
    for seven in (byte & 0x7F for byte in range(256))
)


def with_odd_parity(seven: bytes) -> bytes:
    """Set bit 7 of each byte so that it has an odd number of ones."""
    return seven.translate(_ODD)


def without_odd_parity(frame: bytes) -> bytes:
    """Take bit 7 off each byte, after checking it.

    Raises
    ------
    NoFrameError
        When a byte has an even number of ones, with its place.

    """
    seven = frame.translate(_SEVEN)
    if seven.translate(_ODD) != frame:
        place = next(place for place, byte in enumerate(frame) if byte != _ODD[byte])
        raise NoFrameError(f"byte {place} is {frame[place]:02X}, expected odd parity")
    return seven


def odd(legal: bytes) -> frozenset[int]:
    """Give what legal bytes look like with their parity bit."""
    return frozenset(with_odd_parity(legal))
