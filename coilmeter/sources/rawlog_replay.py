"""Runs the bytes of a raw log through a decoder again, and keeps account of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from coilmeter.errors import InputError
from coilmeter.sources.rawlog import GAPS, Kind, LogHead
from coilmeter.sources.rawlog_reader import Damage, Happened, LogReader, Stretch
from coilmeter.sources.rawlog_streams import AskedStream, TalkingStream
from coilmeter.sources.rawlog_tally import KEPT, Answers, Gap, Tally
from coilmeter.values import Reading
from coilmeter.wire import find
from coilmeter.wire.contract import Format, Rejected
from coilmeter.wire.dialogue import polled


class Replay:
    """One log, in one file or its parts in order, decoded again.

    Parameters
    ----------
    paths
        The files, one at least.
    form
        The wire format to take the bytes for; None for the one the log names.

    Raises
    ------
    InputError
        When a file is no log, the files are not the parts of one log in order, or its format
        is not known.

    Attributes
    ----------
    head
        The head of the first file.
    form
        The wire format.
    tally
        What was come across.

    """

    def __init__(self, paths: Sequence[Path], form: Format | None = None) -> None:
        self.paths = tuple(paths)
        self.tally = Tally()
        heads = [_head_of(path) for path in paths]
        for before, path, head in zip(heads, paths[1:], heads[1:], strict=False):
            _check_follows(before, path, head)
        self.head: LogHead = heads[0]
        self.form: Format = find(self.head.format_name) if form is None else form
        self._is_aside = getattr(self.form, "is_aside", None)
        self._stream = self._new_stream(0.0, opened=self.head.part == 1)
        self._base = 0
        self._heard = 0.0
        self._gap: Happened | None = None

    def events(self) -> Iterator[Answers | Gap]:
        """Yield readings, rejected stretches and gaps, in order; to be gone through once.

        Raises
        ------
        InputError
            When the disk fails.

        """
        for path in self.paths:
            with LogReader(path) as reader:
                for event in reader.events():
                    yield from self._event(path, event)
            self.tally.records += reader.records
            self.tally.logged_read += reader.logged_read
            self.tally.cut = reader.cut
        yield from self._end_gap(self.tally.lasted_s)
        self.tally.unfinished += self._stream.pending()

    def _event(self, path: Path, event: Stretch | Happened | Damage) -> Iterator[Answers | Gap]:
        tally = self.tally
        if isinstance(event, Damage):
            tally.damages += 1
            if len(tally.first_damages) < KEPT:
                tally.first_damages.append((path, event))
            return
        if isinstance(event, Stretch):
            yield from self._end_gap(event.at[0])
            self._heard = tally.lasted_s = event.at[-1]
            tally.raw_bytes += len(event.data)
            tally.ended = ""
            before = self._stream.hidden
            yield self._counted(*self._stream.feed(event))
            tally.asides += self._stream.hidden - before
            return
        tally.lasted_s = max(tally.lasted_s, event.at)
        tally.ended = event.text if event.kind is Kind.END else ""
        if event.kind in GAPS:
            yield from self._end_gap(event.at)
            self._gap = event
        if event.kind in {Kind.UNPLUGGED, Kind.PLUGGED}:
            tally.unfinished += self._stream.pending()
            self._base = tally.raw_bytes
            self._stream = self._new_stream(event.at, opened=True)

    def _new_stream(self, at: float, *, opened: bool) -> TalkingStream | AskedStream:
        """Take up what comes after the port was opened."""
        asked = polled(self.form)
        if asked is not None and asked.name == self.head.format_name:
            return AskedStream(asked, self.head.port, at)
        # Bytes that were never answers to this format's queries are decoded as they stand.
        return TalkingStream(self.form, opened=opened)

    def _end_gap(self, at: float) -> Iterator[Gap]:
        if self._gap is None:
            return
        gap = Gap(self._gap.kind, self._heard, at, self._gap.text)
        self._gap = None
        self._heard = at
        self.tally.gaps += 1
        self.tally.gaps_s += gap.lasted_s
        if len(self.tally.first_gaps) < KEPT:
            self.tally.first_gaps.append(gap)
        yield gap

    def _counted(self, at: Sequence[float], items: Sequence[Reading | Rejected]) -> Answers:
        tally = self.tally
        if self._is_aside is not None:
            kept = [
                (when, item)
                for when, item in zip(at, items, strict=True)
                if isinstance(item, Rejected) or not self._is_aside(item)
            ]
            tally.asides += len(items) - len(kept)
            at, items = [when for when, _ in kept], [item for _, item in kept]
        rejected = len(items) - list(map(type, items)).count(Reading)
        tally.rejected += rejected
        tally.decoded += len(items) - rejected
        if rejected and len(tally.first_rejected) < KEPT:
            for when, item in zip(at, items, strict=True):
                if isinstance(item, Rejected) and len(tally.first_rejected) < KEPT:
                    found = Rejected(item.raw, item.reason, self._base + item.position)
                    tally.first_rejected.append((when, found))
        return Answers(at, items)


def _head_of(path: Path) -> LogHead:
    with LogReader(path) as reader:
        return reader.head


def _check_follows(before: LogHead, path: Path, head: LogHead) -> None:
    """Refuse files that are not parts of one log, in order."""
    same = (head.start, head.port, head.format_name) == (
        before.start,
        before.port,
        before.format_name,
    )
    if not same or head.part != before.part + 1:
        raise InputError(
            f"{path}: part {head.part} of the log begun {head.start.isoformat()}, expected "
            f"part {before.part + 1} of the one begun {before.start.isoformat()}",
            hint="give the parts of one log, in order; other logs are replayed by themselves.",
        )
