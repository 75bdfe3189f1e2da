"""Listens at the decoder of a live source, so that no byte passes by the log.

A live source answers with readings of the main display only, and of a meter that is asked
with what may be believed.  The log is to hold the rest too: readings of other displays,
prompts, entries of an error queue, and what was held back until the queue was read.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, cast

from coilmeter.sources.port import TimedReading, TimedReject
from coilmeter.sources.rawlog import Kind
from coilmeter.values import Reading
from coilmeter.wire.contract import Decoder, Format, Rejected


@dataclass(frozen=True, slots=True)
class Heard:
    """Bytes that are to be a record of the log: when the last came, and what they are."""

    at: float
    kind: Kind
    raw: bytes
    text: str


class Tap:
    """A wire format that notes what its decoders answer.

    Parameters
    ----------
    form
        The format itself.
    now
        Gives the time of what arrives.

    Attributes
    ----------
    format
        To be given to a source in place of the format: the same in everything, but noted.
    answers
        What was noted since it was last emptied, with times.

    """

    def __init__(self, form: Format, now: Callable[[], float] = lambda: 0.0) -> None:
        self.answers: list[tuple[float, Reading | Rejected]] = []
        self.format = cast("Format", _Tapped(form, self))
        self._now = now
        self._decoders: list[Decoder] = []

    def pending(self) -> bytes:
        """Bytes that are in no answer yet."""
        return b"".join(decoder.pending() for decoder in self._decoders)

    def forget(self) -> bytes:
        """Give the bytes that are in no answer, which no more bytes can complete."""
        left = self.pending()
        self._decoders = []
        return left

    def take(self, believed: Iterable[TimedReading | TimedReject]) -> Iterator[Heard]:
        """Yield records for all that was noted, judged as the source did.

        Parameters
        ----------
        believed
            What the source answered.

        """
        noted, self.answers = self.answers, []
        left = deque(believed)
        for at, answer in noted:
            if left and _raw(left[0]) == answer.raw:
                yield _record(at, left.popleft(), answer.raw)
            elif isinstance(answer, Rejected):
                yield Heard(at, Kind.REJECTED, answer.raw, answer.reason)
            else:
                yield Heard(at, Kind.ASIDE, answer.raw, answer.display)
        # Held back before, and judged only now: their bytes are in the log already.
        for item in left:
            yield _record(item.at, item, b"")

    def make_decoder(self, form: Format) -> Decoder:
        """Make a decoder of `form` whose answers are noted."""
        decoder = _TappedDecoder(form.decoder(), self._note)
        self._decoders.append(decoder)
        return decoder

    def _note(self, answers: Sequence[Reading | Rejected]) -> None:
        if answers:
            at = self._now()
            self.answers += [(at, answer) for answer in answers]


class _Tapped:
    """A format in everything but its decoder."""

    def __init__(self, form: Format, tap: Tap) -> None:
        self._form = form
        self._tap = tap

    def __getattr__(self, name: str) -> Any:
        return getattr(self._form, name)

    def decoder(self) -> Decoder:
        """Make a decoder for one stream."""
        return self._tap.make_decoder(self._form)


class _TappedDecoder:
    """A decoder that tells what it answers."""

    def __init__(
        self, decoder: Decoder, note: Callable[[Sequence[Reading | Rejected]], None]
    ) -> None:
        self._decoder = decoder
        self._note = note

    def feed(self, data: bytes) -> Sequence[Reading | Rejected]:
        """Take bytes, answer with what they complete."""
        answers = self._decoder.feed(data)
        self._note(answers)
        return answers

    def pending(self) -> bytes:
        """Bytes that are neither decoded nor rejected yet."""
        return self._decoder.pending()


def _raw(item: TimedReading | TimedReject) -> bytes:
    return item.reading.raw if isinstance(item, TimedReading) else item.rejected.raw


def _record(at: float, item: TimedReading | TimedReject, raw: bytes) -> Heard:
    if isinstance(item, TimedReading):
        return Heard(at, Kind.READ, raw, item.reading.display)
    return Heard(at, Kind.REJECTED, raw, item.rejected.reason)
