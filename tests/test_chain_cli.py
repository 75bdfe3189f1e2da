"""``coilmeter chain`` in one shot: every shape, every option, every refusal."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from helpers import Ran, cli
from impedance_helpers import HEADER, METER, SOUND, four, volts_csv

HEAD = """head,kind,coil,reading,purpose
A-1,two-channel-rp,1,171.0,
A-1,two-channel-rp,2,OL 40 Mohm,
"""


def chain(folder: Path, *words: str, stdin: str = "") -> Ran:
    """Run the command with its cases in a folder."""
    keep = ("--keep", str(folder / "cases.jsonl"))
    return cli("chain", *words, *keep, stdin=stdin.encode())


def document(folder: Path, *words: str) -> dict[str, Any]:
    """Run it once and read the JSON document."""
    found: dict[str, Any] = json.loads(chain(folder, *words, "--as", "json").out)
    return found


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


def test_a_case_is_kept_and_gone_on_with(tmp_path: Path) -> None:
    """What was said before counts again; closing ends it, and its link weighs more."""
    chain(tmp_path, "--fault", "erase", "--track", "2", "--case", "echo", "--saw", "U=pass")
    ran = chain(tmp_path, "--case", "echo", "--saw", "B=fail", "--as", "json")
    found = json.loads(ran.out)

    assert ("erase", "2") == (found["fault"], found["track"])
    assert ["complaint", "look", "ohms-at-plug"] == [each["name"] for each in found["seen"]]

    closed = chain(tmp_path, "--case", "echo", "--close", "cable-plug")
    assert (0, "case echo is closed: cable-plug.\n") == (closed.code, closed.err)
    listed = json.loads(chain(tmp_path, "--cases", "--as", "json").out)["cases"]
    assert [["cable-plug"]] == [each["links"] for each in listed]
    weights = json.loads(chain(tmp_path, "--weights", "--fault", "erase", "--as", "json").out)
    share = {each["link"]: each for each in weights["weights"]}["cable-plug"]
    assert 1 == share["closed_cases"]
    assert share["share"] > share["share_before"]

    words = ("--fault", "erase", "--no-ask")
    own, shipped = document(tmp_path, *words), document(tmp_path, *words, "--shipped-weights")
    chance = [
        next(each["probability"] for each in one["links"] if each["link"] == "cable-plug")
        for one in (own, shipped)
    ]
    assert chance[0] > chance[1]


def test_lists_for_people(tmp_path: Path) -> None:
    """Cases and weights as tables; none yet says so."""
    assert "no case is kept yet" in chain(tmp_path, "--cases").out
    chain(tmp_path, "--fault", "erase", "--case", "one", "--saw", "U=unknown")
    chain(tmp_path, "--fault", "erase", "--case", "two", "--saw", "U=pass")
    chain(tmp_path, "--case", "two", "--close", "none")

    cases = chain(tmp_path, "--cases").out
    weights = chain(tmp_path, "--weights", "--fault", "erase").out

    assert ["one", "two"] == [line.split()[0] for line in cases.splitlines()[2:4]]
    assert "nothing was broken" in cases
    assert "count as 20 cases, and 0 closed ones of your own" in " ".join(weights.split())


def test_a_link_that_is_no_more_is_told(tmp_path: Path) -> None:
    """Closed cases of links that a file has taken out are named, and not counted."""
    own = tmp_path / "own.toml"
    own.write_text("[chain.links.erase.tape-format]\nweight = 0\n", encoding="utf-8")
    chain(tmp_path, "--fault", "erase", "--case", "one", "--saw", "U=pass")
    chain(tmp_path, "--case", "one", "--close", "tape-format")

    ran = chain(tmp_path, "--weights", "--fault", "erase", "--catalog", str(own))

    assert (0, True) == (ran.code, "not counted, because no link is called so" in ran.err)


def test_what_a_case_holds_of_tests_that_are_gone_is_passed_over(tmp_path: Path) -> None:
    """A case goes on without them, and says so."""
    own = tmp_path / "own.toml"
    own.write_text("[chain.tests.look]\nuse = false\n", encoding="utf-8")
    chain(tmp_path, "--fault", "erase", "--case", "one", "--saw", "U=pass")

    ran = chain(tmp_path, "--case", "one", "--saw", "B=fail", "--catalog", str(own))

    assert 1 == ran.code
    assert "tests or links that are no more: passed over" in ran.err


def test_a_torn_journal_is_told(tmp_path: Path) -> None:
    """The rest of it counts."""
    chain(tmp_path, "--fault", "erase", "--case", "one", "--saw", "U=pass")
    with (tmp_path / "cases.jsonl").open("a") as file:
        file.write('{"half')

    ran = chain(tmp_path, "--cases")

    assert "was passed over; all others count" in ran.err
    assert "one" in ran.out


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


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--no-ask",), "which fault is it?"),
        (("--fault", "nose", "--no-ask"), "no fault is called 'nose'"),
        (("--weights",), "which fault is it?"),
        (("--fault", "erase", "--saw", "look"), "saw 'look', expected TEST=OUTCOME"),
        (("--fault", "erase", "--saw", "look=perhaps"), "saw 'look=perhaps'"),
        (("--fault", "erase", "--saw", "=pass"), "saw '=pass'"),
        (("--fault", "erase", "--saw", "nose=pass"), "no test of erase is called 'nose'"),
        (("--fault", "erase", "--saw", "G=follows"), "no test of erase is called 'g'"),
        (("--fault", "playback", "--saw", "G=pass"), "swap-at-plug: saw 'pass'"),
        (("--fault", "erase", "--saw", "nose=sound"), "no link of erase is called 'nose'"),
        (("--fault", "erase", "--cannot", "luck", "--no-ask"), "need of one, is called 'luck'"),
        (("--fault", "erase", "--track", "a b", "--no-ask"), "saw 'a b' as a track"),
        (("--fault", "erase", "--working", "1", "--failing", "1", "--no-ask"), "both in"),
        (("--fault", "erase", "--track", "2", "--working", "2 3", "--no-ask"), "in question"),
        (("--fault", "erase", "--working", "1", "--case", "x", "--no-ask"), "in question"),
        (("--close", "contact"), "no case '' is kept"),
        (("--case", "nobody", "--close", "contact"), "no case 'nobody' is kept"),
        (("--fault", "erase", "--case", "\t", "--saw", "U=pass"), "as the name of a case"),
        (("--how", "nose"), "no test is called 'nose'"),
        (("--calc", "nose"), "calc: saw 'nose'"),
        (("--fault", "erase", "--readings", "nowhere.csv"), "nowhere.csv"),
    ],
)
def test_what_cannot_be_used_is_refused(
    tmp_path: Path, words: tuple[str, ...], expected: str
) -> None:
    """Exit code 2, what was seen and what to do next; and nothing is kept."""
    ran = chain(tmp_path, *words)

    assert 2 == ran.code
    assert expected in ran.err
    assert "next:" in ran.err
    assert not (tmp_path / "cases.jsonl").exists()


def test_readings_that_decide_nothing_are_refused(tmp_path: Path) -> None:
    """A head without a coil of that chain."""
    readings = tmp_path / "a.csv"
    readings.write_text(HEAD, encoding="utf-8")

    ran = chain(tmp_path, "--fault", "erase", "--readings", str(readings))

    assert 2 == ran.code
    assert "nothing in it decides anything of the erase chain" in ran.err


def test_a_case_is_about_one_thing(tmp_path: Path) -> None:
    """Another fault or track, a closed case and an unknown link are refused."""
    chain(tmp_path, "--fault", "erase", "--track", "2", "--case", "echo", "--saw", "U=pass")

    other = chain(tmp_path, "--case", "echo", "--fault", "record", "--saw", "U=pass")
    track = chain(tmp_path, "--case", "echo", "--track", "3", "--saw", "U=pass")
    link = chain(tmp_path, "--case", "echo", "--close", "nose")
    chain(tmp_path, "--case", "echo", "--close", "contact")
    closed = chain(tmp_path, "--case", "echo", "--saw", "U=pass")

    assert "--fault record: case 'echo' is about erase" in other.err
    assert "--track 3: case 'echo' is about 2" in track.err
    assert "no link of erase is called 'nose'" in link.err
    assert "case 'echo': closed on" in closed.err
    assert {2} == {ran.code for ran in (other, track, link, closed)}


def test_a_case_that_does_not_exist_is_begun_and_said(tmp_path: Path) -> None:
    """The name may be mistyped: which cases are open is said with it, and closed ones not."""
    about = ("--fault", "erase", "--track", "2", "--case", "echo")
    first = chain(tmp_path, *about, "--saw", "U=pass")
    chain(tmp_path, "--fault", "erase", "--case", "over", "--saw", "U=pass")
    chain(tmp_path, "--case", "over", "--close", "none")
    mistyped = chain(tmp_path, "--case", "ecko", stdin="quit\n")
    known = chain(tmp_path, "--case", " echo ", "--saw", "B=fail")
    said = " ".join(mistyped.err.split())
    kept = json.loads(chain(tmp_path, "--cases", "--as", "json").out)["cases"]

    assert "'echo': a new one of that name is begun; no case is open." in first.err
    assert said.startswith(
        "! no case is called 'ecko': a new one of that name is begun; "
        "open cases: echo (erase, track 2). What does not work?"
    )
    assert "no case is called" not in known.err
    assert ["echo", "over"] == [case["case"] for case in kept]


def test_a_file_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Exit code 4 for results, drawing and cases."""
    nowhere = str(tmp_path / "no" / "where.svg")
    words = ("--fault", "erase", "--saw", "U=pass")
    (tmp_path / "folder").mkdir()

    assert 4 == chain(tmp_path, *words, "--out", nowhere).code
    assert 4 == chain(tmp_path, *words, "--draw", nowhere).code
    ran = cli("chain", *words, "--keep", str(tmp_path / "folder"))
    assert (4, True) == (ran.code, "cannot be read" in ran.err)
