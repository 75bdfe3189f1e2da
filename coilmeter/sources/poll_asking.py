"""A conversation with a meter in time: what is due to be sent, and what is overdue."""

from __future__ import annotations

from coilmeter.errors import InputError
from coilmeter.sources.port_errors import is_socket
from coilmeter.values import Reading
from coilmeter.wire.contract import Format, Rejected
from coilmeter.wire.conversation import Conversation
from coilmeter.wire.dialogue import Dialogue, PolledFormat, polled


class Asker:
    """Asks a meter for readings, one after the other.

    Parameters
    ----------
    form
        The format of its replies.
    dialogue
        What is said.
    serial
        Whether it is on a serial port.

    """

    def __init__(self, form: PolledFormat, dialogue: Dialogue, *, serial: bool) -> None:
        self.dialogue = dialogue
        self._conversation = Conversation(form, dialogue, serial=serial)
        self._asked_at = 0.0

    def due(self, now: float) -> bytes:
        """Give what is to be sent now, often nothing."""
        data = self._conversation.to_send()
        if data:
            self._asked_at = now
        return data

    def receive(self, data: bytes) -> list[Reading | Rejected]:
        """Take bytes; answer with readings, and what was refused."""
        return self._conversation.receive(data)

    def pending(self) -> bytes:
        """Bytes of an answer that is not complete."""
        return self._conversation.pending()

    def overdue(self, now: float) -> list[Reading | Rejected]:
        """Give up an answer that did not come in its time; what was held back comes out."""
        waited = now - self._asked_at
        if not self._conversation.waiting or waited < self.dialogue.reply_within_s:
            return []
        return self._conversation.overdue()

    def take_refusal(self) -> str:
        """Why the meter cannot be asked, once; empty while it can."""
        refused, self._conversation.refused = self._conversation.refused, ""
        return refused


def asker_for(url: str, form: Format, dialogue: Dialogue | None) -> Asker | None:
    """Make what asks the meter on a port; None where it talks by itself.

    Parameters
    ----------
    url, form
        The port, and the format the meter speaks.
    dialogue
        What is said, where it is not what the format says.

    Raises
    ------
    InputError
        When a dialogue is given for a meter that talks by itself.

    """
    asked = polled(form)
    if asked is not None:
        return Asker(asked, dialogue or asked.dialogue, serial=not is_socket(url))
    if dialogue is not None:
        raise InputError(
            f"a meter of format {form.name} talks by itself: there is nothing to ask it",
            hint="leave out how it should be asked, or choose another format.",
        )
    return None
