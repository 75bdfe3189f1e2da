"""Which USB device a port is, so that it is known again when it is plugged in elsewhere.

A system may give a port that comes back another name, and its old name to another device.
Readings of a wrong meter would be worse than none: a port that cannot be told from another
one is not taken.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from serial.tools import list_ports


@dataclass(frozen=True, slots=True)
class UsbIdentity:
    """What a USB device says of itself, and where it is plugged in.

    Parameters
    ----------
    vendor, product
        Numbers of the maker and of the product (vid and pid).
    serial
        Serial number; empty where it has none, as many cables have not.
    location
        Bus and sockets on the way to it, and behind a colon the interface of a device that
        has several; empty where the system does not tell.
    shared
        Whether another device with this serial number was seen: then it says nothing.

    """

    vendor: int
    product: int
    serial: str = ""
    location: str = ""
    shared: bool = False

    def is_like(self, other: UsbIdentity) -> bool:
        """Whether maker, product, serial number and interface are the same."""
        return (self.vendor, self.product, self.serial, self._interface) == (
            other.vendor,
            other.product,
            other.serial,
            other._interface,
        )

    def is_same_device(self, other: UsbIdentity) -> bool:
        """Whether both are one device: by serial number, or without one by its socket."""
        if self.serial and not self.shared:
            return self.is_like(other)
        return self.is_like(other) and bool(self.location) and self.location == other.location

    @property
    def _interface(self) -> str:
        return self.location.partition(":")[2]


def identities() -> dict[str, UsbIdentity]:
    """Devices of the USB ports that are plugged in now, by the names of the ports."""
    found: dict[str, UsbIdentity] = {}
    # A device that goes while it is looked at makes pyserial stumble over what is not there.
    with suppress(OSError, TypeError, ValueError):
        for port in list_ports.comports():
            if port.vid is not None and port.pid is not None:
                found[port.device] = UsbIdentity(
                    port.vid, port.pid, port.serial_number or "", port.location or ""
                )
    return found


def identity_of(url: str) -> UsbIdentity | None:
    """Tell which USB device a port is; None where it is none, or the system does not tell."""
    if "://" in url:
        return None
    ports = identities()
    found = ports.get(url, ports.get(os.path.realpath(url)))
    if found is None:
        return None
    return replace(found, shared=sum(map(found.is_like, ports.values())) > 1)


def find_again(
    url: str, known: UsbIdentity | None, ports: Mapping[str, UsbIdentity]
) -> str | None:
    """Name under which a port may be opened now; None where it is not there, or not certain.

    Parameters
    ----------
    url
        The name it was opened by.
    known
        The device it was; None where that is not known, and only the name counts.
    ports
        The devices that are plugged in now.

    """
    if known is None:
        return url
    if not known.location and (known.shared or not known.serial):
        # Nothing but the name tells it from another one of its kind.
        there = ports.get(url, ports.get(os.path.realpath(url)))
        return url if there is not None and known.is_like(there) else None
    same = [name for name, found in ports.items() if known.is_same_device(found)]
    if url in same or os.path.realpath(url) in same:
        return url
    in_place = [name for name in same if ports[name].location == known.location]
    candidates = in_place or same
    return candidates[0] if len(candidates) == 1 else None
