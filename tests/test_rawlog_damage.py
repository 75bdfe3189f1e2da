"""Raw logs that were cut, damaged or never were logs: an account, and never an error."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rawlog_files import HEAD, SMALL, read, written

from coilmeter.errors import InputError
from coilmeter.sources import rawlog_reader
from coilmeter.sources.rawlog import COLUMNS, Kind, record_line

START_LINES = b"coilmeter raw log, version 1\nstart: 2026-11-25T09:10"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(junk=st.binary(max_size=400))
def test_any_bytes_behind_a_head_are_damage_or_records(tmp_path: Path, junk: bytes) -> None:
    """Whatever follows the head, reading ends with an account of it and never an error."""
    path = tmp_path / "junk.rawlog"
    path.write_bytes(HEAD.text().encode() + junk)
    *_, damages, reader = read(path)

    assert junk.count(b"\n") == reader.records + len(damages)
    assert junk.rpartition(b"\n")[2] == reader.cut


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(junk=st.binary(max_size=200))
def test_any_bytes_are_a_log_or_refused(tmp_path: Path, junk: bytes) -> None:
    """A file of any bytes is refused in words, unless it happens to be a log."""
    path = tmp_path / "junk.rawlog"
    path.write_bytes(junk)

    with pytest.raises(InputError, match=r"junk\.rawlog: "):
        read(path)


@pytest.mark.parametrize("times", [1, 60], ids=["one line at a time", "in one go"])
def test_cut_at_every_byte(tmp_path: Path, times: int) -> None:
    """Cut anywhere, all records before the cut are read, and the rest is reported."""
    whole = written(tmp_path / "whole.rawlog", *SMALL, *[SMALL[1]] * times).read_bytes()
    head = HEAD.text().encode()
    path = tmp_path / "cut.rawlog"
    for length in range(len(head), len(whole) + 1):
        path.write_bytes(whole[:length])
        data, _, _, damages, reader = read(path)
        lines = whole[len(head) : length].split(b"\n")
        raw = b"".join(
            bytes.fromhex(line.split(b"\t")[2].decode("ascii")) for line in lines[:-1]
        )

        assert [] == damages
        assert len(lines) - 1 == reader.records
        assert raw == data
        assert lines[-1] == reader.cut


def test_cut_within_the_head(tmp_path: Path) -> None:
    """Cut before the first record, the message says that nothing was recorded."""
    head = HEAD.text().encode()
    path = tmp_path / "cut.rawlog"
    for length in range(1, len(head)):
        path.write_bytes(head[:length])

        with pytest.raises(InputError, match="cut within its head: nothing was recorded"):
            read(path)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "the file is empty"),
        (
            b"coil,reading\n1,171.3 ohm\n",
            r"begins with 'coil,reading'.*expected 'coilmeter raw",
        ),
        (b"\x7fELF\x02\x01\x01\x00" + bytes(9000), "no raw log of this program"),
        (
            b"coilmeter raw log, version 3\n",
            "version '3', and this program reads version 1 and 2",
        ),
        (
            b"coilmeter raw log, version 12",
            "version '12', and this program reads version 1 and 2",
        ),
        (
            b"coilmeter raw log, version 1\n" + b"a: b\n" * 99,
            "head does not end within 64 lines",
        ),
        (b"coilmeter raw log, version 1\nseconds\tkind\tbytes\ttext\n", "says '' as the start"),
        (
            START_LINES + b":39\nport: a\nformat: b\n" + COLUMNS.encode() + b"\n",
            "says '2026-11-25T09:10:39' as the start",
        ),
        (
            START_LINES + b":39Z\n" + COLUMNS.encode() + b"\n",
            "does not say the port and the format",
        ),
    ],
)
def test_files_of_other_kinds_are_refused(tmp_path: Path, data: bytes, message: str) -> None:
    """The message says what was seen, and ends with what to do next."""
    path = tmp_path / "other"
    path.write_bytes(data)

    with pytest.raises(InputError, match=message) as caught:
        read(path)

    assert 2 == caught.value.exit_code
    assert caught.value.hint


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    """A missing file and a folder are refused in words."""
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path / "missing")
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path)


@pytest.mark.parametrize(
    "line",
    [
        "",
        "nonsense",
        "0.3\tread\t41\tfive decimals too few",
        "0.300000\tread\t4\thalf a byte",
        "0.300000\tread\t4g\tno hex",
        "0.300000\tread\taa\tsmall letters",
        "-0.300000\tread\t41\tbefore the start",
        "nan\tread\t41\tno number",
        "0.300000\tsung\t41\tno such kind",
        "0.300000\tnote\t41\ta note with bytes",
        "0.300000\tread\t41",
        "0.300000\tread\t41\ttoo\tmany",
        "99999999999.000000\tread\t41\ttoo late",
    ],
)
def test_a_damaged_line_is_told_with_its_number(tmp_path: Path, line: str) -> None:
    """One odd line is reported, and costs no other."""
    path = written(tmp_path / "a.rawlog", *SMALL)
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([*lines[:9], line, *lines[9:]]) + "\n", encoding="utf-8")
    data, _, _, (damage,), reader = read(path)

    assert 10 == damage.line
    assert str(damage).startswith(f"line 10: saw {line.replace(chr(9), '?')!r}")
    assert 5 == reader.records
    assert b"".join(raw for _, _, raw, _ in SMALL) == data


@pytest.mark.parametrize("more", [0, 40])
def test_a_clock_that_goes_back_is_told_and_the_bytes_are_kept(
    tmp_path: Path, more: int
) -> None:
    """Times of a changed file that go back are reported; nothing measured is lost."""
    path = written(tmp_path / "a.rawlog", *[SMALL[1]] * more)
    with path.open("ab") as file:
        file.write(record_line(7.0, Kind.READ, b"A", ""))
        file.write(record_line(3.0, Kind.READ, b"B", ""))
        file.write(record_line(8.0, Kind.READ, b"C", ""))
    data, at, _, (damage,), _ = read(path)

    assert data.endswith(b"ABC")
    assert [7.0, 7.0, 8.0] == at[-3:]
    assert 9 + more == damage.line
    assert "3.000000 s after 7.000000 s" == damage.seen


@pytest.mark.parametrize("where", ["first", "later", "last"])
def test_a_line_without_end_takes_no_memory(tmp_path: Path, where: str) -> None:
    """A line of a megabyte is one damaged line, wherever the blocks end."""
    block = rawlog_reader._BLOCK
    long = b"x" * (4 * block)
    good = record_line(1.0, Kind.READ, b"A", "")
    path = written(tmp_path / "a.rawlog")
    lines = {
        "first": long + b"\n" + good,
        "later": good + long + b"\n" + good,
        "last": good + long,
    }
    path.write_bytes(path.read_bytes() + lines[where])
    data, _, _, (damage,), reader = read(path)

    assert b"A" * lines[where].count(good) == data
    assert {"first": 8, "later": 9, "last": 9}[where] == damage.line
    assert "too long" in damage.seen
    assert b"" == reader.cut


def test_a_long_line_within_one_block(tmp_path: Path) -> None:
    """The same where the whole line is read at once."""
    path = written(tmp_path / "a.rawlog", SMALL[0])
    path.write_bytes(path.read_bytes() + b"y" * 70_000 + b"\n")
    *_, damages, reader = read(path)

    assert [9] == [damage.line for damage in damages]
    assert 1 == reader.records


def test_a_disk_that_fails_while_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a disk cannot give is said so, and no traceback."""
    path = written(tmp_path / "a.rawlog", *SMALL)
    whole = path.read_bytes()

    class Failing:
        """A file on such a disk."""

        def __init__(self, *, allowed: bool) -> None:
            self._file = io.BytesIO(whole)
            self._allowed = allowed

        def readline(self, size: int) -> bytes:
            """Read a line of the head."""
            if not self._allowed:
                raise OSError(5, "Input/output error")
            return self._file.readline(size)

        def read(self, _: int) -> bytes:
            """Fail."""
            raise OSError(5, "Input/output error")

        def close(self) -> None:
            """Let the file go."""
            self._file.close()

    for allowed in (False, True):
        with monkeypatch.context() as patch:
            patch.setattr(Path, "open", lambda *_, allowed=allowed: Failing(allowed=allowed))

            with pytest.raises(InputError, match="Input/output error"):
                read(path)
