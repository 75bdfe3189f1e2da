"""The meter's end of a pseudo-terminal, with a name that stays the same if one is asked for."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from coilmeter.errors import CoilmeterError, InputError
from coilmeter.sources.outlets import Outlet

_CHUNK: Final = 4096


class PtyOutlet(Outlet):
    """A pseudo-terminal, as if on a serial port.

    Frames sent before anyone opens the device wait there until its buffer (a few kilobytes)
    is full; opening it with pyserial empties it.  That emptying is what an arrival is told
    by, where the system reports it; the end of a listener cannot be told.

    Parameters
    ----------
    link
        A symbolic link to the device, to be made and taken away with it: a name that stays
        the same, as that of a serial adapter does.

    """

    def __init__(self, link: Path | None = None) -> None:
        super().__init__()
        self._link = link
        self._near: int | None = None
        self._far = -1
        self._reports = False

    @property
    def plugged(self) -> bool:
        """Whether the device is there."""
        return self._near is not None

    def _plug(self) -> None:
        try:
            import pty  # noqa: PLC0415 - not on every system
            import tty  # noqa: PLC0415 - as above
        except ImportError as error:
            raise CoilmeterError(
                "this system has no pseudo-terminals",
                hint="use a loopback socket instead: it carries the same bytes.",
            ) from error
        near, far = pty.openpty()
        try:
            tty.setraw(far)
            os.set_blocking(near, False)
            self._reports = _report_arrivals(near)
            device = os.ttyname(far)
            if self._link is not None:
                point(self._link, device)
        except BaseException:
            os.close(far)
            os.close(near)
            raise
        # The far end stays open here too: without a holder its settings and the next client
        # are at the system's mercy.
        self._near, self._far = near, far
        self.where = device if self._link is None else str(self._link)

    def _unplug(self) -> None:
        if self._near is None:
            return
        if self._link is not None:
            with suppress(OSError):
                if str(self._link.readlink()) == os.ttyname(self._far):
                    self._link.unlink()
        os.close(self._far)
        os.close(self._near)
        self._near = None

    def _listen(self) -> bytes | None:
        """Whether anyone listens cannot be told here, and a serial meter does not know."""
        heard = b""
        if self._near is None:
            return None
        with suppress(OSError):
            while data := os.read(self._near, _CHUNK):
                if not self._reports:
                    return data
                if data[0] == 0:
                    heard += data[1:]
                elif data[0] & 1:
                    self.arrivals += 1
        return heard

    def _write(self, data: bytes) -> int:
        """Write without waiting; nothing is taken while the terminal is full."""
        if self._near is None:
            return 0
        try:
            return os.write(self._near, data)
        except OSError:
            return 0


def _report_arrivals(near: int) -> bool:
    """Have the terminal tell when its far end throws away what it had not read yet.

    Every read then begins with a byte that is zero before data and a set of bits otherwise,
    bit 0 for that.  Source: packet mode of pseudo-terminals, tty_ioctl(4) and ioctl_tty(2)
    of Linux, tty(4) of the BSDs.
    """
    import fcntl  # noqa: PLC0415 - not on every system
    import struct  # noqa: PLC0415 - only here
    import termios  # noqa: PLC0415 - as fcntl

    packets: Any = getattr(termios, "TIOCPKT", None)
    if packets is None:
        return False
    try:
        fcntl.ioctl(near, packets, struct.pack("i", 1))
    except OSError:
        return False
    return True


def point(link: Path, device: str) -> None:
    """Make a symbolic link to a device, in place of none or of one that leads nowhere.

    Raises
    ------
    InputError
        When something else is there, or the link cannot be made.

    """
    if link.exists() or (os.path.lexists(link) and not link.is_symlink()):
        raise InputError(
            f"{link}: there is something of that name already",
            hint="give another name, or take it away if no simulator uses it.",
        )
    half = link.with_name(f".{link.name}-{os.getpid()}")
    try:
        half.symlink_to(device)
        half.replace(link)
    except OSError as error:
        half.unlink(missing_ok=True)
        raise InputError(
            f"{link}: a link cannot be made ({error.strerror or error})",
            hint="give a name in a folder that is yours.",
        ) from error
