"""`coilmeter flex` on a meter: real bytes, and joints that open while it runs."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from flex_benches import (
    KIND,
    Quick,
    breaking,
    crackling,
    flexing,
    loose,
    still,
)
from helpers import cli

from coilmeter.cli.flexing import LongOL
from coilmeter.cli.keys import NoKeys
from coilmeter.errors import MeterSilentError, StoreError
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.rawlog_reader import LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.sources.sheet import read_sheet
from coilmeter.values.flexing import FIGURES
from coilmeter.walks.flexing_told import (
    Answered,
    AskLifted,
    DroppedOut,
    End,
    Ended,
    FlexEvent,
)


@pytest.mark.parametrize(
    ("moving", "code", "verdict"),
    [(still, 0, "steady"), (crackling, 1, "noisy"), (breaking, 1, "undecided")],
    ids=["sound", "corroded", "breaks for good"],
)
def test_what_a_joint_does(tmp_path: Path, moving: Any, code: int, verdict: str) -> None:
    """The exit code, the word and the row of each."""
    quick = Quick(tmp_path, moving)
    ended = quick.run()
    found = flexing(quick.out.read_text())
    (row,) = read_sheet(quick.sheet).rows

    assert (code, verdict) == (ended, found["verdict"])
    assert verdict == (row.flex and row.flex.stability)


def test_a_joint_that_breaks_for_good_is_not_steady(tmp_path: Path) -> None:
    """Nobody answers what the OL is: the question stays open, and so does the verdict."""
    quick = Quick(tmp_path, breaking)
    quick.run()

    assert [Ended(End.UNANSWERED)] == [each for each in quick.events if isinstance(each, Ended)]
    assert "nobody said whether" in flexing(quick.out.read_text())["reason"]


@pytest.mark.parametrize(
    ("long_ol", "verdict"), [(LongOL.OPEN, "intermittent"), (LongOL.LIFTED, "steady")]
)
def test_answered_beforehand(tmp_path: Path, long_ol: LongOL, verdict: str) -> None:
    """An option says what a long OL is, for hands that are full."""
    quick = Quick(tmp_path, breaking, how={"long_ol": long_ol})
    quick.run()
    again = cli("flex", "--from", str(quick.log), "--long-ol", long_ol, "--as", "json")

    assert verdict == flexing(quick.out.read_text())["verdict"]
    assert verdict == flexing(again.out)["verdict"]


class Pressed(NoKeys):
    """Keys that are pressed in answer to what happens.

    Parameters
    ----------
    answers
        The key to press after an event of a kind, once each.

    """

    def __init__(self, answers: dict[type, str]) -> None:
        self._answers = dict(answers)
        self._waiting = ""

    def hear(self, event: FlexEvent) -> None:
        """Press what is to be pressed after an event."""
        self._waiting += self._answers.pop(type(event), "")

    def pressed(self) -> str:
        """Give what was pressed since the last time."""
        found, self._waiting = self._waiting, ""
        return found


@pytest.mark.parametrize(
    ("answers", "moving", "verdict"),
    [
        ({AskLifted: "o", Ended: "q"}, breaking, "intermittent"),
        ({AskLifted: "xL", Answered: "q"}, breaking, "steady"),
        ({AskLifted: "\n"}, breaking, "steady"),
    ],
    ids=["o", "l", "Enter"],
)
def test_what_keys_say_is_in_the_log_too(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    answers: dict[type, str],
    moving: Any,
    verdict: str,
) -> None:
    """The log judged again gives the same verdict, without asking again."""
    keys = Pressed(answers)
    monkeypatch.setattr("coilmeter.cli.flexing_live.keyboard", lambda: nullcontext(keys))
    quick = Quick(tmp_path, moving, also=keys.hear)
    quick.run()
    live = flexing(quick.out.read_text())
    again = cli("flex", "--from", str(quick.log), "--meter", "handheld-4000", "--as", "json")
    saved = flexing(again.out)

    assert verdict == live["verdict"]
    assert {name: live[name] for name in FIGURES} == {name: saved[name] for name in FIGURES}


def test_a_slow_meter_decides_nothing(tmp_path: Path) -> None:
    """Two readings a second are too few to call a joint steady."""
    quick = Quick(tmp_path, still, rate_hz=2.0, how={"for_s": 25.0})

    assert 1 == quick.run()
    assert "the meter sends 2.0 readings a second" in flexing(quick.out.read_text())["reason"]


def test_every_byte_is_in_the_log(tmp_path: Path) -> None:
    """Before anybody is told of it, and the head says what meter it was."""
    seen: list[int] = []

    def look(event: FlexEvent) -> None:
        if isinstance(event, DroppedOut):
            lines = quick.log.read_text().splitlines()
            seen.append(lines[-1].endswith("\tOL Mohm"))

    quick = Quick(tmp_path, loose, also=look)
    quick.run()
    with LogReader(quick.log) as reader:
        head = reader.head

    assert "digits14" == head.format_name
    assert head.settings.startswith("baud=2400")
    assert len(seen) >= 4
    assert all(seen)


def test_the_file_of_the_head_is_added_to(tmp_path: Path) -> None:
    """A file of `check` gets one row more, and its kind need not be said again."""
    quick = Quick(tmp_path)
    made = cli(
        *("check", "--head", "K-07", "--kind", KIND, "--meter", "handheld-4000"),
        *("--no-isolation", "--keep", str(quick.sheet)),
        stdin=b"0.2\n171.3\n173.1\n",
    )
    before = quick.sheet.read_text()
    quick.run()

    assert 1 == made.code
    assert quick.sheet.read_text().startswith(before)
    assert 4 == len(read_sheet(quick.sheet).rows)


def test_a_file_that_another_run_writes_is_refused_at_once(tmp_path: Path) -> None:
    """Before anything is clipped, and not after it."""
    quick = Quick(tmp_path)
    SheetKeeper(quick.sheet).close()
    with SheetKeeper(quick.sheet, resume=True), pytest.raises(StoreError, match="another run"):
        quick.run()

    assert not quick.log.exists()


def test_a_silent_meter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The log says so too."""
    monkeypatch.setattr("coilmeter.sources.port.SILENT_AFTER_S", 1.0)
    quick = Quick(tmp_path, rate_hz=1e-6)
    with pytest.raises(MeterSilentError, match="no byte came"):
        quick.run(speed=40.0)
    replay = Replay([quick.log])
    list(replay.events())

    assert replay.tally.ended


def test_asked_about_before_it_ends(tmp_path: Path) -> None:
    """A long OL is a question first, and the end only when nobody answers."""
    quick = Quick(tmp_path, breaking)
    quick.run()
    kinds = [type(event) for event in quick.events]

    assert kinds.index(DroppedOut) < kinds.index(AskLifted) < kinds.index(Ended)
