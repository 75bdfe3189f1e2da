"""Ctrl-C, and being asked to end, heard between two records and never within one."""

from __future__ import annotations

import signal
import threading
from types import FrameType, TracebackType
from typing import Final, Self

_HEARD: Final = tuple(
    number
    for name in ("SIGINT", "SIGTERM", "SIGHUP")
    if (number := getattr(signal, name, None)) is not None
)


class Stopper:
    """Notes the signals that ask a program to end, between ``with`` and its end.

    What was ignored stays ignored, as a shell wants it for what runs in its background.
    Outside of the main thread nothing is heard, since signals come to that one only.

    Attributes
    ----------
    signal
        The number of the first that came; None before.

    """

    def __init__(self) -> None:
        self.signal: int | None = None
        self._before: dict[int, signal._HANDLER] = {}

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            for number in _HEARD:
                if signal.getsignal(number) not in {signal.SIG_IGN, None}:
                    self._before[number] = signal.signal(number, self._note)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _note(self, number: int, _: FrameType | None) -> None:
        if self.signal is None:
            self.signal = number
