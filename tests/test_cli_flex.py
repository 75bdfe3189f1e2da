"""`coilmeter flex --from`: saved flexings, in every shape, judged again."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from flex_logs import COIL, LOOSE, OL, flex, lines, log_of
from helpers import Ran, cli
from rawlog_files import START, recorded

from coilmeter.sources.rawlog import Kind, LogHead
from coilmeter.sources.rawlog_writer import RawLog
from coilmeter.sources.sheet import read_sheet
from coilmeter.values import Stability

SAVED = Path(__file__).parent / "data" / "flexing" / "version2-loose.rawlog"


def found_in(ran: Ran) -> dict[str, Any]:
    """Read the one flexing of a JSON document."""
    (found,) = json.loads(ran.out)["flexings"]
    return dict(found)


@pytest.fixture
def loose(tmp_path: Path) -> str:
    """Log a coil that is open twice."""
    return log_of(tmp_path / "loose.rawlog", *LOOSE)


def test_a_saved_flexing_says_what_it_ever_said() -> None:
    """A log that this version wrote on the simulated bench, kept: later ones must agree."""
    found = found_in(flex("--from", str(SAVED), "--meter", "handheld-4000", "--as", "json"))

    assert ("intermittent", 5) == (found["verdict"], found["dropouts"])
    assert 0.4 == pytest.approx(found["longest_s"], abs=0.01)
    assert 173.2 == found["median_ohm"]


def test_a_log_that_was_not_made_for_it(loose: str) -> None:
    """Any log will do, in every shape; the word is the first one."""
    table, markdown, page = (
        flex("--from", loose, *more) for more in ([], ["--as", "markdown"], ["--as", "html"])
    )

    assert {1} == {table.code, markdown.code, page.code}
    assert table.out.startswith("INTERMITTENT: a coil, the two ends\n2 drop-outs, the longest")
    assert re.search(r"^drop-outs +2$", table.out, re.MULTILINE)
    assert re.search(r"^longest drop-out +0\.40 s$", table.out, re.MULTILINE)
    assert "It means: a joint opens when it is moved: it will drop out." in table.out
    assert "Next: first hold the clips themselves still" in table.out
    assert markdown.out.startswith("## INTERMITTENT: a coil")
    assert "<html" in page.out
    assert "! stretches of bytes that were no frame: 1." in table.err


def test_csv_and_json_have_the_same_figures(loose: str) -> None:
    """One line, one object, SI units in the keys."""
    document = found_in(flex("--from", loose, "--as", "json"))
    (record,) = csv.DictReader(io.StringIO(flex("--from", loose, "--as", "csv").out))

    assert list(document) == list(record)
    assert document["verdict"] == record["verdict"]
    assert document["open_share"] == float(record["open_share"])
    assert document["dropouts"] == int(record["dropouts"])
    assert None is document["head"]
    assert "" == record["head"]


def test_the_csv_of_a_log_is_as_good_as_the_log(tmp_path: Path, loose: str) -> None:
    """What `replay --csv` (and `log --csv`) writes gives the same figures."""
    table = tmp_path / "loose.csv"
    cli("replay", loose, "--csv", str(table))
    from_log, from_csv = (
        found_in(flex("--from", each, "--as", "json")) for each in (loose, str(table))
    )

    assert from_log | {"source": ""} == from_csv | {"source": ""}


def test_the_parts_of_a_log_are_one_flexing(tmp_path: Path, loose: str) -> None:
    """A log that was split by size is given part by part."""
    path = tmp_path / "split.rawlog"
    with RawLog(path, LogHead(START, "/dev/ttyUSB0", "plain"), split_at=4096) as log:
        for at, text in lines(*LOOSE):
            log.record(at, Kind.READ, f"{text}\n".encode(), text)
        log.finish(16.0, "enough")
    words = [word for part in log.paths for word in ("--from", str(part))]
    whole, split = (
        found_in(flex("--from", loose, "--as", "json")),
        found_in(flex(*words, "--as", "json")),
    )

    assert len(log.paths) > 1
    assert whole["dropouts"] == split["dropouts"]


@pytest.mark.parametrize(
    ("notes", "words", "verdict"),
    [
        ([], [], Stability.UNDECIDED),
        ([], ["--long-ol", "lifted"], Stability.STEADY),
        ([], ["--long-ol", "open"], Stability.INTERMITTENT),
        ([(16.0, "lifted")], [], Stability.STEADY),
        ([(16.0, "still on")], [], Stability.INTERMITTENT),
        ([(16.0, "end")], [], Stability.STEADY),
        ([(99.0, "end")], [], Stability.STEADY),
    ],
)
def test_ol_at_the_end_of_a_log(
    tmp_path: Path, notes: list[tuple[float, str]], words: list[str], verdict: Stability
) -> None:
    """Undecided, unless the log, or whoever judges it, says what it was."""
    log = log_of(tmp_path / "a.rawlog", (COIL, 12.5), (OL, 5.0), notes=notes)
    ran = flex("--from", log, *words, "--as", "json")

    assert verdict == found_in(ran)["verdict"]
    assert int(verdict is not Stability.STEADY) == ran.code


def test_what_came_after_the_end_is_not_judged(tmp_path: Path) -> None:
    """It is said how much that was."""
    log = log_of(tmp_path / "a.rawlog", (COIL, 12.5), (OL, 10.0), ("8.0 ohm auto", 5.0))
    ran = flex("--from", log)

    assert re.search(r"! \d+ readings after it had ended were not judged", ran.err)
    assert "UNDECIDED: " in ran.out


def test_what_came_in_one_piece_with_the_last_reading(tmp_path: Path) -> None:
    """It is in the log of one that had ended, and is not judged; a spoilt note is none."""
    parts = ((COIL, 12.5), (OL, 0.5))
    ended = log_of(tmp_path / "a.rawlog", *parts, notes=[(13.0, "ended after 125")])
    spoilt = log_of(tmp_path / "b.rawlog", *parts, notes=[(13.0, "ended after x")])

    assert "steady" == found_in(flex("--from", ended, "--as", "json"))["verdict"]
    assert "undecided" == found_in(flex("--from", spoilt, "--as", "json"))["verdict"]
    assert "had ended" not in flex("--from", ended).err


def test_only_a_time_of_it(tmp_path: Path) -> None:
    """With --for the rest of a log is left."""
    log = log_of(tmp_path / "a.rawlog", *LOOSE, (OL, 1.0), (COIL, 20.0))
    found = found_in(flex("--from", log, "--for", "9s", "--as", "json"))

    assert 9.1 == pytest.approx(found["duration_s"], abs=0.2)


def test_kept_where_it_is_asked_for(tmp_path: Path, loose: str) -> None:
    """An old flexing can be added to the readings of a head, and counts in its grade."""
    sheet = tmp_path / "K-07.csv"
    words = ("--head", "K-07", "--kind", "two-channel-rp", "--coil", "2", "--keep", str(sheet))
    first, second = flex("--from", loose, *words), flex("--from", loose, *words)
    kept = read_sheet(sheet).rows
    graded = cli("judge", str(sheet))

    assert (1, 1) == (first.code, second.code)
    assert "coil 2 of head K-07, pin 3 and pin 4" in first.out
    assert "The flexing is kept in" in first.err
    assert ["171.3 ohm"] * 2 == [row.reading.text for row in kept]
    assert [("3", "4")] * 2 == [row.pins for row in kept]
    assert "Unstable: coil 2 (intermittent when moved)" in graded.out


def test_the_file_of_another_head_is_left_alone(tmp_path: Path, loose: str) -> None:
    """The result is not mixed into it."""
    sheet = tmp_path / "A.csv"
    flex("--from", loose, "--head", "A", "--coil", "1", "--keep", str(sheet))
    before = sheet.read_bytes()
    ran = flex("--from", loose, "--head", "B", "--coil", "1", "--keep", str(sheet))

    assert 2 == ran.code
    assert "holds head 'A', and not 'B'" in ran.err
    assert before == sheet.read_bytes()


def test_the_kind_that_the_file_names_is_the_kind(tmp_path: Path, loose: str) -> None:
    """It need not be said again, and another one is refused."""
    sheet = str(tmp_path / "A.csv")
    words = ("--from", loose, "--head", "A", "--coil", "1", "--keep", sheet)
    flex(*words, "--kind", "two-channel-rp")
    again = flex(*words)
    other = flex(*words, "--kind", "two-erase")

    assert "coil 1 of head A, pin 1 and pin 2" in again.out
    assert 2 == other.code
    assert "holds head 'A' as kind 'two-channel-rp', and not 'two-erase'" in other.err


def test_a_picture(tmp_path: Path, loose: str) -> None:
    """As SVG and as PNG."""
    for name, start in (("a.svg", b"<?xml"), ("a.png", b"\x89PNG")):
        path = tmp_path / name
        flex("--from", loose, "--plot", str(path))

        assert path.read_bytes().startswith(start)


def test_nothing_was_flexed(tmp_path: Path) -> None:
    """A log without a contact of some seconds is told apart from a steady coil."""
    log = log_of(tmp_path / "a.rawlog", (OL, 20.0), (COIL, 1.0))
    ran = flex("--from", log)

    assert 2 == ran.code
    assert "210 readings, and no contact of some seconds among them" in ran.err


def test_a_damaged_log_says_so(loose: str) -> None:
    """What is readable is judged, and what is not is counted."""
    text = Path(loose).read_text().splitlines()
    text[20] = "what is this"
    Path(loose).write_text("\n".join(text) + "\n")

    assert "! damaged lines of the log that were passed over: 1." in flex("--from", loose).err


def test_a_log_taken_for_another_format(tmp_path: Path, loose: str) -> None:
    """The format named on the command line comes before that of the log."""
    ran = flex("--from", loose, "--format", "digits14")

    assert 2 == ran.code
    assert "0 readings, and no contact" in ran.err
    assert recorded(tmp_path / "b.rawlog", (1.0, COIL))
