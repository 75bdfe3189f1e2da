"""The journal of cases: what is in it stays, whatever happens, and counts."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from walk_processes import surroundings

from coilmeter.compute.chain_model import complaint
from coilmeter.errors import InputError, StoreBusyError, StoreError
from coilmeter.sources import chain_cases
from coilmeter.sources.chain_cases import Journal
from coilmeter.sources.lock import FileLock
from coilmeter.values.chains import Outcome, Seen

LOOKED = Seen("look", Outcome.PASS, "3", "by eye")


def journal(folder: Path) -> Journal:
    """Read the journal of a folder."""
    return Journal(folder / "data" / "cases.jsonl")


def filled(folder: Path) -> Journal:
    """Keep one open case and one closed one."""
    kept = journal(folder)
    case = kept.open("tape-echo", "playback", "3")
    kept.saw(case, complaint("3"))
    kept.saw(case, LOOKED)
    kept.cannot(case, "scope")
    other = kept.open("other", "erase", "1")
    kept.close(other, ("contact", "cable-plug"))
    return kept


def test_a_case_comes_back_as_it_was(tmp_path: Path) -> None:
    """Evidence, its order, what cannot be had, outcome and times."""
    kept = filled(tmp_path)

    again = journal(tmp_path)

    assert kept.cases == again.cases
    assert [] == again.troubles
    case = again.cases["tape-echo"]
    assert ["complaint=fail", "look=pass"] == [str(each) for each in case.seen]
    assert "by eye" == case.seen[1].source
    assert (["scope"], "") == (case.cannot, case.closed)
    assert ("contact", "cable-plug") == again.cases["other"].links
    assert again.cases["other"].closed.endswith("+00:00")


def test_a_file_that_is_not_there_is_no_trouble(tmp_path: Path) -> None:
    """Reading makes nothing; the first case makes file and folder."""
    kept = journal(tmp_path)

    assert {} == kept.cases
    assert not (tmp_path / "data").exists()
    kept.open("one", "erase", "1")
    assert ["one"] == list(journal(tmp_path).cases)


def test_taking_back_takes_the_last_of_its_like(tmp_path: Path) -> None:
    """Withdrawn evidence is out, and the order of the rest stays."""
    kept = filled(tmp_path)
    case = kept.cases["tape-echo"]
    kept.saw(case, Seen("hiss", Outcome.FAIL, "3"))
    kept.saw(case, LOOKED)

    kept.withdrew(case, LOOKED)
    kept.cannot(case, "scope", after_all=True)

    again = journal(tmp_path).cases["tape-echo"]
    assert ["complaint", "look", "hiss"] == [each.name for each in again.seen]
    assert [] == again.cannot


def test_names_are_found_that_nobody_has(tmp_path: Path) -> None:
    """The fault and the track, then numbered; a name twice is refused."""
    kept = journal(tmp_path)
    names = []
    for _ in range(3):
        names.append(kept.new_name("erase", "1"))
        kept.open(names[-1], "erase", "1")

    assert ["erase-1", "erase-1-2", "erase-1-3"] == names
    with pytest.raises(InputError, match="there is one of that name"):
        kept.open("erase-1", "erase", "1")


def test_a_closed_case_stays_closed(tmp_path: Path) -> None:
    """Closing twice is refused."""
    kept = filled(tmp_path)

    with pytest.raises(InputError, match="closed on"):
        kept.close(kept.cases["other"], ())


def test_closed_cases_are_counted(tmp_path: Path) -> None:
    """Each counts once, in parts where it was several links; nothing broken counts nothing."""
    kept = filled(tmp_path)
    for name, links in (("a", ("contact",)), ("b", ()), ("c", ("contact",))):
        kept.close(kept.open(name, "erase", "1"), links)
    kept.close(kept.open("d", "playback", "1"), ("contact",))

    assert {"contact": 2.5, "cable-plug": 0.5} == journal(tmp_path).counts("erase")
    assert {"contact": 1.0} == journal(tmp_path).counts("playback")
    assert {} == journal(tmp_path).counts("record")


@pytest.mark.parametrize("cut", range(0, 700, 37))
def test_a_file_cut_anywhere_gives_all_whole_lines(tmp_path: Path, cut: int) -> None:
    """What a power cut left of a line is passed over, told, and never built on."""
    path = filled(tmp_path).path
    data = path.read_bytes()
    path.write_bytes(data[:cut])
    whole = data[:cut].count(b"\n")

    kept = journal(tmp_path)
    events = [json.loads(line) for line in data.splitlines()[:whole]]

    assert {event["case"] for event in events} == set(kept.cases)
    torn = cut < len(data) and not data[:cut].endswith(b"\n") and cut > 0
    # A line may be whole but for the end of the line.
    parsed = _is_event(data[:cut].splitlines()[-1]) if torn else False
    assert (torn and not parsed) is bool(kept.troubles)
    kept.open("after", "erase", "9")
    assert "after" in journal(tmp_path).cases


def _is_event(line: bytes) -> bool:
    try:
        json.loads(line)
    except ValueError:
        return False
    return True


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(lines=st.lists(st.binary(max_size=60), max_size=5))
def test_any_bytes_leave_the_cases_readable(tmp_path: Path, lines: list[bytes]) -> None:
    """Whatever stands in the file, whole lines around it count."""
    kept = filled(tmp_path / os.urandom(6).hex())
    with kept.path.open("ab") as file:
        for line in lines:
            file.write(line.replace(b"\n", b"") + b"\n")

    again = Journal(kept.path)

    assert {"tape-echo", "other"} <= set(again.cases)
    bad = [line for line in lines if line.replace(b"\n", b"").strip()]
    assert bool(bad) is bool(again.troubles)


@pytest.mark.parametrize(
    "event",
    [
        {"event": "saw", "name": "look", "outcome": "perhaps", "track": "1", "source": ""},
        {"event": "saw", "name": "look", "outcome": "pass", "track": 1, "source": ""},
        {"event": "withdrew", "name": "hiss", "outcome": "pass", "track": "1", "source": ""},
        {"event": "open", "fault": "erase", "track": "1"},
        {"event": "can", "what": "luck"},
        {"event": "close", "links": 3},
        {"event": "nose"},
        {"event": "close", "links": [], "schema": "another/9"},
        {"event": "close", "links": [], "case": "nobody"},
        {},
    ],
)
def test_lines_that_make_no_sense_are_passed_over(
    tmp_path: Path, event: dict[str, Any]
) -> None:
    """Each is told with its number, and changes nothing."""
    kept = filled(tmp_path)
    whole = {"schema": "coilmeter/1", "case": "tape-echo", "time": "2026-01-01"} | event
    with kept.path.open("a") as file:
        file.write(json.dumps(whole) + "\n")
    number = len(kept.path.read_text().splitlines())

    again = Journal(kept.path)

    assert kept.cases == again.cases
    assert f"line {number} is no line of a case" in again.troubles[0]


def test_many_bad_lines_are_told_briefly(tmp_path: Path) -> None:
    """Three numbers and no more."""
    path = filled(tmp_path).path
    with path.open("a") as file:
        file.write("x\n" * 50)

    assert "line 7, 8, 9 ... is no line" in Journal(path).troubles[0]


def test_a_full_disk_leaves_what_was_there(tmp_path: Path) -> None:
    """Half a line is taken out again, and the message says that the rest is safe."""
    kept = filled(tmp_path)
    before = kept.path.read_bytes()

    with (
        mock.patch(
            "coilmeter.sources.line_file.os.fsync", side_effect=OSError(28, "No space left")
        ),
        pytest.raises(StoreError, match=r"cannot be written \(No space left\); what was kept"),
    ):
        kept.saw(kept.cases["tape-echo"], Seen("hiss", Outcome.PASS, "3"))

    assert before == kept.path.read_bytes()
    assert 2 == len(kept.cases["tape-echo"].seen)


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    """What cannot be read is no empty journal."""
    (tmp_path / "data" / "cases.jsonl").mkdir(parents=True)

    with pytest.raises(StoreError, match="cannot be read"):
        journal(tmp_path)


def test_another_run_is_waited_for(tmp_path: Path) -> None:
    """A short one is waited out; one that does not end is told."""
    kept = filled(tmp_path)
    case = kept.cases["tape-echo"]
    lock = FileLock(kept.path)
    later = threading.Timer(0.2, lock.release)
    later.start()

    kept.saw(case, Seen("hiss", Outcome.PASS, "3"))
    later.join()

    assert 3 == len(journal(tmp_path).cases["tape-echo"].seen)
    lock = FileLock(kept.path)
    with (
        mock.patch.object(chain_cases, "_PATIENCE_S", 0.05),
        pytest.raises(StoreBusyError, match="another run"),
    ):
        kept.saw(case, LOOKED)
    lock.release()


WRITER = """
import sys
from pathlib import Path
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chains import Outcome, Seen
journal = Journal(Path(sys.argv[1]))
case = journal.open(sys.argv[2], "erase", "1")
print("opened", flush=True)
for number in range(100000):
    journal.saw(case, Seen("look", Outcome.PASS, str(number)))
    print(number, flush=True)
"""


def start(folder: Path, path: Path, name: str) -> subprocess.Popen[str]:
    """Start a process that keeps one thing after the other and says each that is kept."""
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name],
        stdout=subprocess.PIPE,
        text=True,
        env=surroundings(folder),
    )


def test_what_was_said_to_be_kept_survives_a_kill(tmp_path: Path) -> None:
    """Killed at any moment, every answer that was told as kept is there."""
    path = tmp_path / "cases.jsonl"
    writers = [start(tmp_path, path, f"case-{number}") for number in range(2)]
    told = []
    for number, writer in enumerate(writers):
        assert writer.stdout is not None
        lines = [writer.stdout.readline() for _ in range(20 + 7 * number)]
        writer.kill()
        told.append(len([*lines, *writer.stdout.read().splitlines()]) - 1)
        writer.stdout.close()
        writer.wait()

    kept = Journal(path)

    for number, count in enumerate(told):
        tracks = [int(seen.track) for seen in kept.cases[f"case-{number}"].seen]
        assert list(range(len(tracks))) == tracks
        assert count - 1 <= len(tracks)
