"""Why a port could not be opened or read, said so that a person can do something about it."""

from __future__ import annotations

import errno
import os
import stat
import sys
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from serial.tools import list_ports

from coilmeter.errors import (
    CoilmeterError,
    InputError,
    PortBusyError,
    PortDeniedError,
    PortMissingError,
)
from coilmeter.wire import formats

try:
    import grp
except ImportError:  # pragma: no cover - only where the system has no groups
    grp = None  # type: ignore[assignment]

_FORMS: Final = (
    "a device name (/dev/ttyUSB0, /dev/cu.usbserial-1, COM3), socket://host:port, or another "
    "URL that pyserial understands"
)
_FASTEST_BAUD: Final = 4_000_000
_DENIED: Final = frozenset({errno.EACCES, errno.EPERM})
_BUSY: Final = frozenset({errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK})
_NO_PORT: Final = frozenset({errno.EISDIR, errno.ENOTTY, errno.EINVAL})


def is_socket(url: str) -> bool:
    """Whether a port is a network socket: without control lines, and no serial line at all."""
    return url.lower().startswith("socket://")


def plugged_in() -> tuple[str, ...]:
    """Names of the serial ports this machine has now."""
    return tuple(sorted(port.device for port in list_ports.comports()))


def check_url(url: str, baud: int) -> None:
    """Refuse what cannot be a port, before anything is opened.

    Raises
    ------
    InputError
        When the name is empty, a socket's address is not complete, or the baud rate is
        none that a port has.

    """
    if not url.strip():
        raise InputError(f"saw an empty port name, expected {_FORMS}", hint=_ports_hint())
    if not 0 < baud <= _FASTEST_BAUD:
        raise InputError(f"saw {baud} baud, expected 1 to {_FASTEST_BAUD}, such as 2400")
    if is_socket(url):
        try:
            parts = urlsplit(url)
            complete = bool(parts.hostname and parts.port and not parts.query)
        except ValueError:
            complete = False
        if not complete:
            raise InputError(
                f"saw {url!r}, expected socket://host:port with a port from 1 to 65535",
                hint="write the address of the computer and the port it serves the meter on.",
            )


def why_not_opened(url: str, error: Exception) -> CoilmeterError:
    """Tell the reason why a port did not open, as the error a user should see.

    Parameters
    ----------
    url
        The port as it was named.
    error
        What pyserial raised.

    """
    number = _number(error)
    text = str(error)
    if is_socket(url):
        return PortMissingError(
            f"{url}: nobody answers there ({text})",
            hint="start the program that serves the meter there, or correct the address.",
        )
    if number in _DENIED:
        return PortDeniedError(f"{url}: you may not open it", hint=_denied_hint(url))
    # Windows has one answer for a port in use; pyserial passes it on as text only
    if number in _BUSY or "PermissionError(13" in text:
        return PortBusyError(
            f"{url}: another program holds the port",
            hint="close the program that reads the meter (a terminal, a logger, another "
            "window of this one), then run the same command again.",
        )
    if (number is not None and number not in _NO_PORT) or "FileNotFoundError(" in text:
        return PortMissingError(f"{url}: there is no such port", hint=_ports_hint())
    return InputError(
        f"{url!r} cannot be opened as a port ({text})", hint=f"expected {_FORMS}."
    )


def lost_hint(url: str) -> str:
    """Tell what to do when a port that was open is gone."""
    if is_socket(url):
        return "the other side closed the connection: see whether its program still runs."
    return f"plug the cable in again and run the same command; {_ports_hint()}"


def silent_hint(
    url: str,
    format_name: str,
    baud: int,
    lines: tuple[bool, bool],
    *,
    tried_others: bool = False,
    query: str = "",
) -> str:
    """Write the check list for a meter that says nothing.

    Parameters
    ----------
    url, format_name, baud, lines
        The port, the format, the rate, and DTR and RTS as they are set.
    tried_others
        Whether the other combinations of DTR and RTS were tried too.
    query
        What the meter is asked with; empty where it talks by itself.

    """
    dtr, rts = ("on" if line else "off" for line in lines)
    power = f"now DTR {dtr}, RTS {rts}"
    if tried_others:
        power += "; the other three ways were tried too"
    last = f"the meter sends {format_name} by itself, without being asked"
    if query:
        last = (
            f"the meter obeys {query}: its remote port is switched on in its menu and no "
            "other program talks to it"
        )
    return f"""go through this list:
  1. the meter is on and its data output too (a key marked PC, USB or RS232; many meters
     switch it off by themselves)
  2. the meter is set to {baud} baud, or name the rate it is set to
  3. the cable gets its power: some are fed from DTR and RTS ({power});
     an optical one must sit in its seat
  4. {url} is the meter's port: {_ports_hint()}
  5. {last}"""


def refused_hint(format_name: str) -> str:
    """Tell what to do when a meter refuses what it is asked."""
    return (
        f"see in the meter's manual whether it obeys the commands of {format_name}; choose "
        "another format, or wire it as the command asks (two wires or four)."
    )


def unreadable_hint(format_name: str, baud: int) -> str:
    """Tell what to change when bytes arrive and none makes a frame."""
    others = [name for name in formats() if name != format_name]
    return (
        f"choose another format ({', '.join(others)}) or another baud rate (now {baud}); "
        "the meter's manual names both. The program does not guess: formats that look alike "
        "read the same bytes as different values."
    )


def _number(error: BaseException | None) -> int | None:
    """Error number of the system, of the error itself or of the one behind it."""
    while error is not None:
        number = getattr(error, "errno", None)
        if isinstance(number, int):
            return number
        error = error.__context__
    return None


def _ports_hint() -> str:
    ports = plugged_in()
    if ports:
        return f"the ports plugged in are: {', '.join(ports)}."
    return "no serial port is plugged in: connect the meter's cable."


def _denied_hint(url: str) -> str:
    group = _group_that_may(url)
    if group:
        return (
            f"users of the group {group!r} may: add yourself to it "
            f"(sudo usermod -aG {group} $USER), log out and in again."
        )
    return "ask for the right to use serial ports on this computer, then try again."


def _group_that_may(url: str) -> str:
    """Name of the group that may read and write a device; empty where there is none."""
    if grp is None or not sys.platform.startswith("linux"):
        return ""
    try:
        device = Path(url).stat()
        name = grp.getgrgid(device.st_gid).gr_name
    except (OSError, KeyError, ValueError):
        return ""
    may = stat.S_IRGRP | stat.S_IWGRP
    # nobody is told to join the group of the administrator
    return name if device.st_gid != 0 and device.st_mode & may == may else ""


def described_ports() -> list[tuple[str, str, str, str, bool, str]]:
    """Describe the serial ports of this machine, in the order of their names.

    Each as device, description, USB numbers, serial number, whether it may be opened, and
    what to do where it may not.
    """
    found = []
    for port in sorted(list_ports.comports(), key=lambda each: each.device):
        usb = "" if port.vid is None or port.pid is None else f"{port.vid:04x}:{port.pid:04x}"
        may = not Path(port.device).exists() or os.access(port.device, os.R_OK | os.W_OK)
        remark = "" if may else _denied_hint(port.device)
        description = "" if port.description in {None, "n/a"} else port.description
        found.append((port.device, description, usb, port.serial_number or "", may, remark))
    return found
