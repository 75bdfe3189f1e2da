"""``coilmeter chain`` in one shot: every shape, what flows in, and how a test is made."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from chain_runs import HEAD, chain, document
from impedance_helpers import HEADER, METER, SOUND, four, volts_csv


def test_one_shot_names_the_next_test(tmp_path: Path) -> None:
    """Headline, drawing, explanation, question, how to answer, cautions; exit code 1."""
    saw = ("--saw", "U=pass", "--saw", "ohms-at-plug=no")
    ran = chain(tmp_path, "--fault", "playback", "--track", "3", "--working", "all", *saw)

    assert 1 == ran.code
    first, *rest = ran.out.splitlines()
    assert first == (
        "playback, track 3: TEST flex-lead (ohms at the plug while flexing), about 4 min."
    )
    assert "  | + contact         < 1 %                      cleared by look: pass" in rest
    assert any(line.startswith("  | ? pin-joint") and "fits ohms" in line for line in rest)
    assert "? suspect   + cleared by a test   . unknown: neither" in rest
    assert "Then --saw flex-lead=pass or flex-lead=fail; --how flex-lead tells how" in ran.out
    assert "Mind: Never ohms on a live circuit" in ran.out
    assert max(map(len, rest)) <= 96


def test_a_document_for_other_programs(tmp_path: Path) -> None:
    """Suspects, next tests, explanations and evidence, with units in the keys."""
    saw = ("--saw", "look=pass", "--saw", "B=fail")
    found = document(tmp_path, "--fault", "playback", "--track", "3", "--working", "1 2", *saw)

    assert ("coilmeter/1", "playback", "3", "test") == tuple(
        found[key] for key in ("schema", "fault", "track", "verdict")
    )
    links = {each["link"]: each for each in found["links"]}
    assert ["look=pass"] == links["contact"]["cleared_by"]
    assert ["complaint=fail", "ohms-at-plug=fail"] == links["pin-joint"]["pointed_to_by"]
    assert 25 == links["pin-joint"]["repair_minutes"]
    chances = [each["probability"] for each in found["links"]]
    assert sorted(chances, reverse=True) == chances
    step = found["next_test"]
    assert ("flex-lead", "C", 4.0) == (step["test"], step["letter"], step["cost_minutes"])
    assert 1 == pytest.approx(sum(step["outcomes"].values()))
    assert [["coil-open"], ["pin-joint"]] == [
        [fault["link"] for fault in each] for each in found["explanations"][:2]
    ]
    assert {"look", "ohms-at-plug", "complaint"} == {each["name"] for each in found["seen"]}
    assert [] == found["contradictions"]


def test_csv_and_markdown(tmp_path: Path) -> None:
    """A row a link; in Markdown the notes come below."""
    words = ("--fault", "erase", "--saw", "look=pass", "--as")
    rows = list(csv.DictReader(io.StringIO(chain(tmp_path, *words, "csv").out)))
    text = chain(tmp_path, *words, "markdown").out

    assert 8 == len(rows)
    assert {"cleared", "suspect", "unknown"} >= {row["standing"] for row in rows}
    assert 1 >= float(rows[0]["probability"]) >= float(rows[-1]["probability"])
    assert "| suspect" in text
    assert "erase, track 1: TEST" in text


def test_page_and_drawing(tmp_path: Path) -> None:
    """A page with the drawing in it, and the drawing by itself; nothing leads off them."""
    drawn, out = tmp_path / "chain.svg", tmp_path / "chain.html"
    words = ("--fault", "record", "--track", "L", "--saw", "M=pass", "--as", "html")

    ran = chain(tmp_path, *words, "--out", str(out), "--draw", str(drawn))

    assert (1, "") == (ran.code, ran.out)
    page = out.read_text("utf-8")
    assert "A track does not record: track L" in page
    assert "cleared by known-tape: pass" in page
    assert "<svg" in page
    root = ET.fromstring(drawn.read_text("utf-8"))  # noqa: S314 - drawn by this program
    assert root.tag.endswith("svg")
    assert "://" not in page.replace("http://www.w3.org/2000/svg", "")


def test_readings_flow_in(tmp_path: Path) -> None:
    """A judged head counts as tests, told with its source; the rest goes on from there."""
    readings = tmp_path / "a.csv"
    readings.write_text(HEAD, encoding="utf-8")
    words = ("--fault", "playback", "--track", "2", "--readings", str(readings))

    ran = chain(tmp_path, *words)
    at_plug = document(tmp_path, *words, "--at", "plug")

    assert "from the readings (head A-1, coil 2): ohms-at-head: fail" in ran.err
    assert "fits ohms-at-head: fail" in ran.out
    names = {(each["name"], each["track"]) for each in at_plug["seen"]}
    assert {("ohms-at-plug", "1"), ("ohms-at-plug", "2")} <= names


def test_readings_of_another_track_are_named(tmp_path: Path) -> None:
    """The coil of the track may have a name of its own."""
    readings = tmp_path / "a.csv"
    readings.write_text(HEAD, encoding="utf-8")
    words = ("--fault", "playback", "--track", "left", "--readings", str(readings))

    found = document(tmp_path, *words, "--coil", "2")

    assert "left" in {each["track"] for each in found["seen"] if each["name"] == "ohms-at-head"}


def test_impedance_flows_in_too(tmp_path: Path) -> None:
    """AC volts by themselves, and beside the ohms of the same head: shorted turns."""
    volts, ohms = tmp_path / "A-ac.csv", tmp_path / "A.csv"
    volts.write_text(HEADER + volts_csv(four(SOUND, SOUND, SOUND.with_shorted(0.01), SOUND)))
    ohms.write_text(
        "head,kind,coil,reading\n"
        + "".join(f"A,four-channel-rp,{coil},300.0\n" for coil in "1234")
    )
    words = ("--fault", "playback", "--track", "3", "--meter", METER, "--impedance", str(volts))

    alone = document(tmp_path, *words)
    both = document(tmp_path, *words, "--readings", str(ohms))

    def inductance(found: dict[str, Any]) -> dict[str, str]:
        seen = [each for each in found["seen"] if each["name"] == "inductance"]
        return {each["track"]: each["outcome"] for each in seen}

    expected = {"1": "pass", "2": "pass", "3": "fail", "4": "pass"}
    assert expected == inductance(alone) == inductance(both)
    assert "ohms-at-head" in {each["name"] for each in both["seen"]}
    assert "shorted-turns" == both["links"][0]["link"]


def test_contradictions_are_named(tmp_path: Path) -> None:
    """Which cannot all be right, which fits least, and what to redo; suspects stay."""
    saw = [word for text in ("A=fail", "B=pass", "D=pass") for word in ("--saw", text)]
    ran = chain(tmp_path, "--fault", "playback", *saw)
    found = document(tmp_path, "--fault", "playback", *saw)

    assert "CONTRADICTION. Not all that was seen can be right." in ran.out
    assert "These cannot all be right: ohms-at-head: fail; " in " ".join(ran.out.split())
    assert "contradiction" == found["verdict"]
    assert {"ohms-at-head", "ohms-at-plug", "isolation"} == {
        each["name"] for each in found["contradictions"][0]
    }
    assert sum(each["probability"] for each in found["links"]) > 0.9


def test_a_complaint_that_is_denied_is_a_contradiction(tmp_path: Path) -> None:
    """A known tape plays: whether it was the tape, only the person can say."""
    ran = chain(tmp_path, "--fault", "playback", "--saw", "M=pass")

    assert "These cannot all be right: track 1 does not play; known-tape: pass" in ran.out
    assert 1 == ran.code


def test_nothing_broken_ends_with_zero(tmp_path: Path) -> None:
    """It plays after all, and all that was tried is good."""
    saw = [
        word
        for text in ("complaint=pass", "M=pass", "L=pass", "U=pass", "G=neither")
        for word in ("--saw", text)
    ]
    ran = chain(tmp_path, "--fault", "playback", *saw)
    doubtful = chain(tmp_path, "--fault", "playback", "--saw", "H=pass", "--saw", "U=pass")

    assert 0 == ran.code
    assert "NOTHING BROKEN in this chain" in ran.out
    assert 1 == doubtful.code
    assert "Nothing broken at all: " in doubtful.out


def test_what_cannot_be_had_is_left_out(tmp_path: Path) -> None:
    """Tests that need it are named with what they lack, and not proposed."""
    found = document(
        tmp_path,
        "--fault",
        "record",
        "--no-ask",
        "--cannot",
        "live",
        "--cannot",
        "bias-at-head",
    )

    left_out = {each["test"]: each["why"] for each in found["left_out"]}
    assert "live" == left_out["oscillator"]
    assert "you cannot make it" == left_out["bias-at-head"]
    assert set(left_out).isdisjoint({each["test"] for each in found["tests"]})


def test_a_loose_head_costs_less(tmp_path: Path) -> None:
    """With the head in the hand its pins are read in two minutes."""
    found = document(tmp_path, "--fault", "erase", "--no-ask", "--loose")

    costs = {each["test"]: each["cost_minutes"] for each in found["tests"]}
    assert 2 == costs["ohms-at-head"]


def test_how_a_test_is_made(tmp_path: Path) -> None:
    """By name or letter, with cautions and labelled levels; where chains differ, each."""
    one = chain(tmp_path, "--how", "H")
    two = chain(tmp_path, "--how", "known-tape")
    of_record = chain(tmp_path, "--how", "known-tape", "--fault", "record")

    assert one.out.startswith("tone-at-face: a tone injected at the face of the head")
    for text in ("Needs:", "! Volume down", "Connect:", "Expect:", "Pass:", "Fail:", "der:"):
        assert text in one.out
    assert ("In playback:" in two.out, "In record:" in two.out) == (True, True)
    assert "In record:" not in of_record.out
    assert "One head plays and records" in of_record.out
    assert (0, 0, 0) == (one.code, two.code, of_record.code)


def test_small_sums(tmp_path: Path) -> None:
    """Done and printed; a question mark lists them."""
    assert "80 kHz" in chain(tmp_path, "--calc", "scope 1.25 at 10 us").out
    assert "walk 260, 320, 56" in chain(tmp_path, "--calc", "?").out
