"""Rousing a meter that says nothing: control lines for its cable, a byte that wakes it."""

from __future__ import annotations

from collections import deque
from typing import Protocol

Lines = tuple[bool, bool]
"""DTR and RTS, True for raised."""


class Wires(Protocol):
    """What is done to a port."""

    def set_lines(self, lines: Lines) -> None:
        """Set DTR and RTS."""
        ...

    def write(self, data: bytes) -> None:
        """Send bytes."""
        ...


def combinations(asked: Lines) -> list[Lines]:
    """All four, those asked for first; the opposite next, which an older cable needs."""
    dtr, rts = asked
    return [asked, (not dtr, not rts), (dtr, not rts), (not dtr, rts)]


class Rouser:
    """Tries one combination of control lines after the other, and the wake byte with each.

    Each lasts `step_s`, counted from the last byte that came, and the wake bytes are sent in
    the middle: the capacitor in a cable takes about half a second to charge.

    Parameters
    ----------
    wires
        The port.
    lines
        The combinations to try; the first is set already.
    wake
        What wakes the meter; empty where nothing does.
    step_s
        Seconds of each combination.
    now
        The time, in seconds of the caller's clock.

    Attributes
    ----------
    lines
        The combination that is set.

    """

    def __init__(
        self, wires: Wires, lines: list[Lines], wake: bytes, step_s: float, now: float
    ) -> None:
        self.lines = lines[0]
        self._wires = wires
        self._all = lines
        self._left = deque(lines[1:])
        self._wake = wake
        self._step_s = step_s
        self._since = now
        self._woken = False

    @property
    def tries_others(self) -> bool:
        """Whether there is more than one combination to try."""
        return len(self._all) > 1

    def heard(self, now: float) -> None:
        """Note that a byte came: the combination that is set gets its time again."""
        self._since = now

    def go_on(self, now: float) -> bool:
        """Do what is due; False when all has been tried in vain, and it begins again.

        Raises
        ------
        PortLostError, MeterSilentError
            When the port is gone, or takes no bytes.

        """
        quiet_s = now - self._since
        if self._wake and not self._woken and quiet_s >= self._step_s / 2:
            self._woken = True
            self._wires.write(self._wake)
        if quiet_s < self._step_s:
            return True
        tried_all = not self._left
        if tried_all:
            self._left = deque(self._all)
        self._set(self._left.popleft(), now)
        return not tried_all

    def _set(self, lines: Lines, now: float) -> None:
        self._since, self._woken = now, False
        if lines != self.lines:
            self.lines = lines
            self._wires.set_lines(lines)
