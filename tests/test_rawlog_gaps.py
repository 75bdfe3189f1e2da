"""Gaps anywhere in a log: a replay gives the readings that were given live, and no others."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import time
from collections import deque
from pathlib import Path

import pytest
from cables import Cable, HandClock
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rawlog_live import shows, stream_of, streaming

from coilmeter.cli.logging_run import LogJob, run_log
from coilmeter.errors import PortBusyError, PortLostError, PortMissingError
from coilmeter.report.safe import harmless
from coilmeter.sources import port as port_module
from coilmeter.sources.poll_lines import Lines
from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_reader import Happened, LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import Answers, Tally
from coilmeter.values import Reading
from coilmeter.wire import find
from coilmeter.wire.dialogue import polled
from coilmeter.wire.responder import Responder
from coilmeter.wire.scpi import FORMAT as SCPI

GONE = PortLostError("the port is gone")


class Worn(Cable):
    """A cable through which pieces come, with gaps between some; after the last it is gone.

    A meter that is asked answers what is written to it, until a gap is due.
    """

    def __init__(self, clock: HandClock, responder: Responder | None = None) -> None:
        super().__init__()
        self.clock = clock
        self.responder = responder
        self.gaps: deque[int] = deque()
        self.asked = 0

    def open(self, url: str, baud: int, lines: Lines) -> Cable:
        """Open it, while anything is left to come."""
        if not self.arriving and self.responder is None and self.done:
            raise PortMissingError("there is no such port")
        return super().open(url, baud, lines)

    def write(self, data: bytes) -> None:
        """Have the meter answer, or the plug pulled within its answer."""
        super().write(data)
        if self.responder is None:
            return
        self.asked += 1
        answer = self.responder.receive(data)
        if self.gaps and self.asked >= self.gaps[0]:
            self.gaps.popleft()
            self.arriving += [answer[: len(answer) // 2], GONE]
        elif answer:
            self.arriving.append(answer)

    def read(self, wait_s: float) -> bytes:
        """Give what comes next; the time goes on."""
        self.clock.time += 0.1
        if not self.arriving and self.responder is None:
            raise GONE
        return super().read(wait_s)


def logged(
    folder: Path,
    form_name: str,
    cable: Worn,
    patch: pytest.MonkeyPatch,
    *,
    count: int | None = None,
) -> tuple[list[str], list[str], Tally]:
    """Log through a cable to the end; give the readings of the CSV, and those of a replay."""
    log, table = folder / "a.rawlog", folder / "a.csv"
    for path in (log, table):
        path.unlink(missing_ok=True)
    patch.setattr(port_module, "Link", cable.open)
    patch.setattr(time, "sleep", cable.clock.sleep)
    job = LogJob(
        "socket://bench:5025",
        find(form_name),
        log,
        table=table,
        count=count,
        clock=cable.clock,
        wait_s=5.0,
    )
    if count is None:
        with pytest.raises(PortLostError, match="not back after 5 s"):
            run_log(job)
    else:
        run_log(job)
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    live = [
        "{} {} {}".format(row["at_s"], row["value"] or None, row["display"].removeprefix("'"))
        for row in rows
    ]
    replay = Replay([log])
    again = [
        f"{at:.6f} {item.value} {harmless(item.display)}"
        for event in replay.events()
        if isinstance(event, Answers)
        for at, item in zip(event.at, event.items, strict=True)
        if isinstance(item, Reading)
    ]
    return live, again, replay.tally


@pytest.mark.parametrize("name", streaming)
@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    deadline=None,
    max_examples=25,
)
@given(
    cuts=st.lists(st.integers(1, 40), min_size=1, max_size=40),
    gaps=st.sets(st.integers(1, 30), max_size=6),
)
def test_the_same_as_live_with_gaps_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, cuts: list[int], gaps: set[int]
) -> None:
    """However the bytes came and wherever the plug was pulled: the same readings again."""
    data, at = stream_of(name), 0
    cable = Worn(HandClock())
    for number, size in enumerate(cuts):
        if number in gaps:
            cable.arriving.append(GONE)
        cable.arriving.append(data[at : at + size])
        at += size
    live, again, tally = logged(tmp_path, name, cable, monkeypatch)

    assert live == again
    assert min(at, len(data)) == tally.raw_bytes
    assert tally.logged_read == tally.decoded
    assert tally.raw_bytes >= tally.unfinished


@pytest.mark.parametrize("name", sorted({"prompt", "scpi"}))
@pytest.mark.parametrize("gaps", [(3,), (5,), (8,), (4, 5, 9), (7, 8, 9, 10)])
def test_the_same_as_live_where_the_meter_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, gaps: tuple[int, ...]
) -> None:
    """The plug is pulled within an answer; the replay holds the new conversation again too."""
    form = polled(find(name))
    assert form is not None
    left = shows()
    clock = HandClock()
    cable = Worn(clock, Responder(form, lambda: left.pop(0) if len(left) > 1 else left[0]))
    cable.gaps += gaps
    live, again, tally = logged(tmp_path, name, cable, monkeypatch, count=25)

    assert live == again
    assert 25 == len(live)
    assert len(gaps) == tally.gaps


def test_an_over_range_held_back_at_the_gap_is_not_believed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its bytes are in the log; it counts as a reading neither live nor later."""
    left = shows()[2:]
    clock = HandClock()
    cable = Worn(clock, Responder(SCPI, lambda: left.pop(0) if len(left) > 1 else left[0]))
    # asked: the set-up and its error queue, READ?, and the queue again: pulled there
    cable.gaps.append(3)
    live, again, _ = logged(tmp_path, "scpi", cable, monkeypatch, count=4)
    overs = sum("OL" in line for line in live)
    lines = (tmp_path / "a.rawlog").read_text(encoding="utf-8").splitlines()

    assert live == again
    assert 1 == overs
    assert ["aside", "aside", "read"] == [
        line.split("\t")[1] for line in lines if line.endswith("\tOL ohm")
    ]


def test_a_port_that_does_not_open_is_a_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another program took the port meanwhile: said, and written down, and waited out."""
    clock = HandClock()
    cable = Worn(clock)
    digits14 = find("digits14")
    frame = digits14.examples[1].raw
    cable.arriving += [frame, GONE, frame]
    whole = cable.open

    def open_later(url: str, baud: int, lines: Lines) -> Cable:
        if 100.5 < clock.time < 104.5:
            raise PortBusyError(f"{url}: another program holds the port")
        return whole(url, baud, lines)

    monkeypatch.setattr(cable, "open", open_later)
    clock.time = 100.4
    live, again, _ = logged(tmp_path, "digits14", cable, monkeypatch)
    with LogReader(tmp_path / "a.rawlog") as reader:
        kinds = [event.kind for event in reader.events() if isinstance(event, Happened)]

    assert live == again
    assert [Kind.UNPLUGGED, Kind.NOTE, Kind.PLUGGED, Kind.UNPLUGGED, Kind.END] == kinds
    assert "and another program holds its port: close that program" in capsys.readouterr().err
