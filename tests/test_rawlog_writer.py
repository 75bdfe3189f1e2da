"""Writing a raw log: never over another file, split by size, full disks, what is flushed."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import errno
import os
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from coilmeter.errors import InputError, StoreError
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_file import SYNC_EVERY_S, GrowingFile
from coilmeter.sources.rawlog_reader import LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.rawlog_writer import SMALLEST_PART, RawLog

HEAD = LogHead(datetime(2026, 11, 25, 9, 10, 39, tzinfo=UTC), "/dev/ttyUSB0", "plain")


def line_of(number: int) -> bytes:
    """Bytes of a meter that differ from each other."""
    return f"{number} ohm\n".encode()


def filled(path: Path, count: int, split_at: int | None = None) -> RawLog:
    """Write a log of so many readings, and close it."""
    with RawLog(path, HEAD, split_at=split_at) as log:
        for number in range(count):
            log.record(number / 10, Kind.READ, line_of(number), "a reading")
        log.finish(count / 10, "enough")
    return log


def stream_of(*paths: Path) -> bytes:
    """Bytes of the meter in a log, as its records have them."""
    data = b""
    for path in paths:
        with LogReader(path) as reader:
            data += b"".join(getattr(event, "data", b"") for event in reader.events())
    return data


@pytest.mark.parametrize("content", [b"", b"someone's notes\n"])
def test_no_file_is_written_over(tmp_path: Path, content: bytes) -> None:
    """A file that is there stays as it is, an empty one too."""
    path = tmp_path / "a.rawlog"
    path.write_bytes(content)

    with pytest.raises(StoreError, match="no raw log is ever written over") as caught:
        RawLog(path, HEAD)

    assert 4 == caught.value.exit_code
    assert content == path.read_bytes()


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A log that cannot be made is refused in words."""
    with pytest.raises(StoreError, match="the raw log cannot be made"):
        RawLog(tmp_path / "nowhere" / "a.rawlog", HEAD)


def test_split_by_size_without_losing_a_byte(tmp_path: Path) -> None:
    """Parts keep below the size, follow each other, and hold everything in order."""
    path = tmp_path / "a.rawlog"
    log = filled(path, 500, SMALLEST_PART)
    replay = Replay(log.paths)
    list(replay.events())

    assert ["a.rawlog", "a-2.rawlog", "a-3.rawlog"] == [each.name for each in log.paths[:3]]
    assert len(log.paths) > 3
    # The line that says where the log goes on comes on top.
    assert all(each.stat().st_size <= SMALLEST_PART + 60 for each in log.paths)
    assert b"".join(map(line_of, range(500))) == stream_of(*log.paths)
    assert b"\tend\t\tgoes on in a-2.rawlog\n" in path.read_bytes()
    assert 499 == replay.tally.decoded
    assert 1 == replay.tally.rejected
    assert 49.9 == pytest.approx(replay.tally.lasted_s, abs=0.2)
    assert "enough" == replay.tally.ended


def test_a_part_never_takes_the_place_of_another_file(tmp_path: Path) -> None:
    """Names that are taken are passed over, and the log says which it took."""
    (tmp_path / "a-2.rawlog").write_bytes(b"someone's notes\n")
    log = filled(tmp_path / "a.rawlog", 150, SMALLEST_PART)

    assert b"someone's notes\n" == (tmp_path / "a-2.rawlog").read_bytes()
    assert "a-3.rawlog" == log.paths[1].name
    assert b"goes on in a-3.rawlog\n" in log.paths[0].read_bytes()
    assert b"".join(map(line_of, range(150))) == stream_of(*log.paths)


def test_a_size_too_small_is_refused(tmp_path: Path) -> None:
    """A part must hold more than its head."""
    with pytest.raises(ValueError, match="cannot be split at 100 bytes"):
        RawLog(tmp_path / "a.rawlog", HEAD, split_at=100)

    assert [] == list(tmp_path.iterdir())


def test_parts_must_follow_each_other(tmp_path: Path) -> None:
    """Parts in another order, or of another log, are refused."""
    log = filled(tmp_path / "a.rawlog", 200, SMALLEST_PART)
    other = filled(tmp_path / "b.rawlog", 3)
    first, second, third = log.paths[:3]

    for paths in ([second, first], [first, third], [first, other.paths[0]], [first, first]):
        with pytest.raises(InputError, match=r"part \d of the log begun .*, expected part \d"):
            Replay(paths)


def test_a_later_part_by_itself(tmp_path: Path) -> None:
    """One part is a log: its first frame is whole, and times go on from the first part."""
    log = filled(tmp_path / "a.rawlog", 200, SMALLEST_PART)
    replay = Replay(log.paths[1:2])
    first = next(iter(replay.events()))

    assert 0 == replay.tally.rejected
    assert getattr(first, "at", [0.0])[0] > 5.0


class Choking:
    """A file whose disk is full after so many bytes more; it takes the half of a line."""

    def __init__(self, file: Any, room: int, *, frozen: bool = False) -> None:
        self._file = file
        self._room = room
        self._frozen = frozen

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, data: memoryview) -> int:
        """Write as much as there is room for."""
        if not self._room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        taken = int(self._file.write(data[: self._room]))
        self._room -= taken
        return taken

    def truncate(self, size: int) -> None:
        """Cut the file, unless the disk takes no change at all."""
        if self._frozen:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        self._file.truncate(size)


@pytest.mark.parametrize("frozen", [False, True])
def test_a_disk_that_becomes_full(tmp_path: Path, *, frozen: bool) -> None:
    """The error says that all before is kept, and it is, even if half a line stays behind."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, HEAD) as log:
        log.record(0.1, Kind.READ, line_of(1), "a reading")
        file: Any = log._file
        file._file = Choking(file._file, 25, frozen=frozen)
        with pytest.raises(StoreError, match="No space left on device") as caught:
            log.record(0.2, Kind.READ, line_of(2), "a reading")
    data = path.read_bytes()

    assert 4 == caught.value.exit_code
    assert "all 8 lines before are in it" in caught.value.message
    assert 1 == log.records
    assert line_of(1) == stream_of(path)
    assert frozen != data.endswith(b"\n")


def test_space_that_becomes_free_again(tmp_path: Path) -> None:
    """After a line was refused the next one stands on a line of its own."""
    file = GrowingFile(tmp_path / "a.txt", "list")
    inner: Any = file._file
    file.append(b"one\n")
    file._file = Choking(inner, 2)  # type: ignore[assignment]
    with pytest.raises(StoreError):
        file.append(b"two\n")
    file._file = inner
    file.append(b"three\n")
    file.close()

    assert b"one\nthree\n" == (tmp_path / "a.txt").read_bytes()


def test_a_head_that_does_not_fit_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A log that could not even be begun is not left behind to be in the way."""
    monkeypatch.setattr(os, "fsync", failing_fsync)

    with pytest.raises(StoreError, match="Input/output error"):
        RawLog(tmp_path / "a.rawlog", HEAD)

    assert [] == list(tmp_path.iterdir())


def failing_fsync(_: int) -> None:
    """Fail as a disk does that was pulled."""
    raise OSError(errno.EIO, os.strerror(errno.EIO))


def counted_fsync(calls: list[int]) -> Callable[[int], None]:
    """Count the flushes."""
    return calls.append


def test_flushed_to_the_disk_once_in_a_while(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not with every record, but so often that a power cut costs a second and no more."""
    now = 100.0
    calls: list[int] = []
    monkeypatch.setattr(time, "monotonic", lambda: now)
    monkeypatch.setattr(os, "fsync", counted_fsync(calls))
    with RawLog(tmp_path / "a.rawlog", HEAD) as log:
        begun = len(calls)
        log.record(0.0, Kind.READ, b"1", "")
        log.tick()
        early = len(calls)
        now += SYNC_EVERY_S
        log.tick()
        late = len(calls)
        now += SYNC_EVERY_S
        log.tick()
        nothing_new = len(calls)
        log.record(0.0, Kind.READ, b"2", "")
        with_record = len(calls)
        log.finish(1.0, "enough")

    # At first the folder too, which holds the name.
    assert [2, 2, 3, 3, 4, 5] == [begun, early, late, nothing_new, with_record, len(calls)]
