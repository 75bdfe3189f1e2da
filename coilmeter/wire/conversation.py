"""The computer's side of a dialogue with a meter: bytes to send, bytes in, readings out.

No input or output is done here and no clock is known: whoever holds the port sends what
`to_send` gives, hands over what arrives, and says when an answer is overdue.

What is believed
----------------
A reading counts only as the answer to a query.  A special number of the meter (over-range,
not a number) counts only after its error queue was read and found empty, because a meter
may send one when a command went wrong.  After an answer that is damaged or overdue, the
error queue is read before the next query: its entries have another form than readings, so
that answer and query are in step again.  A meter that did not answer a query is set up
anew, since it may have been switched off and on and then measures something else.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from enum import Enum, auto
from typing import Final

from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected
from coilmeter.wire.dialogue import Dialogue, ErrorEntry, PolledFormat, error_entry

MOST_ERRORS: Final = 32
"""Entries that are read from a queue before it is taken for one that never empties."""

_LONGEST_PROMPT_LINE: Final = 16


class _Awaited(Enum):
    """What the meter owes us."""

    NOTHING = auto()
    PROMPT = auto()
    READING = auto()
    ERROR = auto()


class Conversation:
    """State of a dialogue with one meter.

    Parameters
    ----------
    form
        The format of the replies.
    dialogue
        What is said.
    serial
        Whether the meter is on a serial port, where some must be made to listen first.

    Attributes
    ----------
    refused
        Why the meter cannot be asked for readings, as a clause; empty while it can.  Whoever
        reads it may clear it: the meter is set up anew.

    """

    def __init__(self, form: PolledFormat, dialogue: Dialogue, *, serial: bool) -> None:
        self.refused = ""
        self._decoder = form.decoder()
        self._dialogue = dialogue
        self._setup = (dialogue.serial_setup if serial else ()) + dialogue.setup
        self._script: deque[str] = deque()
        self._awaited = _Awaited.NOTHING
        self._asked = ""
        self._unanswered = ""
        self._setting_up = True
        self._held: list[tuple[int, Reading | Rejected]] = []
        self._errors: list[ErrorEntry] = []
        self._position = 0
        self._line = b""
        self._set_up()

    @property
    def waiting(self) -> bool:
        """Whether the meter owes an answer, or a prompt."""
        return self._awaited is not _Awaited.NOTHING

    def to_send(self) -> bytes:
        """Give what is to be sent now; empty while the meter owes an answer."""
        lines = []
        while not self.waiting:
            self._asked = self._script.popleft() if self._script else self._dialogue.query
            lines.append(self._asked + self._dialogue.line_end)
            if self._asked == self._dialogue.query:
                self._awaited = _Awaited.READING
                self._setting_up = False
            elif self._asked == self._dialogue.error_query:
                self._awaited = _Awaited.ERROR
            elif self._dialogue.prompt:
                self._awaited = _Awaited.PROMPT
        return "".join(lines).encode("ascii")

    def receive(self, data: bytes) -> list[Reading | Rejected]:
        """Take bytes; answer with the readings that may be believed, and what was refused.

        What belongs to the dialogue alone (prompts, the entry that says the error queue is
        empty) is in no answer.
        """
        answers: list[Reading | Rejected] = []
        for piece in data.splitlines(keepends=True):
            for answer in self._decoder.feed(piece):
                answers += self._take(answer)
                self._position += len(answer.raw)
            self._look_for_prompt(piece)
        return answers

    def pending(self) -> bytes:
        """Bytes that have made neither an answer nor a rejected stretch yet."""
        return self._decoder.pending()

    def overdue(self) -> list[Reading | Rejected]:
        """Give up the answer that is awaited; what was held back for it is refused."""
        awaited, self._awaited = self._awaited, _Awaited.NOTHING
        if awaited is _Awaited.READING and self._dialogue.error_query:
            self._unanswered = self._asked
            self._script.appendleft(self._dialogue.error_query)
            return []
        self._set_up()
        return self._release(f"no answer to {self._asked}, so that it is not believed")

    def _set_up(self) -> None:
        self._script.clear()
        self._script += self._setup
        if self._dialogue.error_query:
            self._script.append(self._dialogue.error_query)
        self._awaited = _Awaited.NOTHING
        self._unanswered = ""
        self._setting_up = True
        self._errors = []

    def _take(self, answer: Reading | Rejected) -> list[Reading | Rejected]:
        """Judge one answer of the decoder by what is awaited."""
        if isinstance(answer, Rejected):
            return self._damaged(answer)
        entry = error_entry(answer.raw) if self._dialogue.error_query else None
        if entry is not None:
            if self._awaited is _Awaited.ERROR:
                return self._error(entry, answer)
            return (
                self._put(self._refuse(answer, f"the meter reports {entry}"))
                if entry.number
                else []
            )
        if self._awaited is not _Awaited.READING:
            return self._put(
                self._refuse(answer, "a reading that nobody asked for, or too late")
            )
        special = answer.value is None and bool(self._dialogue.error_query)
        answers = self._hold(answer) if special else self._put(answer)
        if answer.raw.endswith(b"\n"):
            self._awaited = _Awaited.PROMPT if self._dialogue.prompt else _Awaited.NOTHING
            if self._held:
                self._script.appendleft(self._dialogue.error_query)
        return answers

    def _damaged(self, answer: Rejected) -> list[Reading | Rejected]:
        """Go on after a stretch that is no reply: perhaps what is left of the one awaited."""
        if self._awaited is _Awaited.READING and self._dialogue.error_query:
            self._awaited = _Awaited.NOTHING
            self._script.appendleft(self._dialogue.error_query)
        return self._put(replace(answer, position=self._position))

    def _error(self, entry: ErrorEntry, answer: Reading) -> list[Reading | Rejected]:
        """Take an entry of the error queue that was asked for."""
        self._awaited = _Awaited.NOTHING
        answers: list[Reading | Rejected] = []
        if entry.number:
            self._errors.append(entry)
            answers = self._put(self._refuse(answer, f"the meter reports {entry}"))
            if len(self._errors) < MOST_ERRORS:
                self._script.appendleft(self._dialogue.error_query)
                return answers
        reasons = ", ".join(map(str, self._errors))
        if reasons and (self._setting_up or self._unanswered):
            asked = self._unanswered or f"the set-up {', '.join(self._setup)}"
            self.refused = f"it refuses {asked}: {reasons}"
        answers += self._release(f"the meter reports {reasons}" if reasons else "")
        self._errors = []
        if self._unanswered or self.refused:
            self._set_up()
        return answers

    def _put(self, answer: Reading | Rejected) -> list[Reading | Rejected]:
        """Hand an answer out, or hold it back behind one that is held."""
        return self._hold(answer) if self._held else [answer]

    def _hold(self, answer: Reading | Rejected) -> list[Reading | Rejected]:
        self._held.append((self._position, answer))
        return []

    def _release(self, doubt: str) -> list[Reading | Rejected]:
        """Hand out what was held back: over-range as it is, or refused where in doubt."""
        held, self._held = self._held, []
        return [self._believe(position, item, doubt) for position, item in held]

    def _believe(
        self, position: int, item: Reading | Rejected, doubt: str
    ) -> Reading | Rejected:
        if isinstance(item, Rejected) or item.value is not None:
            return item
        if doubt:
            return Rejected(item.raw, f"{item.display}, but {doubt}", position)
        if not item.overload:
            return Rejected(item.raw, f"{item.display}: no reading", position)
        return item

    def _refuse(self, answer: Reading, reason: str) -> Rejected:
        return Rejected(answer.raw, reason, self._position)

    def _look_for_prompt(self, piece: bytes) -> None:
        """Note the prompts, which the decoder keeps with the next reply."""
        if not self._dialogue.prompt:
            return
        self._line = (self._line + piece)[-_LONGEST_PROMPT_LINE:]
        if not piece.endswith((b"\r", b"\n")):
            return
        line, self._line = self._line.strip().decode("latin-1"), b""
        if line in self._dialogue.refusals:
            self.refused = f"it answers {line} to {self._asked}"
            self._set_up()
        elif line == self._dialogue.prompt and self._awaited is _Awaited.PROMPT:
            self._awaited = _Awaited.NOTHING
