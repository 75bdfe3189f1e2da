"""Every error a user can meet, and what each asks of them.

The tree, with the exit code of each branch::

    CoilmeterError
    ├── InputError                 2   what was typed or written cannot be used
    │   ├── ReadingTextError           one text that is not a reading (also a ValueError)
    │   ├── MistakesError              every mistake of one file, together
    │   ├── ImpedanceError             AC volts that cannot be one coil's
    │   └── UnknownNameError           a kind, band, meter or format nobody defined
    ├── MeterError                 3   meter, cable or port
    │   ├── PortMissingError
    │   ├── PortBusyError
    │   ├── PortDeniedError
    │   ├── PortLostError
    │   ├── MeterSilentError           the port is open and nothing arrives
    │   └── MeterUnreadableError       bytes arrive and none of them is a frame
    ├── FrameError                 3   one frame that its format forbids (also a ValueError)
    └── StoreError                 4   evidence could not be read back or kept
        ├── StoreMissingError          there is no bin at the place named
        ├── StoreBusyError             another program is writing to it
        └── StoreReadOnlyError         it can be read, and not written

An error carries fields; its text is built from them as what was seen, what was expected
and what to do next.  This module imports nothing of the package, so that every other
module can raise from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class CoilmeterError(Exception):
    """Base of all errors meant for the user: a message, a hint, an exit code."""

    exit_code = 2

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}\n  next: {self.hint}" if self.hint else self.message


class InputError(CoilmeterError):
    """What was typed, or written in a file, cannot be used."""

    exit_code = 2


class ReadingTextError(InputError, ValueError):
    """A text that is not a reading.

    Parameters
    ----------
    text
        What was seen.
    expected
        What would have been understood.
    hint
        What to write instead.

    """

    def __init__(self, text: str, expected: str, hint: str = "") -> None:
        self.text = text
        self.expected = expected
        shown = text if len(text) <= 40 else f"{text[:40]}..."  # noqa: PLR2004 - one screen line
        super().__init__(f"saw {shown!r}, expected {expected}", hint=hint)

    def __reduce__(self) -> tuple[type[ReadingTextError], tuple[str, str, str]]:
        return (type(self), (self.text, self.expected, self.hint))


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in a file the user wrote.

    Parameters
    ----------
    path
        The file as the user named it.
    line
        Line number, from 1; None where a file format has no lines.
    place
        Column name, or key path in a TOML file.
    seen, expected
        What stands there, and what was expected.

    """

    path: str
    line: int | None
    place: str
    seen: str
    expected: str

    def __str__(self) -> str:
        where = ": ".join(
            part
            for part in (
                self.path if self.line is None else f"{self.path}:{self.line}",
                self.place,
            )
            if part
        )
        return f"{where}: saw {self.seen}, expected {self.expected}"


class MistakesError(InputError):
    """Every mistake of the given files, in one message; nothing has been judged.

    Parameters
    ----------
    mistakes
        The mistakes.
    hint
        What to do next.
    undone
        What was left undone because of them.

    """

    SHOWN = 50

    def __init__(
        self, mistakes: Sequence[Mistake], hint: str = "", undone: str = "nothing was judged"
    ) -> None:
        self.mistakes = tuple(mistakes)
        count = len(self.mistakes)
        lines = [str(mistake) for mistake in self.mistakes[: self.SHOWN]]
        if count > self.SHOWN:
            lines.append(f"... and {count - self.SHOWN} more")
        noun = "mistake" if count == 1 else "mistakes"
        super().__init__(
            "\n".join([*lines, f"{count} {noun}; {undone}."]),
            hint=hint or "correct them and run the same command again.",
        )


class UnknownNameError(InputError):
    """A name that no reference file, shipped or of the user's own, defines."""

    def __init__(self, what: str, name: str, known: Sequence[str]) -> None:
        self.what = what
        self.name = name
        self.known = tuple(known)
        super().__init__(
            f"no {what} is called {name!r}",
            hint=f"the ones known here are: {', '.join(self.known) or '(none)'}.",
        )


class ImpedanceError(InputError):
    """AC volts, a resistor and a frequency that cannot belong to one coil.

    Parameters
    ----------
    place
        Which of them is at fault, as the column of a file is called.
    seen, expected
        What was given or follows from it, and what was expected.
    hint
        What to do next.

    """

    def __init__(self, place: str, seen: str, expected: str, hint: str = "") -> None:
        self.place = place
        self.seen = seen
        self.expected = expected
        super().__init__(f"{place}: saw {seen}, expected {expected}", hint=hint)

    def __reduce__(self) -> tuple[type[ImpedanceError], tuple[str, str, str, str]]:
        return (type(self), (self.place, self.seen, self.expected, self.hint))


class MeterError(CoilmeterError):
    """Something between the meter and this program is not working."""

    exit_code = 3


class PortMissingError(MeterError):
    """The named port does not exist, or nobody listens there."""


class PortBusyError(MeterError):
    """Another program holds the port."""


class PortDeniedError(MeterError):
    """The user may not open the port."""


class PortLostError(MeterError):
    """The port was there and is gone: unplugged, or the other end closed."""


class MeterSilentError(MeterError):
    """The port is open, and no byte arrives."""


class MeterUnreadableError(MeterError):
    """Bytes arrive, and none of them makes a frame of the chosen format."""


class FrameError(CoilmeterError, ValueError):
    """One frame that its format forbids.

    Parameters
    ----------
    format_name
        The wire format that was asked to decode it.
    frame
        The bytes as received.
    reason
        What is wrong, and at which byte.

    """

    exit_code = 3

    def __init__(self, format_name: str, frame: bytes, reason: str) -> None:
        self.format_name = format_name
        self.frame = frame
        self.reason = reason
        super().__init__(f"{format_name}: {reason} in [{frame[:64].hex(' ').upper()}]")

    def __reduce__(self) -> tuple[type[FrameError], tuple[str, bytes, str]]:
        return (type(self), (self.format_name, self.frame, self.reason))


class StoreError(CoilmeterError):
    """Evidence could not be kept, or could not be read back."""

    exit_code = 4


class StoreMissingError(StoreError):
    """No bin is at the place that was named."""


class StoreBusyError(StoreError):
    """Another program has been writing to the bin for longer than one waits."""


class StoreReadOnlyError(StoreError):
    """The bin can be read, and nothing can be written to it."""
