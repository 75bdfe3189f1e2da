"""Replaying logs: the same answers as live, in every format; saved logs stay readable."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilmeter.errors import UnknownNameError
from coilmeter.sources import port as port_module
from coilmeter.sources.port import MeterStream, TimedReading, TimedReject
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import KEPT, Answers, Gap
from coilmeter.sources.rawlog_tap import Tap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Reading
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import ErrorEntry, polled
from coilmeter.wire.responder import Responder

DATA = Path(__file__).parent / "data"
START = datetime(2026, 11, 25, 9, 10, 39, tzinfo=UTC)
FORMATS = sorted(formats())

Told = list[tuple[str, str]]


def told(items: list[Reading | object]) -> Told:
    """Reduce answers to what a person would compare: display or reason."""
    return [
        ("read", item.display) if isinstance(item, Reading) else ("rejected", item.reason)  # type: ignore[attr-defined]
        for item in items
    ]


def replayed(replay: Replay) -> Told:
    """Go through a replay."""
    items: list[Reading | object] = []
    for event in replay.events():
        if isinstance(event, Answers):
            assert len(event.at) == len(event.items)
            items += event.items
    return told(items)


class HandClock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.time = 100.0

    def now(self) -> float:
        """Return the time as set."""
        return self.time

    def sleep(self, seconds: float) -> None:
        """Let the time pass at once."""
        self.time += seconds


@dataclass
class Wire:
    """A port made of pieces that are read one after the other, each with the time it takes.

    A meter that is asked answers what is written to it.
    """

    clock: HandClock
    pieces: list[tuple[float, bytes]] = field(default_factory=list)
    responder: Responder | None = None
    mute: bool = False

    def read(self, wait_s: float) -> bytes:
        """Give the next piece."""
        if not self.pieces:
            self.clock.time += wait_s
            return b""
        delay, data = self.pieces.pop(0)
        self.clock.time += delay
        return data

    def write(self, data: bytes) -> None:
        """Have the meter answer, a tenth of a second later."""
        if self.responder is not None:
            answer = self.responder.receive(data)
            if answer and not self.mute:
                self.pieces.append((0.1, answer))

    def has_lines(self) -> bool:
        """Tell that there are no control lines."""
        return False

    def close(self) -> None:
        """Let the port go."""


def logged(
    path: Path, form_name: str, wire: Wire, patch: pytest.MonkeyPatch, polls: int
) -> Told:
    """Log a wire as the command does, and give what the live source made of it."""
    form = find(form_name)
    clock = wire.clock
    tap = Tap(form, clock.now)
    items: list[Reading | object] = []
    patch.setattr(port_module, "Link", lambda *_, **__: wire)
    began = clock.now()
    head = LogHead(START, "socket://127.0.0.1:1", form_name)
    stream = MeterStream("socket://127.0.0.1:1", tap.format, clock, silent_after=math.inf)
    stream.unreadable_after = math.inf  # type: ignore[attr-defined]
    stream._health._unreadable_after = math.inf
    with RawLog(path, head) as log, stream:
        for _ in range(polls):
            arrived: list[TimedReading | TimedReject] = stream.poll()
            items += [
                item.reading if isinstance(item, TimedReading) else item.rejected
                for item in arrived
            ]
            for heard in tap.take(arrived):
                log.record(heard.at - began, heard.kind, heard.raw, heard.text)
        left = tap.forget()
        if left:
            log.record(clock.now() - began, Kind.PART, left, "the end")
    return told(items)


def example_display(name: str, value: float) -> Display:
    """Show a value on a range that the meters of a format have."""
    return Display(value, *((0.01, 220.0) if name == "block14" else (0.1, 400.0)))


def stream_of(name: str) -> bytes:
    """Bytes of a meter: the examples of a format, junk, and readings."""
    form = find(name)
    frames = [example.raw for example in form.examples]
    displays = [example_display(name, value) for value in (0.0, 171.3, 199.9)]
    frames += [form.encode(display) for display in displays]
    return b"".join([*frames, b"\x00\xffjunk\r\n", *frames[-4:]])


streaming = [name for name in FORMATS if polled(find(name)) is None]


@pytest.mark.parametrize("name", streaming)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(cuts=st.lists(st.integers(1, 60), min_size=1, max_size=200), start=st.integers(0, 20))
def test_the_same_as_live(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, cuts: list[int], start: int
) -> None:
    """However the bytes came, a log holds all, and its replay gives the live answers."""
    data = stream_of(name)[start:]
    pieces, at = [], 0
    for size in cuts:
        if at < len(data):
            pieces.append((0.1, data[at : at + size]))
            at += size
    path = tmp_path / "a.rawlog"
    path.unlink(missing_ok=True)
    wire = Wire(HandClock(), pieces)
    live = logged(path, name, wire, monkeypatch, len(pieces) + 1)
    replay = Replay([path])
    again = replayed(replay)
    tally = replay.tally

    assert live == again
    assert min(at, len(data)) == tally.raw_bytes
    assert tally.logged_read == tally.decoded
    assert tally.frames == tally.decoded + tally.rejected + tally.asides


def shows() -> list[Display]:
    """Give what a meter shows in turn, over-range in the middle."""
    over = Display(math.inf, 1e4, 40e6, overload=True)
    return (
        [Display(value, 0.1, 400.0) for value in (171.3, 171.4)]
        + [over, over]
        + [Display(98.7, 0.1, 400.0)] * 99
    )


@pytest.mark.parametrize("name", [name for name in FORMATS if name not in streaming])
@pytest.mark.parametrize("trouble", ["none", "error", "damage", "mute", "noise"])
def test_the_same_as_live_where_the_meter_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, trouble: str
) -> None:
    """The conversation is held again: what was not believed live is not believed now."""
    form = polled(find(name))
    assert form is not None
    left = shows()
    clock = HandClock()
    responder = Responder(form, lambda: left.pop(0) if len(left) > 1 else left[0])
    wire = Wire(clock, responder=responder)
    path = tmp_path / "a.rawlog"
    asked = 0
    answer = responder.receive

    def receive(data: bytes) -> bytes:
        nonlocal asked
        asked += 1
        reply = answer(data)
        if trouble == "error" and asked in {4, 9}:
            responder.errors.append(ErrorEntry(-222, "Data out of range"))
        if trouble == "damage" and asked == 5:
            return reply[:3] + b"\xff" + reply[3:]
        if trouble == "noise" and asked == 5:
            return reply + reply
        wire.mute = trouble == "mute" and asked in {5, 6, 7}
        return reply

    monkeypatch.setattr(responder, "receive", receive)
    live = logged(path, name, wire, monkeypatch, 600)
    replay = Replay([path])
    again = replayed(replay)

    assert live == again
    assert replay.tally.logged_read == replay.tally.decoded > 5
    assert any(kind == "read" and "OL" in text for kind, text in live) or trouble != "none"


def test_silence_of_a_year_costs_no_time(tmp_path: Path) -> None:
    """An asked meter that was silent for very long is not asked anew second by second."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "socket://127.0.0.1:1", "scpi")) as log:
        log.record(0.1, Kind.ASIDE, b'+0,"No error"\r\n', "")
        log.record(0.2, Kind.READ, b"+1.713E+02\r\n", "171.3 ohm")
        log.record(9e9, Kind.READ, b"+1.714E+02\r\n", "171.4 ohm")
        log.record(9e9 + 1, Kind.ASIDE, b'+0,"No error"\r\n', "")
    replay = Replay([path])

    assert ("read", "171.3 ohm") == replayed(replay)[0]
    assert 4 == replay.tally.frames


def test_another_format_is_tried_on_the_same_bytes(tmp_path: Path) -> None:
    """A log in the wrong format is not lost: its bytes are decoded as what they were."""
    path = tmp_path / "a.rawlog"
    frame = find("digits14").encode(Display(171.3, 0.1, 400.0))
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        for number in range(20):
            log.record(number / 10, Kind.REJECTED, frame[:9], "no number")
            log.record(number / 10 + 0.01, Kind.REJECTED, frame[9:], "no number")
    wrong, right = Replay([path]), Replay([path], find("digits14"))
    times = [at for event in right.events() if isinstance(event, Answers) for at in event.at]
    replayed(wrong)

    assert 0 == wrong.tally.decoded
    assert 20 == right.tally.decoded
    assert [pytest.approx(number / 10 + 0.01) for number in range(20)] == times


def test_readings_answered_to_one_format_decode_as_another(tmp_path: Path) -> None:
    """Bytes that were no answers are decoded as they stand, in a format that asks too."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        log.record(0.1, Kind.REJECTED, b"+1.713E+02\r\n+1.714E+02\r\n", "no unit")

    assert [("read", "171.3 ohm"), ("read", "171.4 ohm")] == replayed(
        Replay([path], find("scpi"))
    )


def test_a_format_that_is_not_known(tmp_path: Path) -> None:
    """A log of a format this release has not is refused with the names that it has."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "smoke signals")) as log:
        log.finish(0.0, "enough")

    with pytest.raises(UnknownNameError, match="smoke signals"):
        Replay([path])


def test_gaps_have_a_beginning_and_an_end(tmp_path: Path) -> None:
    """A gap lasts from the last byte to the next one, or to what ends it otherwise."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        log.record(1.0, Kind.READ, b"1 ohm\n2 ohm\n3 o", "")
        log.record(6.0, Kind.SILENT, text="no byte")
        log.record(7.5, Kind.READ, b"hm\n4 o", "")
        log.record(9.0, Kind.UNPLUGGED, text="pulled")
        log.record(20.0, Kind.READ, b"hm\n5 ohm\n", "")
        log.record(26.0, Kind.SILENT, text="no byte")
        log.record(27.0, Kind.UNPLUGGED, text="pulled again")
        log.finish(30.0, "enough")
    replay = Replay([path])
    gaps = [
        (event.kind, event.start, event.end)
        for event in replay.events()
        if isinstance(event, Gap)
    ]
    tally = replay.tally

    assert [
        (Kind.SILENT, 1.0, 7.5),
        (Kind.UNPLUGGED, 7.5, 20.0),
        (Kind.SILENT, 20.0, 27.0),
        (Kind.UNPLUGGED, 27.0, 30.0),
    ] == gaps
    assert 4 == tally.gaps
    assert 29.0 == tally.gaps_s
    # A frame goes on over a silence, and never over a pulled plug; after that the first line
    # may be what is left of another.
    assert 3 == tally.decoded
    assert 2 == tally.rejected
    assert 3 == tally.unfinished
    assert [0, 21] == [rejected.position for _, rejected in tally.first_rejected]
    assert 3.0 == tally.rate_hz


def test_only_the_first_of_many_are_kept(tmp_path: Path) -> None:
    """Memory stays flat however much is wrong; the counts are of all."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        for number in range(3 * KEPT):
            log.record(number, Kind.REJECTED, b"nonsense\n", "no number")
            log.record(number, Kind.UNPLUGGED, text="pulled")
    with path.open("ab") as file:
        file.write(b"damage\n" * 3 * KEPT)
    replay = Replay([path])
    replayed(replay)
    tally = replay.tally

    assert [3 * KEPT] * 3 == [tally.rejected, tally.gaps, tally.damages]
    assert [KEPT] * 3 == [
        len(kept) for kept in (tally.first_rejected, tally.first_gaps, tally.first_damages)
    ]
    assert [9 * number for number in range(KEPT)] == [
        rejected.position for _, rejected in tally.first_rejected
    ]


def test_a_log_without_a_record(tmp_path: Path) -> None:
    """A head alone is a log: nothing happened, and no rate can be told."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")):
        pass
    replay = Replay([path])

    assert [] == replayed(replay)
    assert replay.tally.rate_hz is None
    assert "" == replay.tally.ended


SAVED = {
    # name: records, raw bytes, decoded, rejected, asides, unfinished, gaps, end
    "version1-digits14": (12, 116, 7, 2, 0, 6, 1, "the port was lost"),
    "version1-plain": (10, 132, 7, 1, 0, 0, 1, "the readings asked for were taken"),
    "version1-scpi": (15, 190, 6, 2, 3, 0, 0, "the readings asked for were taken"),
    "version1-killed": (6, 68, 4, 1, 0, 3, 0, ""),
    "version2-unplugged": (18, 203, 14, 0, 0, 7, 1, "the readings asked for were taken"),
}
DISPLAYS = {
    "version1-digits14": "171.0 171.1 171.2 OL 171.3 171.4 171.5",
    "version1-plain": "212.4 212.5 OL 4.701 4.701 4.701 4.701",
    "version1-scpi": "212.3 212.4 OL 98.7 98.7 98.7",
    "version1-killed": "171.0 171.1 171.2 OL",
    "version2-unplugged": (
        "100.0 100.1 100.2 100.3 100.4 100.6 100.7 100.8 100.9 101.0 101.1 101.2 101.3 101.4"
    ),
}


@pytest.mark.parametrize("name", sorted(SAVED))
def test_saved_logs_stay_readable(name: str) -> None:
    """Logs that earlier releases wrote give for ever what they gave then.

    They were recorded by `coilmeter log` from loopback sockets: a torn first frame, noise
    and a plug pulled within a frame; a silence; a meter that is asked, over-range believed
    and refused; one whose program was killed within a line; and a plug pulled within a frame
    and put back.
    """
    replay = Replay([DATA / f"{name}.rawlog"])
    displays = [text.split()[0] for kind, text in replayed(replay) if kind == "read"]
    tally = replay.tally

    assert SAVED[name] == (
        tally.records,
        tally.raw_bytes,
        tally.decoded,
        tally.rejected,
        tally.asides,
        tally.unfinished,
        tally.gaps,
        tally.ended,
    )
    assert DISPLAYS[name].split() == displays
    assert ("killed" in name) == bool(tally.cut)
    assert tally.decoded == tally.logged_read


def test_every_saved_log_is_checked() -> None:
    """No saved file is left out."""
    assert sorted(SAVED) == sorted(path.stem for path in DATA.glob("*.rawlog"))
