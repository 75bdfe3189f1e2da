"""The bytes of one connection, taken from a log and decoded as a live source would have.

A live source does more than decode: the first line after opening is refused where its
beginning may be missing, and a meter that was asked is believed only as far as its answers
fit what it was asked.  So it is done here.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final, cast

from coilmeter.sources.poll_asking import Asker
from coilmeter.sources.poll_link import LONGEST_WAIT_S
from coilmeter.sources.port import MAY_BE_CUT
from coilmeter.sources.port_errors import is_socket
from coilmeter.sources.rawlog_reader import Stretch
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.values import Reading
from coilmeter.wire.contract import Format, Rejected
from coilmeter.wire.dialogue import PolledFormat, polled

_MOST_TRIES: Final = 1000

Timed = tuple[Sequence[float], Sequence[Reading | Rejected]]


class TalkingStream:
    """The bytes of one connection to a meter that talks by itself.

    Parameters
    ----------
    form
        The format to take them for.
    opened
        Whether they begin where the port was opened, perhaps within a frame, and not in
        the middle of a log that was split.

    Attributes
    ----------
    hidden
        How many answers of the decoder came out in no answer of `feed`.

    """

    def __init__(self, form: Format, *, opened: bool) -> None:
        self.hidden = 0
        self._decoder = form.decoder()
        self._unsure = opened and not form.facts.cut_shows and polled(form) is None

    def pending(self) -> int:
        """How many bytes make no whole frame yet."""
        return len(self._decoder.pending())

    def feed(self, stretch: Stretch) -> Timed:
        """Take bytes; answer with what they complete, and when each was complete."""
        before = self.pending()
        items = self._decoder.feed(stretch.data)
        sizes = [len(item.raw) for item in items]
        whole = not before and sizes == stretch.sizes
        at = stretch.at if whole else _times(stretch, before, sizes)
        if self._unsure and items:
            self._unsure = False
            if isinstance(items[0], Reading):
                items = [Rejected(items[0].raw, MAY_BE_CUT, 0), *items[1:]]
        return at, items


class AskedStream:
    """The bytes of one connection to a meter that was asked: the conversation is held again.

    What was sent is not in the log; it follows from the answers and their times, but for an
    answer that came within `LONGEST_WAIT_S` of being given up.

    Parameters
    ----------
    form
        The format of the answers.
    port
        Where the meter was; on a serial port more is said at first.
    at
        When the conversation began, in seconds.

    """

    def __init__(self, form: PolledFormat, port: str, at: float) -> None:
        self.hidden = 0
        self._tap = Tap(form)
        tapped = cast("PolledFormat", self._tap.format)
        self._asker = Asker(tapped, form.dialogue, serial=not is_socket(port))
        self._asked_at = at
        self._ask(at)

    def pending(self) -> int:
        """How many bytes make no whole line yet."""
        return len(self._tap.pending())

    def feed(self, stretch: Stretch) -> Timed:
        """Take bytes; answer with what may be believed of them, and what not."""
        times: list[float] = []
        items: list[Reading | Rejected] = []
        start = 0
        records = zip(stretch.at, stretch.sizes, strict=True)
        # What arrived in one piece has one time.
        for at, group in itertools.groupby(records, key=lambda record: record[0]):
            told = self._wait(at)
            sizes = [size for _, size in group]
            end = start + sizes[0]
            for prompt in self._prompts(stretch.data[start:end]):
                told += self._asker.receive(prompt)
                start += len(prompt)
                self._ask(at)
            end += sum(sizes[1:])
            told += self._asker.receive(stretch.data[start:end])
            start = end
            self._ask(at)
            times += [at] * len(told)
            items += told
        self.hidden += len(self._tap.answers) - len(items)
        self._tap.answers.clear()
        return times, items

    def _prompts(self, data: bytes) -> list[bytes]:
        """Find the prompts before an answer: it was asked for only when they had come."""
        said = self._asker.dialogue
        lines = data.splitlines(keepends=True) if said.prompt else []
        known = {said.prompt, *said.refusals, ""}
        return list(
            itertools.takewhile(lambda line: line.strip().decode("latin-1") in known, lines)
        )

    def _ask(self, at: float) -> None:
        self._asker.take_refusal()
        if self._asker.due(at):
            self._asked_at = at

    def _wait(self, until: float) -> list[Reading | Rejected]:
        """Give up, as often as the source did, what was not answered in its time."""
        told: list[Reading | Rejected] = []
        patience = self._asker.dialogue.reply_within_s + LONGEST_WAIT_S
        for _ in range(_MOST_TRIES):
            now = self._asked_at + patience
            if now > until:
                return told
            told += self._asker.overdue(now)
            self._asked_at = now
            self._ask(now)
        # Silent for an hour and more: what was asked last makes no difference any longer.
        self._asked_at = until
        return told


def _times(stretch: Stretch, before: int, sizes: Sequence[int]) -> list[float]:
    """Time of the last byte of each answer, where answers and records are not the same.

    `before` bytes of the first answers came earlier than the stretch.
    """
    ends = list(itertools.accumulate(stretch.sizes))
    at: list[float] = []
    record, end = 0, -before
    for size in sizes:
        end += size
        while ends[record] < end:
            record += 1
        at.append(stretch.at[record])
    return at
