"""Cases that ``coilmeter chain`` keeps: gone on with, closed, listed, weighed, and named."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path

from chain_runs import chain, document


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


def test_a_closed_case_is_looked_at_and_not_gone_on_with(tmp_path: Path) -> None:
    """It says how it ended, what had spoken against that, and asks for nothing more."""
    begun = ("--fault", "playback", "--track", "3", "--case", "deck")
    chain(tmp_path, *begun, "--saw", "look=pass", "--saw", "ohms-at-plug=pass")
    chain(tmp_path, "--case", "deck", "--close", "cable-plug")
    before = (tmp_path / "cases.jsonl").read_bytes()
    seen = chain(tmp_path, "--case", "deck")
    found = document(tmp_path, "--case", "deck")
    more = chain(tmp_path, "--case", "deck", "--saw", "look=fail")
    again = chain(tmp_path, "--case", "deck", "--close", "contact")

    assert (0, 2, 2) == (seen.code, more.code, again.code)
    assert "CLOSED. It was cable or plug." in " ".join(seen.out.split())
    assert "had been cleared by ohms-at-plug: pass" in " ".join(seen.out.split())
    assert "Ask: " not in seen.out
    assert ["cable-plug"] == found["ended"]
    assert "nothing can be added to it" in more.err
    assert before == (tmp_path / "cases.jsonl").read_bytes()


def test_a_fault_that_is_none_is_told_before_anything_is_asked(tmp_path: Path) -> None:
    """Where questions follow, too."""
    ran = chain(tmp_path, "--fault", "play", "--track", "2", stdin="3\n")

    assert 2 == ran.code
    assert "no fault is called 'play'" in ran.err
    assert "others>" not in ran.err
