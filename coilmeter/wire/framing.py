"""Stream to frames, for the two ways meters mark one: a fixed length, or the end of a line.

Both find the next frame by content, decide on a bounded stretch of bytes, and so answer the
same however the stream was cut into pieces.  Both remember the frames they have understood:
a meter at rest sends the same bytes again and again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected

KNOWN_FRAMES: Final = 1 << 16
"""Frames remembered with their reading, some 30 MB of them at most.

It is more than a display of four digits has on five ranges, so that a long log is decoded at
the speed of a look-up even when its readings wander over all of them.
"""

LONGEST_LINE: Final = 128
"""Bytes of a line, its end included; a stretch without an end is given up at this length."""

Understand = Callable[[bytes], Reading]
"""A frame's bytes to its reading; raises `NoFrameError` where they are none."""


class NoFrameError(ValueError):
    """What is wrong with a stretch, and at which byte; never leaves a decoder."""


class FrameDecoder:
    """State of a stream of frames of one length.

    Parameters
    ----------
    length
        Bytes of a frame.
    understand
        What a stretch of that length means.
    next_start
        For a stretch that is no frame: from which byte on, 1 to `length`, the next frame may
        have begun.  It must not pass over a byte with which a whole frame begins.

    """

    def __init__(
        self, length: int, understand: Understand, next_start: Callable[[bytes], int]
    ) -> None:
        self._length = length
        self._understand = understand
        self._next_start = next_start
        self._pending = b""
        self._position = 0
        self._known: dict[bytes, Reading] = {}

    def feed(self, data: bytes) -> Sequence[Reading | Rejected]:
        """Take bytes, answer with what they complete."""
        buffer = self._pending + data
        length = self._length
        known = self._known
        last = len(buffer) - length
        answers: list[Reading | Rejected] = []
        at = 0
        while at <= last:
            frame = buffer[at : at + length]
            reading = known.get(frame)
            if reading is None:
                try:
                    reading = _remember(known, frame, self._understand(frame))
                except NoFrameError as error:
                    junk = frame[: self._next_start(frame)]
                    answers.append(Rejected(junk, str(error), self._position + at))
                    at += len(junk)
                    continue
            answers.append(reading)
            at += length
        self._position += at
        self._pending = buffer[at:]
        return answers

    def pending(self) -> bytes:
        """Bytes of a frame that is not complete: fewer than a frame has."""
        return self._pending


class LineDecoder:
    """State of a stream of lines that end in CR, LF or CR LF.

    A line is complete at its first CR or LF, so that no reading waits for the next one; the
    LF of a CR LF then stands before the next line, and belongs to its bytes.

    Parameters
    ----------
    understand
        What a line means, its line ends included.

    """

    def __init__(self, understand: Understand) -> None:
        self._understand = understand
        self._pending = b""
        self._position = 0
        self._overlong = False
        self._known: dict[bytes, Reading] = {}

    def feed(self, data: bytes) -> Sequence[Reading | Rejected]:
        """Take bytes, answer with what they complete."""
        buffer = self._pending + data
        ends = buffer.replace(b"\r", b"\n")
        answers: list[Reading | Rejected] = []
        at = 0
        while at < len(ends):
            limit = at + LONGEST_LINE
            text = at
            if not self._overlong:
                while ends[text : text + 1] == b"\n" and text < limit:
                    text += 1
            stop = ends.find(b"\n", text, limit) + 1
            if not stop:
                if len(ends) < limit:
                    break
                stop = limit if text == at else text
            answers.append(self._answer(buffer[at:stop], self._position + at))
            at = stop
        self._position += at
        self._pending = buffer[at:]
        return answers

    def pending(self) -> bytes:
        """Bytes of a line whose end has not come: fewer than `LONGEST_LINE`."""
        return self._pending

    def _answer(self, raw: bytes, position: int) -> Reading | Rejected:
        known = self._known.get(raw)
        ended = raw.endswith((b"\r", b"\n"))
        if self._overlong:
            self._overlong = not ended
            return Rejected(raw, "the rest of an overlong line", position)
        if known is not None:
            return known
        if not ended:
            self._overlong = True
            return Rejected(raw, f"no line end within {LONGEST_LINE} bytes", position)
        if not raw.strip(b"\r\n"):
            return Rejected(raw, "line ends without a line between them", position)
        try:
            return _remember(self._known, raw, self._understand(raw))
        except NoFrameError as error:
            return Rejected(raw, str(error), position)


def _remember(known: dict[bytes, Reading], frame: bytes, reading: Reading) -> Reading:
    if len(known) >= KNOWN_FRAMES:
        known.clear()
    known[frame] = reading
    return reading
