"""A live meter: bytes from a port that pyserial can open, decoded and stamped with time.

A port is a device name, a pseudo-terminal, ``socket://host:port`` or ``loop://``.  It is
always opened with eight data bits and no parity: seven bits with parity, or with two stop
bits, take the same time on the wire, so that parity arrives as the eighth bit, where a
decoder can check it instead of a driver that may not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import TracebackType
from typing import Final, Self

from coilmeter.errors import MeterSilentError, MeterUnreadableError, PortLostError
from coilmeter.sources.clock import Clock
from coilmeter.sources.poll_asking import asker_for
from coilmeter.sources.poll_health import Health
from coilmeter.sources.poll_lines import Lines, Rouser, combinations
from coilmeter.sources.poll_link import LONGEST_WAIT_S, Link
from coilmeter.sources.port_errors import refused_hint, silent_hint, unreadable_hint
from coilmeter.sources.port_events import Answer, TimedReading, TimedReject
from coilmeter.values import Reading
from coilmeter.wire.contract import Format, Rejected
from coilmeter.wire.dialogue import Dialogue

__all__ = ["LONGEST_WAIT_S", "MAY_BE_CUT", "MeterStream", "TimedReading", "TimedReject"]

SILENT_AFTER_S: Final = 5.0
UNREADABLE_AFTER_S: Final = 5.0
MAY_BE_CUT: Final = "the first line after opening: its beginning may be missing"


class MeterStream:
    """A meter on a port, open between ``with`` and its end: one connection at a time.

    `coilmeter.sources.port_lasting` opens it again where that is lost.

    A meter that must be asked (see `coilmeter.wire.dialogue`) is asked, one reading after
    the other.  A serial meter that talks by itself and says nothing is roused: the wake byte
    of its format is sent, and the other combinations of DTR and RTS are tried, unless
    `lines` says which it needs.  One that falls silent later on is only woken.

    Parameters
    ----------
    url
        Device name or URL.
    form
        The wire format it speaks.
    clock
        Gives the times of what arrives, and of silence.
    baud
        Bits per second, where the meter is set to others than its format's usual ones.
    lines
        DTR and RTS, where the cable needs others than the format's usual ones; then no
        others are tried.
    dialogue
        What is said to a meter that must be asked, where it is not the format's usual one
        (such as its `four_wire`).
    silent_after, unreadable_after
        Seconds of the clock without a byte, or without a reading among what arrives, until
        an error says so; infinity for never.  While no reading has come and control lines
        are tried, each combination has half of the first.

    Raises
    ------
    InputError
        When a dialogue is given for a format whose meter talks by itself.
    InputError, PortMissingError, PortBusyError, PortDeniedError
        On entering, when the port cannot be opened.

    Attributes
    ----------
    bytes_in, decoded, rejected, asides
        How many bytes arrived, and how many readings, rejected stretches, and readings of
        other displays than the main one they made.
    lines
        DTR and RTS as they are set.
    found_lines
        The combination that made the meter talk, where it is not the one it was opened with;
        else None.

    """

    def __init__(
        self,
        url: str,
        form: Format,
        clock: Clock,
        *,
        baud: int | None = None,
        lines: Lines | None = None,
        dialogue: Dialogue | None = None,
        silent_after: float = SILENT_AFTER_S,
        unreadable_after: float = UNREADABLE_AFTER_S,
    ) -> None:
        self.url = url
        self.form = form
        self.baud = form.settings.baud if baud is None else baud
        self.lines = (form.settings.dtr, form.settings.rts) if lines is None else lines
        self.found_lines: Lines | None = None
        self.silent_after = silent_after
        self.bytes_in = 0
        self.decoded = 0
        self.rejected = 0
        self.asides = 0
        self._clock = clock
        self._dialogue = dialogue
        self._fixed_lines = lines is not None
        self._link: Link | None = None
        self._rouser: Rouser | None = None
        self._is_aside = getattr(form, "is_aside", lambda _: False)
        self._health = Health(unreadable_after)
        self._begin_afresh()

    def __enter__(self) -> Self:
        self._open(self.url)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the port back; what was decoded stays with the caller."""
        link, self._link = self._link, None
        if link is not None:
            link.close()

    def reopen(self, url: str) -> None:
        """Open the port again after it was lost, by the name that it has now.

        All begins afresh as on entering, with the control lines that made the meter talk;
        only the counts go on.

        Raises
        ------
        InputError, PortMissingError, PortBusyError, PortDeniedError
            When it cannot be opened; then it may be tried again.

        """
        self.close()
        self._open(url)
        self._begin_afresh()

    def pending(self) -> bytes:
        """Bytes that have made neither a reading nor a rejected stretch yet."""
        return self._decoder.pending() if self._asker is None else self._asker.pending()

    def _begin_afresh(self) -> None:
        """Forget what belongs to one connection."""
        self._decoder = self.form.decoder()
        self._asker = asker_for(self.url, self.form, self._dialogue)
        self._beginning_unsure = not self.form.facts.cut_shows and self._asker is None
        self._answered = 0
        self._talked = False
        self._health.readable()

    def _open(self, url: str) -> None:
        link = self._link = Link(url, self.baud, self.lines)
        self.url = url
        self._heard = self._clock.now()
        if self._asker is None:
            tried = [self.lines]
            if not self._fixed_lines and link.has_lines():
                tried = combinations(self.lines)
            step = self.silent_after / min(len(tried), 2)
            wake = self.form.settings.wake
            self._rouser = Rouser(link, tried, wake, step, self._heard)

    def poll(self, wait_s: float = LONGEST_WAIT_S) -> list[Answer]:
        """Read what has arrived, waiting for the first byte no longer than `wait_s`.

        A meter that must be asked is asked first, where it owes no answer.

        Parameters
        ----------
        wait_s
            Real seconds, `LONGEST_WAIT_S` at most.

        Returns
        -------
        list
            What the bytes completed, in the order of the stream; often empty.

        Raises
        ------
        PortLostError
            When the port is gone.  All that was decoded has been returned before.
        MeterSilentError, MeterUnreadableError
            As `check_alive`; polling may go on, and raises again after the same time.

        """
        self._check_readable()
        with self._opened() as link:
            if self._asker is not None:
                now = self._clock.now()
                given_up = self._asker.overdue(now)
                if given_up:
                    return self._timed_all(now, given_up)
                asked = self._asker.due(now)
                if asked:
                    link.write(asked)
            data = link.read(wait_s)
        now = self._clock.now()
        if not data:
            self._check_heard(now)
            return []
        self._heard = now
        self.bytes_in += len(data)
        if self._rouser is not None:
            self._rouser.heard(now)
        source = self._decoder.feed if self._asker is None else self._asker.receive
        return self._timed_all(now, source(data))

    def check_alive(self) -> None:
        """Raise where the meter is silent, or nothing it says can be read.

        Raises
        ------
        MeterSilentError
            After `silent_after` seconds without a byte.
        MeterUnreadableError
            After `unreadable_after` seconds in which stretches were rejected, ten at least,
            and no reading came between them; or when the meter refuses what it is asked.

        """
        self._check_readable()
        self._check_heard(self._clock.now())

    @contextmanager
    def _opened(self) -> Iterator[Link]:
        """Give the port; where it is lost meanwhile, say what had been read."""
        if self._link is None:
            raise RuntimeError("the meter stream is not open: use it in a with statement")
        try:
            yield self._link
        except PortLostError as error:
            raise PortLostError(
                f"{error.message}; {self.decoded} readings arrived before",
                hint=error.hint,
            ) from error

    def _timed_all(self, now: float, answers: Sequence[Reading | Rejected]) -> list[Answer]:
        timed = [self._timed(now, answer) for answer in answers]
        return [item for item in timed if item is not None]

    def _timed(self, now: float, answer: Reading | Rejected) -> Answer | None:
        position, self._answered = self._answered, self._answered + len(answer.raw)
        if isinstance(answer, Reading) and self._beginning_unsure and position == 0:
            self.rejected += 1
            return TimedReject(now, Rejected(answer.raw, MAY_BE_CUT, position))
        if isinstance(answer, Reading):
            self._health.readable()
            self._talked = True
            if self._is_aside(answer):
                self.asides += 1
                return None
            if self._rouser is not None and self._rouser.lines != self.lines:
                self.lines = self.found_lines = self._rouser.lines
            self.decoded += 1
            return TimedReading(now, answer)
        self.rejected += 1
        self._health.rejected(now, answer.raw)
        return TimedReject(now, answer)

    def _check_heard(self, now: float) -> None:
        silence = now - self._heard
        rouser = None if self._talked else self._rouser
        if rouser is not None:
            with self._opened():
                if rouser.go_on(now):
                    return
        elif silence < self.silent_after:
            return
        self._heard = now
        if self._talked and self._asker is None and self.form.settings.wake:
            # Switched off and on again, such a meter talks only when it is woken again.
            with self._opened() as link:
                link.write(self.form.settings.wake)
        raise MeterSilentError(
            f"{self.url}: the port is open and no byte came for {silence:.1f} s "
            f"({self.bytes_in} bytes and {self.decoded} readings before)",
            hint=silent_hint(
                self.url,
                self.form.name,
                self.baud,
                self.lines,
                tried_others=rouser is not None and rouser.tries_others,
                query="" if self._asker is None else self._asker.dialogue.query,
            ),
        )

    def _check_readable(self) -> None:
        refused = "" if self._asker is None else self._asker.take_refusal()
        if refused:
            raise MeterUnreadableError(
                f"{self.url}: the meter cannot be asked for readings: {refused}",
                hint=refused_hint(self.form.name),
            )
        garbage = self._health.take_garbage()
        if garbage is not None:
            raise MeterUnreadableError(
                f"{self.url}: {garbage.count} pieces of data came in {garbage.lasted_s:.1f} s, "
                f"and none is a frame of {self.form.name}; the first bytes were "
                f"{garbage.first.hex(' ').upper()}",
                hint=unreadable_hint(self.form.name, self.baud),
            )
