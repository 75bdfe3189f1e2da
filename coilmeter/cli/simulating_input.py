"""Lines typed while something else goes on, without waiting for them."""

from __future__ import annotations

import io
import os
import select
import sys
import threading
from typing import Final

_CHUNK: Final = 4096
_LONGEST: Final = 1000
"""No line that means anything is longer."""


class TypedLines:
    """Standard input, line by line as it comes; nothing after its end.

    In the background of a shell nothing is read: the system would stop the program for it.
    """

    def __init__(self) -> None:
        self.ended = sys.stdin is None
        self._rest = b""
        self._queue: list[bytes] = []
        self._descriptor = -1
        if self.ended:
            return
        try:
            self._descriptor = sys.stdin.fileno()
        except (io.UnsupportedOperation, ValueError):
            self._queue = [sys.stdin.buffer.read(), b""]
            return
        if sys.platform == "win32":  # pragma: no cover - cannot ask a console whether it waits
            threading.Thread(target=self._read_all, daemon=True).start()

    def ready(self) -> list[str]:
        """Give the lines that have come since the last call."""
        while not self.ended:
            data = self._data()
            if data is None:
                break
            self.ended = not data
            self._rest += data or b"\n"
        *lines, self._rest = self._rest.split(b"\n")
        self._rest = self._rest[-_LONGEST:]
        texts = [line[:_LONGEST].decode("utf-8", "replace").strip() for line in lines]
        return [text for text in texts if text]

    def _data(self) -> bytes | None:
        """Give what has come, empty at the end; None while nothing has come."""
        if self._queue:
            return self._queue.pop(0)
        if self._descriptor < 0 or sys.platform == "win32":
            return None
        if os.isatty(self._descriptor) and os.getpgrp() != os.tcgetpgrp(self._descriptor):
            return None
        if not select.select([self._descriptor], [], [], 0)[0]:
            return None
        try:
            return os.read(self._descriptor, _CHUNK)
        except OSError:
            return b""

    def _read_all(self) -> None:  # pragma: no cover - the console of another system
        while data := os.read(self._descriptor, _CHUNK):
            self._queue.append(data)
        self._queue.append(b"")
