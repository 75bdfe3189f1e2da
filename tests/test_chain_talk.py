"""``coilmeter chain`` at the prompt: one question at a time, and every word that answers it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path

import pytest
from chain_helpers import model_of
from chain_talks import BEGIN, asked, seen, talk
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilmeter.cli.chain_desk import Desk, start
from coilmeter.cli.chain_talk import Talk
from coilmeter.sources.chain_cases import Journal


def test_a_case_from_the_first_question_to_the_repair(tmp_path: Path) -> None:
    """Follows, clean, open at plug and pin while flexing: the joint, and the case is closed."""
    answers = ["follows", "yes", "no", "no", "no", "", "yes"]
    ran = talk(tmp_path, "1", "3", "all", *answers)

    assert 0 == ran.code
    tests = ["swap-at-plug", "look", "ohms-at-plug", "flex-lead", "ohms-at-head"]
    assert tests == asked(ran)
    assert "REPAIR pin-joint (head pin or its joint, 9" in ran.err
    assert "resolder the joint" in ran.err
    assert "case playback-3 is closed: pin-joint." in ran.err
    case = Journal(tmp_path / "cases.jsonl").cases["playback-3"]
    assert ("pin-joint",) == case.links
    assert ["complaint", "complaint", *tests] == [each.name for each in case.seen]


def test_answers_in_many_words(tmp_path: Path) -> None:
    """yes, good, pass are one; no, bad, dead another; skip and unknown say nothing."""
    ran = talk(tmp_path, *BEGIN, "perhaps", "unknown", "good", "bad", "skip")

    assert "saw 'perhaps', expected follows, stays, both, neither or unknown" in ran.err
    outcomes = [each.partition("=")[2] for each in seen(tmp_path)[2:]]
    assert ["unknown", "pass", "fail", "unknown"] == outcomes
    assert len(asked(ran)) == len(set(asked(ran)))


def test_a_wrong_word_names_the_answers(tmp_path: Path) -> None:
    """For a test that passes or fails: yes, no or unknown; an empty line lists the words."""
    ran = talk(tmp_path, *BEGIN, "follows", "perhaps", "", "?")

    assert "saw 'perhaps', expected yes, no or unknown; ? lists the words" in ran.err
    assert 3 == ran.err.count("Answer yes, no or unknown, or with a word:")


def test_why_how_draw_and_seen(tmp_path: Path) -> None:
    """The reasoning, the way it is made, the chain, what was said: no new question."""
    ran = talk(
        tmp_path, *BEGIN, "follows", "why", "how", "how hiss", "how nose", "draw", "seen"
    )

    for text in (
        "Suspects: contact",
        "is expected to tell",
        "Looking ahead, minutes until one is sure",
        "Connect: Machine off. With a lamp",
        "hiss: hiss without a tape (about 1 min, letter L)",
        "no test of playback is called 'nose'",
        "tape and face",
        "swap-at-plug: follows",
        "the other tracks do play",
    ):
        assert text in ran.err
    assert ["swap-at-plug", "look"] == asked(ran)


def test_looking_ahead_that_changes_the_choice_says_so(tmp_path: Path) -> None:
    """Another test would tell more a minute by itself."""
    ran = talk(tmp_path, *BEGIN, "why")

    assert "By itself look would tell more a minute" in " ".join(ran.err.split())


def test_back_takes_answers_back(tmp_path: Path) -> None:
    """The last one first; the complaints stay, and nothing more is taken."""
    ran = talk(tmp_path, *BEGIN, "follows", "yes", "back", "back", "back", "back")

    assert "taken back: look: pass" in ran.err
    assert "taken back: swap-at-plug: follows" in ran.err
    assert "taken back: the other tracks do play" in ran.err
    assert "there is nothing to take back" in ran.err
    assert ["3:complaint=fail"] == seen(tmp_path)


@pytest.mark.parametrize("answers", [("no", "back"), ("back",)])
def test_back_after_redo_has_the_first_answer_stand(
    tmp_path: Path, answers: tuple[str, ...]
) -> None:
    """Whether it was answered anew or not: nothing that was seen is lost."""
    ran = talk(tmp_path, *BEGIN, "follows", "test look", "yes", "redo look", *answers)

    assert "stands again: look: pass" in ran.err
    assert "3:look=pass" in seen(tmp_path)
    assert "3:swap-at-plug=follows" in seen(tmp_path)


def test_redo_asks_again(tmp_path: Path) -> None:
    """The old answer is out, the test is asked at once, and the new one counts."""
    ran = talk(
        tmp_path, *BEGIN, "follows", "test U", "yes", "redo", "redo K", "redo G", "stays"
    )

    assert "redo: which one?" in ran.err
    assert "one of: complaint, swap-at-plug, look." in ran.err
    assert "swap-at-plug" == asked(ran)[0]
    assert 2 == asked(ran).count("swap-at-plug")
    assert "3:swap-at-plug=stays" in seen(tmp_path)
    assert "3:swap-at-plug=follows" not in seen(tmp_path)


def test_another_test_can_be_made_instead(tmp_path: Path) -> None:
    """By name or letter."""
    ran = talk(tmp_path, *BEGIN, "test H", "yes", "test nose")

    assert ["swap-at-plug", "tone-at-face"] == asked(ran)[:2]
    assert "3:tone-at-face=pass" in seen(tmp_path)
    assert "! Volume down and headphones off" in ran.err
    assert "no test of playback is called 'nose'" in ran.err


def test_cannot_leaves_out_what_needs_it(tmp_path: Path) -> None:
    """Asked which need it is; named at once; and had again after all."""
    ran = talk(
        tmp_path, *BEGIN, "cannot", "neighbour", "cannot look", "cannot", "", "cannot luck",
        "can look", "can luck", "cannot live",
    )  # fmt: skip

    assert "Which of these is it? neighbour, known-tape; Enter leaves out this test." in ran.err
    assert "left out: neighbour" in ran.err
    third = asked(ran)[2]
    assert f"left out: {third}" in ran.err
    assert "look can be had again" in ran.err
    assert "need of one, is called 'luck'" in ran.err
    case = next(iter(Journal(tmp_path / "cases.jsonl").cases.values()))
    assert ["neighbour", third, "live"] == case.cannot


def test_enter_leaves_out_this_test_only(tmp_path: Path) -> None:
    """The need stays for others."""
    talk(tmp_path, *BEGIN, "cannot", "")

    case = next(iter(Journal(tmp_path / "cases.jsonl").cases.values()))
    assert ["swap-at-plug"] == case.cannot


def test_live_work_is_warned_of_every_time(tmp_path: Path) -> None:
    """Other cautions stand once, at the first test they belong to."""
    ran = talk(
        tmp_path, *BEGIN, "test J", "unknown", "test K", "unknown", "test B", "yes", "test A",
    )  # fmt: skip

    assert 2 == ran.err.count("! The set is open and under power")
    assert 1 == ran.err.count("! Never ohms on a live circuit")


def test_saw_takes_more_evidence(tmp_path: Path) -> None:
    """Of another track, and of a link itself."""
    ran = talk(tmp_path, *BEGIN, "saw 2:hiss=yes", "saw cable-plug=sound", "saw nose")

    assert {"2:hiss=pass", "3:cable-plug=sound"} <= set(seen(tmp_path))
    assert "saw 'nose', expected TEST=OUTCOME" in ran.err


def test_calc_at_the_prompt(tmp_path: Path) -> None:
    """A sum in between; alone it lists them."""
    ran = talk(tmp_path, *BEGIN, "calc scope 1.25 at 10 us", "calc")

    assert "80 kHz" in ran.err
    assert "walk 260, 320, 56" in ran.err


def test_readings_and_questions_together(tmp_path: Path) -> None:
    """What was measured counts first, and the questions go on from there."""
    readings = tmp_path / "a.csv"
    readings.write_text("head,kind,coil,reading\nA-1,two-channel-rp,2,OL 40 Mohm\n")
    words = ("--fault", "playback", "--track", "2", "--working", "1", "--ask")
    ran = talk(tmp_path, words=(*words, "--readings", str(readings)))

    assert "from the readings (head A-1, coil 2): ohms-at-head: fail" in ran.err
    assert ["flex-lead"] == asked(ran)
    line = (tmp_path / "cases.jsonl").read_text().splitlines()[-1]
    assert "head A-1, coil 2" == json.loads(line)["source"]


def test_a_desk_without_a_journal(tmp_path: Path) -> None:
    """Everything works without a file: for other programs, and for trying."""
    desk = Desk(model_of("erase"), "1")
    start(desk, {"2": True, "1": False})
    desk.leave_out("scope")

    assert {"2": True} == desk.others()
    assert None is desk.last(desk.chain.test("look"))
    assert "scope" == desk.allow("scope")
    assert [] == desk.cannot
    assert desk.back() is not None
    assert None is desk.back()
    assert Talk(desk) is not None
    assert [] == list(tmp_path.iterdir())


words_typed = st.sampled_from(
    ["yes", "no", "unknown", "follows", "neither", "back", "redo G", "test H", "cannot", "",
     "can look", "why", "how", "draw", "seen", "keep", "1", "2", "later", "saw 2:hiss=no",
     "saw contact=sound", "saw contact=repaired", "found contact", "x" * 200, "\x1b[2J", "?"]
)  # fmt: skip


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(answers=st.lists(words_typed, max_size=12), fault=st.sampled_from("123"))
def test_any_talk_ends_well(tmp_path: Path, answers: list[str], fault: str) -> None:
    """Whatever is typed, in any order: no fault of the program, and a result at the end."""
    path = tmp_path / "cases.jsonl"
    path.unlink(missing_ok=True)

    ran = talk(tmp_path, fault, "3", "all", *answers)

    assert ran.code in {0, 1}
    assert "fault of this program" not in ran.err
    assert "track 3" in ran.out
    assert "\x1b" not in ran.err
    assert [] == Journal(path).troubles
