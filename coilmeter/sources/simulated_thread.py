"""A thread paced by the bench clock: what the simulated meter and the hands run on."""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from types import TracebackType
from typing import Final, Self

from coilmeter.sources.clock import Clock

SLICE_S: Final = 0.05
"""Longest single sleep in seconds of the bench clock, so that a stop is heard soon."""


class BenchThread(ABC):
    """One daemon thread that works against the bench clock until it is told to stop.

    Use it as a context manager: it starts on entry; on exit it is stopped and joined, and
    an error that ended it comes out there instead of being printed and forgotten.

    Parameters
    ----------
    name
        Name of the thread.
    clock
        The bench clock.

    """

    def __init__(self, name: str, clock: Clock) -> None:
        self.clock = clock
        self._stop = threading.Event()
        self._failure: Exception | None = None
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stop.set()
        self._thread.join()
        if kind is None and self._failure is not None:
            raise self._failure

    @abstractmethod
    def work(self) -> None:
        """Do the thread's work; return soon after `stopping` is true."""

    @property
    def stopping(self) -> bool:
        """Whether the thread has been told to stop."""
        return self._stop.is_set()

    def wait_until(self, due_s: float) -> bool:
        """Sleep until `due_s` of the bench clock; False when told to stop before that."""
        while not self._stop.is_set():
            left_s = due_s - self.clock.now()
            if left_s <= 0:
                return True
            self.clock.sleep(min(left_s, SLICE_S))
        return False

    def join(self, timeout_s: float | None = None) -> bool:
        """Wait for the work to end by itself, at most `timeout_s` real seconds.

        Returns
        -------
        bool
            Whether it has ended.

        """
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def _run(self) -> None:
        """Work, and keep the error that ends it."""
        try:
            self.work()
        except Exception as error:  # noqa: BLE001 - carried to the owner, who raises it on exit
            self._failure = error
