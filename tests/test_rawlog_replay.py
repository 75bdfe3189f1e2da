"""Replaying logs: the same answers as live in every format, gaps, and other formats tried."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from cables import HandClock
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rawlog_live import FORMATS, START, Wire, logged, replayed, shows, stream_of, streaming

from coilmeter.errors import UnknownNameError
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_tally import KEPT, Answers, Gap
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.wire import find
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import ErrorEntry, polled
from coilmeter.wire.responder import Responder


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
