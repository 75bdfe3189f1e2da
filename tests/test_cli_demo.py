"""The demo: the whole main job, with nothing canned."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from helpers import Ran, shipped
from walk_helpers import steps_of
from walk_processes import run

from coilmeter.cli import demonstration
from coilmeter.cli.demonstration import demo_settings, moves_for, run_demo
from coilmeter.sources.clock import FastClock
from coilmeter.sources.simulated import Hands, SimulatedHead
from coilmeter.values import Condition, Grade, Isolation, Match, numbered_kind
from coilmeter.walks.events import AskBridge, Begun, Contact
from coilmeter.walks.steps import CLIPS


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    """Run it once, as a person does."""
    folder = tmp_path_factory.mktemp("demo")
    ran = run(folder, "demo")

    assert [] == list(folder.iterdir())
    return ran


def test_the_demo_tells_its_story(shown: Ran) -> None:
    """It ends well, with each kind of trouble in its table."""
    assert 0 == shown.code
    for word in ("open", "mismatched", "leaking", "intact", "isolated"):
        assert word in shown.out


def test_results_and_talk_are_apart(shown: Ran) -> None:
    """The table is on the output and the walk is not; the talk is the other way round."""
    assert shown.out.startswith("PARTIAL: head shelf-3, four-channel-rp")
    assert "taken" not in shown.out
    assert "verdict" not in shown.err
    assert "12 readings, 14 clip moves" in shown.err
    assert re.search(r"taken  4 to case  22\d\.\d kohm: leaking\n", shown.err)
    # The broken coil was read behind another OL: once more, to be sure that the clips moved.
    assert 13 == shown.err.count("taken  ")
    assert 1 == shown.err.count("once more, to be sure")
    assert "done: 12 taken" in shown.err
    assert "Traceback" not in shown.err


def test_as_json(tmp_path: Path) -> None:
    """The shape of the results can be chosen."""
    ran = run(tmp_path, "demo", "--as", "json", "--out", "demo.json")
    document: dict[str, Any] = json.loads((tmp_path / "demo.json").read_text())

    assert 0 == ran.code
    assert "" == ran.out
    assert ["intact", "open", "intact", "intact"] == [
        coil["verdict"] for coil in document["heads"][0]["coils"]
    ]


def test_another_head_gives_other_results(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is canned: what is measured is what lies on the bench."""

    def other(settings: object) -> SimulatedHead:
        assert settings is not None
        coils = {"1": 170.0, "2": 171.0, "3": 172.0, "4": 0.4}
        return SimulatedHead.of_kind(shipped().kinds["four-channel-rp"], coils)

    monkeypatch.setattr(demonstration, "_head", other)
    (head,) = run_demo(demo_settings(shipped()), speed=24.0)

    assert [Condition.INTACT] * 3 + [Condition.SHORTED] == [coil.verdict for coil in head.coils]
    assert [Match.MATCHED] * 3 == [coil.match for coil in head.coils[:3]]
    assert {Isolation.ISOLATED} == {path.verdict for path in head.isolation}
    assert Grade.PARTIAL is head.grade


def test_the_hands_follow_the_walk() -> None:
    """What a person does at each word: clips together, clips on, tip on and off."""
    kind = numbered_kind(1)
    hands = Hands(SimulatedHead.of_kind(kind, {"1": 171.0}), FastClock(1e6), bounce_s=0.0)
    leads, coil = steps_of(kind, lead_null=True)
    seen = []
    for event in (Begun(leads, 1, 2), Begun(coil, 2, 2), AskBridge(coil), Contact(coil)):
        for move in moves_for(event):
            move.action(hands)
            seen.append(round(hands.resistance(hands.clock.now() + 1.0), 2))

    assert CLIPS == leads.points
    assert [float("inf"), 0.0, float("inf"), 171.0, 0.03, 171.0] == seen
