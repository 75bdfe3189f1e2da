"""The meter's side of a dialogue: bytes in, bytes out, for a simulated meter that is asked.

No input or output is done here.  Not simulated: the time a measurement takes (whoever holds
the port may wait before it sends), handshake lines, and commands that are none of the
dialogue's.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Final

from coilmeter.errors import InputError
from coilmeter.values import Function
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import Dialogue, ErrorEntry, PolledFormat

UNDEFINED_HEADER: Final = ErrorEntry(-113, "Undefined header")
SETTINGS_CONFLICT: Final = ErrorEntry(-221, "Settings conflict")
NO_ERROR: Final = ErrorEntry(0, "No error")
_LONGEST_COMMAND: Final = 256
_REMEMBERED: Final = 100


class Responder:
    """A meter that answers the lines of a dialogue, in any pieces.

    A line that is none of the dialogue's puts an error in the queue, where there is one, and
    is not answered.  A meter with a prompt answers it with its first refusal; a line that
    comes before the prompt was sent is lost, and answered with the last one.

    Parameters
    ----------
    form
        The format of the replies.
    show
        Gives what the display shows, each time it is asked for.
    dialogue
        The lines it knows, where they are not those of the format.
    turn
        Turns the meter to a function, on a line of set-up that chooses one.
    reset
        Done on ``*RST``, where that is one of its lines: back to no hold and no null.

    Attributes
    ----------
    errors
        The error queue; entries may be added to see them asked for.
    given
        How many readings it has given.
    heard
        The last lines that arrived, oldest first.

    """

    def __init__(
        self,
        form: PolledFormat,
        show: Callable[[], Display],
        dialogue: Dialogue | None = None,
        *,
        reset: Callable[[], None] = lambda: None,
        turn: Callable[[Function], None] = lambda _: None,
    ) -> None:
        self.errors: deque[ErrorEntry] = deque()
        self.given = 0
        self.heard: list[str] = []
        self._form = form
        self._dialogue = dialogue or form.dialogue
        self._show = show
        self._reset = reset
        self._turn = turn
        four = form.four_wire
        volts = form.ac_volts
        of_ohms = {*self._dialogue.setup, *(four.setup if four else ())}
        of_volts = {*volts.dialogue.setup} if volts else {*of_ohms}
        self._obeyed = {*self._dialogue.serial_setup, *of_ohms, *of_volts}
        self._turned = dict.fromkeys(of_volts - of_ohms, Function.AC_VOLTAGE)
        self._turned |= dict.fromkeys(of_ohms - of_volts, Function.RESISTANCE)
        self._pending = b""

    def receive(self, data: bytes) -> bytes:
        """Take bytes; give what the meter sends back, often nothing.

        Raises
        ------
        ValueError
            When the format cannot carry what the display shows.

        """
        *lines, rest = (self._pending + data).replace(b"\r", b"\n").split(b"\n")
        self._pending = rest[-_LONGEST_COMMAND:]
        commands = [line.decode("latin-1").strip() for line in lines]
        commands = [command for command in commands if command]
        self.heard = [*self.heard, *commands][-_REMEMBERED:]
        if self._dialogue.prompt and len(commands) > 1:
            return self._answer(commands[0]) + f"{self._dialogue.refusals[-1]}\r\n".encode()
        return b"".join(map(self._answer, commands))

    def _turn_to(self, function: Function) -> None:
        try:
            self._turn(function)
        except InputError:
            self.errors.append(SETTINGS_CONFLICT)

    def _answer(self, command: str) -> bytes:
        said = self._dialogue
        if command == said.query:
            display = self._show()
            volts = self._form.ac_volts
            on_volts = volts is not None and display.function is Function.AC_VOLTAGE
            reply = (volts if on_volts and volts else self._form).encode(display)
            self.given += 1
        elif command and command == said.error_query:
            entry = self.errors.popleft() if self.errors else NO_ERROR
            reply = f'{entry.number:+d},"{entry.text}"\r\n'.encode()
        elif command in self._obeyed:
            reply = b""
            if command == "*CLS":
                self.errors.clear()
            elif command == "*RST":
                self._reset()
            elif command in self._turned:
                self._turn_to(self._turned[command])
        elif said.prompt:
            return f"{said.refusals[0]}\r\n".encode()
        else:
            self.errors.append(UNDEFINED_HEADER)
            return b""
        return reply + f"{said.prompt}\r\n".encode() if said.prompt else reply
