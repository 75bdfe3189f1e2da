"""`coilmeter replay`: what is printed in each shape, for sound logs and for damaged ones."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

from helpers import cli
from rawlog_files import DATA, START, recorded, replay
from walk_processes import run

from coilmeter.cli.logging_rows import csv_line, reading_cells, stamp
from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.values import Function, Reading
from coilmeter.wire import find
from coilmeter.wire.contract import Display

PLAIN = str(DATA / "version1-plain.rawlog")
DIGITS14 = str(DATA / "version1-digits14.rawlog")
KILLED = str(DATA / "version1-killed.rawlog")


def entries(text: str) -> dict[str, str]:
    """Read the lines of an account as names and texts."""
    lines = [line.partition(" ") for line in text.splitlines() if not line.startswith(" ")]
    return {name: rest.strip() for name, _, rest in lines}


def test_the_account_of_a_log() -> None:
    """Frames read, decoded, rejected, gaps, duration, rate, and the first of what is wrong."""
    ran = replay(PLAIN)
    found = entries(ran.out)

    assert 0 == ran.code
    assert "" == ran.err
    assert {
        "begun": "2026-11-25T09:30:35.545Z",
        "format": "plain",
        "lasted": "5.9 s",
        "bytes": "132",
        "decoded": "7",
        "rejected": "1",
        "rate": "11.6 readings a second outside of gaps",
        "gaps": "1, 5.3 s together",
        "ended": "the readings asked for were taken",
        "frames": "read  8",
    }.items() <= found.items()
    assert "  rejected at 0.001 s, byte 0: the first line after opening" in ran.out
    assert "  silent from 0.301 s to 5.602 s (5.3 s): socket://127.0.0.1" in ran.out


def test_the_account_in_markdown() -> None:
    """The same as tables, with nothing that Markdown would take for its own."""
    ran = replay(DIGITS14, "--as", "markdown", "--settle")

    assert 0 == ran.code
    assert "| settled at | seconds | value | scatter | count |\n| --- | --- | ---" in ran.out
    assert "\n| decoded | 7 |\n" in ran.out
    assert "\n- rejected at 0.101 s, byte 0: byte 0 is 20, expected" in ran.out


def test_the_account_as_a_page() -> None:
    """The same words in a table with headers; settled values in one of their own."""
    page = replay(DIGITS14, "--as", "html")
    settled = replay(PLAIN, "--as", "html", "--settle")

    assert 0 == page.code == settled.code
    assert page.out.startswith("<!DOCTYPE html>")
    assert '<th scope="row">decoded</th><td>7</td>' in page.out
    assert "rejected at 0.101 s, byte 0: byte 0 is 20, expected" in page.out
    assert "<h1>Settled values</h1>" in settled.out
    assert "<p>decoded: 7</p>" in settled.out


def test_markdown_of_a_log_without_trouble(tmp_path: Path) -> None:
    """No list stands there where there is nothing to list."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "digits14")) as log:
        log.record(0.0, Kind.READ, bytes(find("digits14").examples[0].raw), "")
    ran = replay(str(path), "--as", "markdown")

    assert 0 == ran.code
    assert "\n- " not in ran.out
    assert "rate" not in ran.out
    assert "not closed: killed, cut, or still being written" in ran.out


def test_readings_as_csv() -> None:
    """Readings alone on standard output, the account beside them."""
    ran = replay(PLAIN, "--as", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))

    assert 0 == ran.code
    assert ["212.4", "212.5", "", "4701.0", "4701.0", "4701.0", "4701.0"] == [
        row["value"] for row in rows
    ]
    assert {
        "time": "2026-11-25T09:30:35.645Z",
        "at_s": "0.100907",
        "function": "resistance",
        "value": "212.4",
        "unit": "ohm",
        "overload": "0",
        "resolution": "0.1",
        "full_scale": "",
        "flags": "auto",
        "display": "212.4 ohm",
    } == rows[0]
    assert ("1", "40000000.0") == (rows[2]["overload"], rows[2]["full_scale"])
    assert "decoded: 7\n" in ran.err


def test_readings_as_json() -> None:
    """One document with SI numbers, the unit in their keys, null where nothing is known."""
    ran = replay(PLAIN, "--as", "json")
    document = json.loads(ran.out)

    assert 0 == ran.code
    assert "" == ran.err
    assert "coilmeter/1" == document["schema"]
    assert {
        "time": "2026-11-25T09:30:35.645Z",
        "at_s": 0.100907,
        "function": "resistance",
        "unit": "ohm",
        "value_ohm": 212.4,
        "overload": False,
        "resolution_ohm": 0.1,
        "full_scale_ohm": None,
        "flags": ["auto"],
        "display": "212.4 ohm",
    } == document["readings"][0]
    assert 7 == len(document["readings"])
    account = document["replay"]
    assert (8, 7, 1, 0) == tuple(
        account[key] for key in ("frames", "decoded", "rejected", "asides")
    )
    assert [{"kind": "silent"}] == [{"kind": gap["kind"]} for gap in account["first_gaps"]]
    assert 0 == account["first_rejected"][0]["position"]
    assert account["first_rejected"][0]["bytes"].startswith("3231322E")


def test_a_killed_log_is_read_and_the_cut_is_told() -> None:
    """What a kill left is no fault of the log: 0, and the last words are shown."""
    runs = [replay(KILLED, "--as", shape) for shape in ("table", "markdown", "csv", "json")]
    said = [runs[0].out, runs[1].out, runs[2].err, runs[3].err]

    assert [0] * 4 == [ran.code for ran in runs]
    assert all("the last line has no end and was passed over" in text for text in said)
    assert all("6 records before it are whole" in text.replace("\\", "") for text in said)


def test_damage_is_told_and_ends_with_1(tmp_path: Path) -> None:
    """A changed file: what is damaged is named by line, and a script notices."""
    path = tmp_path / "a.rawlog"
    recorded(path, *[(number / 10, "171.3 ohm") for number in range(30)])
    data = path.read_bytes().replace(b"\tread\t", b"\tread ", 12)
    path.write_bytes(data)
    runs = [replay(str(path), "--as", shape) for shape in ("table", "json")]

    assert [1, 1] == [ran.code for ran in runs]
    assert "line 9: saw '0.000000?read 3137312E33" in runs[0].out
    assert "and 2 more damaged lines" in runs[0].out
    assert 12 == json.loads(runs[1].out)["replay"]["damaged_lines"]
    assert "line 9: saw" in runs[1].err


def test_another_format_by_name() -> None:
    """Taken for another format, nothing is read: said, with what to do, and 1."""
    ran = replay(PLAIN, "--format", "digits14")

    assert 1 == ran.code
    assert "format       digits14 (logged as plain)" in ran.out
    assert "! not one reading as digits14" in ran.err
    assert "logged " not in entries(ran.out)


def test_what_the_writer_took_for_readings_is_compared(tmp_path: Path) -> None:
    """Where decoding gives other counts than were logged, the account says so."""
    path = tmp_path / "a.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain")) as log:
        log.record(0.1, Kind.READ, b"171.3 ohm\n", "171.3 ohm")
        log.record(0.2, Kind.READ, b"171.4 ohm\n", "171.4 ohm")

    assert "2 readings when it was written" == entries(replay(str(path)).out)["logged"]


def test_asides_are_counted_by_themselves() -> None:
    """What a meter says besides readings is neither decoded nor rejected."""
    ran = replay(str(DATA / "version1-scpi.rawlog"))

    assert "3 (no readings of the main display)" == entries(ran.out)["asides"]


def test_other_files_are_refused(tmp_path: Path) -> None:
    """As a process, with files of other programs: 2, in words, and no traceback."""
    (tmp_path / "empty").write_bytes(b"")
    (tmp_path / "binary").write_bytes(bytes(range(256)) * 40)
    (tmp_path / "notes").write_text("read me\n", encoding="utf-8")
    runs = [cli("replay", str(tmp_path / name)) for name in ("empty", "binary", "notes", "no")]
    process = run(tmp_path, "replay", "binary")

    assert [2] * 5 == [ran.code for ran in [*runs, process]]
    assert "the file is empty" in runs[0].err
    assert "no raw log of this program" in process.err
    assert "Traceback" not in process.err


def test_hostile_text_stays_harmless(tmp_path: Path) -> None:
    """A log from elsewhere cannot move the cursor, recolour, or run in a spreadsheet."""
    path = tmp_path / "a.rawlog"
    recorded(path, (0.1, "171.3 ohm"))
    text = path.read_text(encoding="utf-8")
    text = text.replace("/dev/ttyUSB0", "\x1b[31m| <b>$x$").replace("enough", "\x1b]0;x\x07")
    path.write_text(text, encoding="utf-8")
    shapes = ("table", "markdown", "csv", "json")
    runs = [replay(str(path), "--as", shape) for shape in shapes]
    plotted = replay(str(path), "--plot", str(tmp_path / "a.svg"))
    cells = reading_cells(START, 0.0, Reading(Function.OTHER, None, "", display="=1+1\x1b[2J"))

    assert [0] * 5 == [ran.code for ran in [*runs, plotted]]
    assert not any("\x1b" in ran.out + ran.err for ran in runs)
    assert "\\| \\<b\\>" in runs[1].out
    assert "<b>" not in (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert "'=1+1?[2J\n" == csv_line(cells)[-12:].rpartition(",")[2]


def test_a_time_beyond_the_calendar_is_left_out() -> None:
    """A log that was changed may claim any time: then there is none, and no traceback."""
    assert "" == stamp(START, 9_999_999_999.0 * 100)
    assert "2026-11-25T09:10:40.623Z" == stamp(START, 1.5)


def test_a_log_replayed_as_any_of_its_own_meters(tmp_path: Path) -> None:
    """A reading of another unit has that in its keys; one without a unit has none."""
    path = recorded(tmp_path / "a.rawlog", (0.1, "1.5 V dc"), (0.2, "4.7 uF"))
    readings: list[dict[str, Any]] = json.loads(replay(path, "--as", "json").out)["readings"]

    assert ["value_volt", "value_farad"] == [
        next(key for key in reading if key.startswith("value")) for reading in readings
    ]


def test_parts_are_replayed_as_one(tmp_path: Path) -> None:
    """The parts of a log, given in order, make one account; the last says how it ended."""
    with RawLog(tmp_path / "a.rawlog", LogHead(START, "p", "digits14"), split_at=4096) as log:
        frame = find("digits14").encode(Display(171.3, 0.1, 400.0))
        for number in range(200):
            log.record(number / 10, Kind.READ, frame, "171.3 ohm")
        log.finish(20.0, "enough")
    parts = [str(path) for path in log.paths]
    whole, half = replay(*parts), replay(parts[0])
    wrong = replay(parts[1], parts[0])

    assert "200" == entries(whole.out)["decoded"]
    assert "enough" == entries(whole.out)["ended"]
    assert "goes on in a-2.rawlog" == entries(half.out)["ended"]
    assert 2 == wrong.code
    assert "give the parts of one log, in order" in wrong.err
