"""The meter's side of a dialogue, and both sides together over wires that cut replies."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import pytest

from coilmeter.values import Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.conversation import Conversation
from coilmeter.wire.dialogue import ErrorEntry, error_entry, polled
from coilmeter.wire.plain import FORMAT as PLAIN
from coilmeter.wire.prompt import FORMAT as PROMPT
from coilmeter.wire.responder import Responder
from coilmeter.wire.scpi import FORMAT as SCPI

OPEN = Display(0.0, 10e3, 40e6, overload=True)
NO_ERROR = b'+0,"No error"\r\n'


def ohms(value: float) -> Display:
    """Show a value on a 400 ohm range."""
    return Display(value, 0.1, 400.0)


def values(answers: list[Reading | Rejected]) -> list[float | str | None]:
    """Reduce readings to their values, and what was refused to its reason."""
    return [
        answer.value if isinstance(answer, Reading) else answer.reason for answer in answers
    ]


@dataclass
class Bench:
    """A conversation and a meter with wires between them, which may cut and lose bytes."""

    talk: Conversation
    meter: Responder
    answers: list[Reading | Rejected] = field(default_factory=list)

    def turn(self, sizes: tuple[int, ...] = ()) -> None:
        """Send what is due, and hand the answer over in pieces of the given sizes."""
        reply = self.meter.receive(self.talk.to_send())
        for size in sizes:
            self.answers += self.talk.receive(reply[:size])
            reply = reply[size:]
        self.answers += self.talk.receive(reply)


def test_a_meter_and_a_conversation_understand_each_other() -> None:
    """Over wires that cut replies anywhere, every reading arrives, an open coil too."""
    for form, sizes in ((SCPI, (1, 5, 0, 3)), (PROMPT, (2, 7, 1))):
        shown = iter([ohms(1.5), ohms(234.5), OPEN, ohms(-0.1)])
        bench = Bench(
            Conversation(form, form.dialogue, serial=True),
            Responder(form, lambda shown=shown: next(shown)),  # type: ignore[misc]
        )
        while len(bench.answers) < 4:
            bench.turn(sizes)

        assert values(bench.answers) == [1.5, 234.5, None, -0.1]


def test_a_meter_that_does_not_know_the_query_is_found_out() -> None:
    """It sends nothing and notes an error; the conversation asks for it and tells."""
    meter = Responder(SCPI, lambda: ohms(1.0))
    said = replace(SCPI.dialogue, query="FETC?")
    bench = Bench(Conversation(SCPI, said, serial=True), meter)
    bench.turn()
    bench.turn()
    silent = list(bench.answers)
    bench.talk.overdue()
    bench.turn()
    bench.turn()

    assert silent == []
    assert values(bench.answers) == ["the meter reports -113 'Undefined header'"]
    assert bench.talk.refused == "it refuses FETC?: -113 'Undefined header'"


def test_a_meter_answers_lines_in_any_pieces_and_remembers_them() -> None:
    """Nothing is answered before the line end; the queue is emptied by *CLS."""
    meter = Responder(SCPI, lambda: ohms(234.5))
    meter.errors.append(ErrorEntry(-350, "Queue overflow"))

    assert meter.receive(b"REA") == b""
    assert meter.receive(b"D?\r\n") == b"+2.34500000E+02\r\n"
    assert meter.receive(b"SYST:ERR?\nSYST:ERR?\n") == b'-350,"Queue overflow"\r\n' + NO_ERROR
    assert meter.receive(b"NONSENSE\n*CLS\nSYST:ERR?\n") == NO_ERROR
    assert meter.heard == ["READ?", "SYST:ERR?", "SYST:ERR?", "NONSENSE", "*CLS", "SYST:ERR?"]


def test_a_meter_with_a_prompt_loses_the_line_that_comes_too_early() -> None:
    """Two lines at once: the first is obeyed, the second lost with a refusal (S16)."""
    meter = Responder(PROMPT, lambda: ohms(234.5))

    assert meter.receive(b"MEAS?\nMEAS?\n") == b"+2.345E+2 OHMS\r\n=>\r\n!>\r\n"
    assert meter.receive(b"FORMAT 2\n") == b"=>\r\n"
    assert meter.receive(b"FORMAT 9\n") == b"?>\r\n"


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (b'+0,"No error"\r\n', ErrorEntry(0, "No error")),
        (b'-113,"Undefined header;FOO"\n', ErrorEntry(-113, "Undefined header;FOO")),
        (b"+0\r\n", None),
        (b"+1.0,+2.0\r\n", None),
        (b'0,"open\r\n', None),
    ],
)
def test_entries_of_an_error_queue(line: bytes, expected: ErrorEntry | None) -> None:
    """A number, a comma and a quoted text."""
    assert expected == error_entry(line)


def test_only_some_formats_must_be_asked() -> None:
    """A format without a dialogue talks by itself."""
    assert polled(SCPI) is SCPI
    assert polled(PLAIN) is None
