"""Asking a meter that answers with a prompt: each line waits for it, and may be refused."""

from __future__ import annotations

import pytest
from wire_answers import values

from coilmeter.wire.conversation import Conversation
from coilmeter.wire.prompt import FORMAT as PROMPT


def test_a_prompt_is_waited_for_before_the_next_line() -> None:
    """Set-up, then queries, each after the prompt of the line before."""
    talk = Conversation(PROMPT, PROMPT.dialogue, serial=True)

    assert talk.to_send() == b"FORMAT 2\n"
    assert talk.to_send() == b""
    assert talk.receive(b"=>\r\n") == []
    assert talk.to_send() == b"MEAS?\n"
    assert values(talk.receive(b"+2.345E+2 OHMS\r\n")) == [234.5]
    assert talk.to_send() == b""
    assert talk.receive(b"=") == []
    assert talk.receive(b">\r") == []
    assert talk.receive(b"\n") == []
    assert talk.to_send() == b"MEAS?\n"


def test_a_prompt_format_believes_its_over_range_at_once() -> None:
    """It has no error queue, and errors are other numbers."""
    talk = Conversation(PROMPT, PROMPT.dialogue, serial=True)
    talk.to_send()
    talk.receive(b"=>\r\n")
    talk.to_send()

    found = talk.receive(b"+9.99999E+9 OHMS\r\n")

    assert values(found) == [None]


@pytest.mark.parametrize("refusal", ["?>", "!>"])
def test_a_prompt_of_refusal_is_told(refusal: str) -> None:
    """It names the line that was not obeyed; then the meter is set up anew."""
    talk = Conversation(PROMPT, PROMPT.dialogue, serial=True)
    talk.to_send()
    talk.receive(b"=>\r\n")
    talk.to_send()

    found = talk.receive(f"{refusal}\r\n".encode())

    assert values(found) == [f"the prompt {refusal}: the meter did not obey"]
    assert talk.refused == f"it answers {refusal} to MEAS?"
    assert talk.to_send() == b"FORMAT 2\n"


def test_a_lost_prompt_sets_the_meter_up_anew() -> None:
    """Without an error queue that is the way to be in step again."""
    talk = Conversation(PROMPT, PROMPT.dialogue, serial=True)
    talk.to_send()
    first = talk.overdue()
    talk.to_send()
    talk.receive(b"=>\r\n")
    talk.to_send()
    damaged = talk.receive(b"+2.3_5E+2 OHMS\r\n")
    second = talk.overdue()

    assert (first, second) == ([], [])
    assert len(damaged) == 1
    assert talk.to_send() == b"FORMAT 2\n"
