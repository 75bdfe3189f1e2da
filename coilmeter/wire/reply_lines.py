"""Lines that end in LF, with or without a CR before it, and may hold several readings.

Unlike the lines of `coilmeter.wire.framing`, a CR alone ends nothing that could be believed:
the meters here always send LF, and a reply that lost it may have lost its last digit too.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected
from coilmeter.wire.framing import KNOWN_FRAMES, LONGEST_LINE, NoFrameError

_END: Final = re.compile(rb"\n|\r(?!\n|\Z)")
"""An LF; or a CR behind which something else came."""

UnderstandLine = Callable[[bytes], Sequence[Reading]]
"""A line's bytes to its readings, whose bytes together are the line's; raises
`NoFrameError` where one of them is none, and then no other counts."""


class ReplyDecoder:
    """State of a stream of lines that end in LF.

    Parameters
    ----------
    understand
        What a line means, its end included.
    prompt
        What a meter sends between its lines, line end included: it is passed over and kept
        with the bytes of the line that follows it.

    """

    def __init__(self, understand: UnderstandLine, prompt: bytes = b"") -> None:
        self._understand = understand
        self._prompt = prompt
        self._pending = b""
        self._position = 0
        self._overlong = False
        self._known: dict[bytes, Sequence[Reading]] = {}

    def feed(self, data: bytes) -> Sequence[Reading | Rejected]:
        """Take bytes, answer with what they complete."""
        buffer = self._pending + data
        answers: list[Reading | Rejected] = []
        known = self._known
        at = 0
        while at < len(buffer):
            stop = self._stop(buffer, at)
            if not stop:
                break
            raw = buffer[at:stop]
            readings = None if self._overlong else known.get(raw)
            if readings is None:
                answers += self._answer(raw, self._position + at)
            else:
                answers += readings
            at = stop
        self._position += at
        self._pending = buffer[at:]
        return answers

    def pending(self) -> bytes:
        """Bytes of a line whose end has not come: fewer than `LONGEST_LINE`."""
        return self._pending

    def _stop(self, buffer: bytes, at: int) -> int:
        """Where the line that begins at a place ends; 0 while that cannot be told."""
        limit, text = at + LONGEST_LINE, at
        if self._prompt and not self._overlong:
            while buffer.startswith(self._prompt, text) and text < limit:
                text += len(self._prompt)
        end = _END.search(buffer, text, limit)
        if end is not None:
            return end.end()
        return (
            min(text, limit)
            if text > at and len(buffer) >= limit
            else (limit if len(buffer) >= limit else 0)
        )

    def _answer(self, raw: bytes, position: int) -> Sequence[Reading | Rejected]:
        ended = raw.endswith((b"\n", b"\r"))
        if self._overlong:
            self._overlong = not ended
            return [Rejected(raw, "the rest of an overlong line", position)]
        if not ended:
            self._overlong = True
            return [Rejected(raw, f"no line end within {LONGEST_LINE} bytes", position)]
        reason = self._no_line(raw)
        if reason:
            return [Rejected(raw, reason, position)]
        try:
            readings = self._understand(raw)
        except NoFrameError as error:
            return [Rejected(raw, str(error), position)]
        if len(self._known) >= KNOWN_FRAMES:
            self._known.clear()
        self._known[raw] = readings
        return readings

    def _no_line(self, raw: bytes) -> str:
        """Why a stretch is no line, whatever the format; empty where it is one."""
        if raw.endswith(b"\r"):
            return f"CR without LF at byte {len(raw) - 1}"
        if not raw.strip(b"\r\n"):
            return "an empty line"
        if self._prompt and not raw.replace(self._prompt, b""):
            return "prompts without a reply between them"
        return ""
