"""A meter that may be unplugged, and is listened to again when it is plugged in.

The port is looked for under the name it had, and as the same USB device under another one.
Nothing is carried across the gap but the counts: decoder, control lines, wake byte and the
dialogue with a meter that is asked begin afresh.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, replace
from types import TracebackType
from typing import Final, Self

from coilmeter.errors import (
    CoilmeterError,
    MeterSilentError,
    MeterUnreadableError,
    PortLostError,
    PortMissingError,
)
from coilmeter.sources.clock import Clock
from coilmeter.sources.poll_link import LONGEST_WAIT_S
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_errors import lost_hint
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    LinkLost,
    LinkRefused,
    StreamEvent,
    TalksAgain,
    Unreadable,
)
from coilmeter.sources.port_identity import UsbIdentity, find_again, identities, identity_of

RETRY_S: Final = 0.5
"""Seconds between two tries to open a port that is gone."""

HELD_S: Final = 1.0
"""A port that was opened again without a byte is back when it has held for so long: some
servers take a connection only to close it."""

REFUSED_S: Final = 3.0
"""A port that is there again may be busy or not permitted for so long before it is told: the
system sets its rights a moment after it appears."""


@dataclass(slots=True)
class _Absence:
    """A port that is gone, or not surely back."""

    error: PortLostError
    since: float
    next_try: float
    opened_at: float | None = None
    refused_since: float | None = None
    refusal_told: bool = False


class LastingStream:
    """A meter on a port that is opened again whenever it is lost, between ``with`` and its end.

    Parameters
    ----------
    meter
        The meter, not opened yet.
    clock
        The clock of the meter.
    wait_s
        Seconds for which a port that is gone is waited for; infinity for ever, 0 for not at
        all.

    Raises
    ------
    InputError, PortMissingError, PortBusyError, PortDeniedError
        On entering, when the port cannot be opened.

    Attributes
    ----------
    meter
        Its counts and control lines are those of all connections together.

    """

    def __init__(self, meter: MeterStream, clock: Clock, *, wait_s: float = math.inf) -> None:
        self.meter = meter
        self._url = meter.url
        self._clock = clock
        self._wait_s = wait_s
        self._identity: UsbIdentity | None = None
        self._absence: _Absence | None = None
        self._told: tuple[type, int] | None = None
        self._decoded_when_told = 0

    def __enter__(self) -> Self:
        self.meter.__enter__()
        self._identity = identity_of(self._url)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.meter.close()

    def poll(self, wait_s: float = LONGEST_WAIT_S) -> list[StreamEvent]:
        """Read what has arrived, or look for a port that is gone.

        Parameters
        ----------
        wait_s
            Real seconds to wait for a byte, `LONGEST_WAIT_S` at most.  To open a network
            connection may take some seconds more.

        Returns
        -------
        list
            What the bytes made, and what became of the connection, in order; often empty.
            Silence is told once until a byte comes, bytes that cannot be read once until a
            reading comes.

        Raises
        ------
        PortLostError
            When the port has been gone for as long as is waited, after `LinkLost` was told.

        """
        absence = self._absence
        if absence is not None and absence.opened_at is None:
            return self._look_for(absence, min(max(wait_s, 0.0), LONGEST_WAIT_S))
        before = self.meter.bytes_in
        try:
            answers = self.meter.poll(wait_s)
        except PortLostError as error:
            return self._lost(error)
        except MeterSilentError as error:
            return self._trouble(FellSilent(self._clock.now(), error), self.meter.bytes_in)
        except MeterUnreadableError as error:
            return self._trouble(Unreadable(self._clock.now(), error), self.meter.decoded)
        heard = self.meter.bytes_in > before
        return [*self._back(heard=heard), *self._talks_again(), *answers]

    def _lost(self, error: PortLostError) -> list[StreamEvent]:
        now = self._clock.now()
        torn = self.meter.pending()
        self.meter.close()
        self._told = None
        if self._absence is not None:
            # It was opened, and lost before anybody was told that it is back.
            self._absence.opened_at = None
            return []
        self._absence = _Absence(error, now, now)
        return [LinkLost(now, error, torn)]

    def _look_for(self, absence: _Absence, wait_s: float) -> list[StreamEvent]:
        """Try to open the port, where it is time to."""
        now = self._clock.now()
        if now - absence.since >= self._wait_s:
            waited = f", and not back after {self._wait_s:g} s" if self._wait_s else ""
            raise PortLostError(f"{absence.error.message}{waited}", hint=lost_hint(self._url))
        if now < absence.next_try:
            time.sleep(wait_s)
            return []
        absence.next_try = now + RETRY_S
        error = self._reopen(absence)
        if error is None or isinstance(error, PortMissingError):
            absence.refused_since, absence.refusal_told = None, False
            return []
        if absence.refused_since is None:
            absence.refused_since = now
        if absence.refusal_told or now - absence.refused_since < REFUSED_S:
            return []
        absence.refusal_told = True
        return [LinkRefused(now, error)]

    def _reopen(self, absence: _Absence) -> CoilmeterError | None:
        """Open the port, or tell why not; None too where it is not plugged in."""
        url = find_again(self._url, self._identity, identities() if self._identity else {})
        if url is None:
            return None
        try:
            self.meter.reopen(url)
        except CoilmeterError as error:
            return error
        absence.opened_at = self._clock.now()
        found, before = identity_of(url), self._identity
        if found is not None and before is not None:
            self._identity = replace(found, shared=found.shared or before.shared)
        return None

    def _back(self, *, heard: bool) -> list[StreamEvent]:
        """Tell that the port is back, once it is certain."""
        absence = self._absence
        if absence is None or absence.opened_at is None:
            return []
        held_s = self._clock.now() - absence.opened_at
        if not heard and held_s < HELD_S:
            return []
        self._absence = None
        away_s = absence.opened_at - absence.since
        return [LinkBack(absence.opened_at, self.meter.url, away_s)]

    def _trouble(self, event: FellSilent | Unreadable, count: int) -> list[StreamEvent]:
        """Tell a trouble, once as long as a count does not change."""
        again = self._told == (type(event), count)
        self._told = (type(event), count)
        self._decoded_when_told = self.meter.decoded
        return [] if again else [*self._back(heard=True), event]

    def _talks_again(self) -> list[StreamEvent]:
        if self._told is None or self.meter.decoded == self._decoded_when_told:
            return []
        self._told = None
        return [TalksAgain(self._clock.now())]
