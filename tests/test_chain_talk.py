"""``coilmeter chain`` at the prompt: one question at a time, and every word of it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import json
from pathlib import Path

import pytest
from chain_helpers import model_of
from helpers import Ran, cli
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilmeter.cli.chain_desk import Desk, start
from coilmeter.cli.chain_talk import Talk
from coilmeter.sources.chain_cases import Journal

BEGIN = ("playback", "3", "all")


def talk(folder: Path, *answers: str, words: tuple[str, ...] = ()) -> Ran:
    """Answer the questions one after the other, then end the input."""
    typed = "".join(f"{answer}\n" for answer in answers)
    keep = ("--keep", str(folder / "cases.jsonl"))
    return cli("chain", *words, *keep, stdin=typed.encode())


def asked(ran: Ran) -> list[str]:
    """Names of the tests that were asked for, in order."""
    lines = [line for line in ran.err.splitlines() if line.startswith("[")]
    return [line.partition("] ")[2].partition(":")[0] for line in lines]


def seen(folder: Path) -> list[str]:
    """Read what the first case holds now."""
    case = next(iter(Journal(folder / "cases.jsonl").cases.values()))
    return [f"{each.track}:{each}" for each in case.seen]


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


def test_it_opens_with_plain_questions(tmp_path: Path) -> None:
    """What, which track, which others; then one test, with cautions and what it needs."""
    ran = talk(tmp_path, *BEGIN)

    for text in (
        "What does not work?",
        "1 a track does not play",
        "Which track is it?",
        "Which other tracks play?",
        "! Mains plug out before opening",
        "needs another track that works; a tape known to be good",
        "does the fault follow the head's lead",
        "Case playback-3 stays open: coilmeter chain --case playback-3 goes on with it.",
    ):
        assert text in ran.err
    assert 1 == ran.code
    assert "playback, track 3: TEST swap-at-plug" in ran.out


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        (("nose", "4", "0", "record", "3", ""), "saw 'nose', expected a number from 1 to 3"),
        (("erase", "a b", "3", ""), "saw 'a b' as a track"),
        (("play", "3", "1:2", "1 2"), "saw '1:2' as a track"),
    ],
)
def test_first_questions_say_what_they_expect(
    tmp_path: Path, answers: tuple[str, ...], expected: str
) -> None:
    """A wrong answer is named, and the question stays."""
    ran = talk(tmp_path, *answers)

    assert expected in ran.err
    assert "[1] " in ran.err


@pytest.mark.parametrize(
    ("words", "typed"),
    [((), ("playback", "3", "1 3")), (("--working", "1 3"), ("playback", "3"))],
)
def test_the_track_in_question_is_none_of_those_that_work(
    tmp_path: Path, words: tuple[str, ...], typed: tuple[str, ...]
) -> None:
    """It fails: whichever of the two is asked for last is asked for again."""
    again = talk(tmp_path, *typed, words=words)
    kept = (tmp_path / "cases.jsonl").exists()

    assert "track 3: it is the one in question, which fails" in again.err
    assert not kept


def test_other_tracks_are_asked_for_again(tmp_path: Path) -> None:
    """Without the one in question it goes on."""
    talk(tmp_path, "playback", "3", "1 3", "1")

    assert ["3:complaint=fail", "1:complaint=pass"] == seen(tmp_path)


def test_back_in_the_first_questions(tmp_path: Path) -> None:
    """Each returns to the one before; the last answer counts."""
    ran = talk(tmp_path, "1", "back", "3", "3", "back", "4", "back", "5", "none")

    assert ["5:complaint=fail", "others:complaint=fail"] == seen(tmp_path)
    assert "Case erase-5" in ran.err


@pytest.mark.parametrize("count", range(3))
def test_ended_in_the_first_questions_nothing_is_kept(tmp_path: Path, count: int) -> None:
    """No case without a complaint."""
    ran = talk(tmp_path, *BEGIN[:count], "quit")

    assert (1, "") == (ran.code, ran.out)
    assert not (tmp_path / "cases.jsonl").exists()


def test_options_spare_questions(tmp_path: Path) -> None:
    """What was said on the command line is not asked."""
    words = ("--fault", "erase", "--track", "2", "--failing", "all")
    ran = talk(tmp_path, words=words)

    assert "What does not work?" not in ran.err
    assert "Which other tracks" not in ran.err
    assert "[1] look" in ran.err


def test_an_open_case_is_offered(tmp_path: Path) -> None:
    """Yes goes on with it, no opens another, back returns to the track."""
    talk(tmp_path, *BEGIN, "follows")
    on = talk(tmp_path, "playback", "3", "perhaps", "back", "3", "yes")
    new = talk(tmp_path, "playback", "3", "no", "all", "stays")

    assert "Case playback-3 is still open, with 3 things seen. Go on with it?" in on.err
    assert "yes, or no for a new case" in on.err
    assert ["look"] == asked(on)
    assert "Case playback-3-2;" in new.err
    named = talk(tmp_path, words=("--case", "playback-3"))
    assert ["look"] == asked(named)


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


def test_found_closes_at_any_time(tmp_path: Path) -> None:
    """With a link of the chain."""
    ran = talk(tmp_path, *BEGIN, "found nose", "found contact")

    assert "no link of playback is called 'nose'" in ran.err
    assert "case playback-3 is closed: contact." in ran.err
    assert 0 == ran.code


SURE = (
    *BEGIN,
    *(
        "test G",
        "follows",
        "test B",
        "no",
        "test C",
        "no",
        "saw coil-open=sound",
        "test A",
        "no",
    ),
)
"""Answers after which the joint is sure."""


def test_a_repair_that_did_not_help_goes_on(tmp_path: Path) -> None:
    """It is cleared, the complaint counts again, and the next test is asked."""
    ran = talk(tmp_path, *SURE, "yes", "perhaps", "no")

    assert "yes, no, or later" in ran.err
    assert ["3:pin-joint=repaired", "3:complaint=fail"] == seen(tmp_path)[-2:]
    assert "\n[" in ran.err.partition("cleared: pin-joint")[2]


@pytest.mark.parametrize("word", ["later", "quit"])
@pytest.mark.parametrize("before", [(), ("",)])
def test_later_leaves_it_open(tmp_path: Path, word: str, before: tuple[str, ...]) -> None:
    """Before or after the repair: nothing is closed."""
    ran = talk(tmp_path, *SURE, *before, word)

    assert "stays open" in ran.err
    assert 1 == ran.code
    assert "REPAIR pin-joint" in ran.out


def test_another_link_was_repaired(tmp_path: Path) -> None:
    """It is closed as that one."""
    ran = talk(tmp_path, *SURE, "nose", "cable-plug", "yes")

    assert "saw 'nose', expected one of the words above" in ran.err
    assert "is closed: cable-plug." in ran.err


def test_testing_can_go_on_though_one_is_sure(tmp_path: Path) -> None:
    """One more is asked for by that word; why and draw answer there too."""
    ran = talk(tmp_path, *SURE, "why", "how", "test", "yes")

    assert "Suspects: pin-joint" in ran.err
    assert "name one: how look." in ran.err
    assert asked(ran)[-1] not in {"swap-at-plug", "ohms-at-plug", "flex-lead", "ohms-at-head"}


def test_undecided_names_what_to_try(tmp_path: Path) -> None:
    """With tests left out, nothing tells them apart: an order, and what would decide."""
    needs = ["known-tape", "lcr", "tone-source", "spare-coil", "voltmeter", "second-deck"]
    left_out = [word for need in [*needs, "live"] for word in ("--cannot", need)]
    words = ("--fault", "playback", "--track", "3", "--failing", "all", *left_out)
    ran = talk(tmp_path, *["unknown"] * 12, words=words)

    assert "UNDECIDED between" in ran.err
    assert "In this order they are worth a try:" in ran.err
    assert "1. contact: clean face, pad and roller" in ran.err
    assert "would tell more; left out:" in ran.err


def test_a_clash_is_named_and_one_is_taken_again(tmp_path: Path) -> None:
    """Its number; the new answer takes the place of the old one."""
    answers = ("test A", "no", "test B", "yes", "test D", "yes")
    ran = talk(tmp_path, *BEGIN, *answers, "nose", "1", "perhaps", "yes")

    assert "These cannot all be right:" in ran.err
    assert "1 ohms-at-head: fail" in ran.err
    assert "saw 'nose', expected a number from 1 to 3, or keep" in ran.err
    assert "Track 3: At the head's own pins" in ran.err
    assert "one of: pass, fail, unknown" in ran.err
    assert "3:ohms-at-head=pass" in seen(tmp_path)
    assert "3:ohms-at-head=fail" not in seen(tmp_path)


def test_a_clash_can_be_kept(tmp_path: Path) -> None:
    """Then the fault comes and goes, and it is not asked about again."""
    answers = ("test A", "no", "test B", "yes", "test D", "yes")
    ran = talk(tmp_path, *BEGIN, *answers, "keep", "yes")

    assert 1 == ran.err.count("These cannot all be right:")
    assert "kept. flex-lead finds what comes and goes" in ran.err
    assert "CONTRADICTION" in ran.out


def test_a_clash_with_a_sound_link_takes_that_back(tmp_path: Path) -> None:
    """What was said of a link is no test to be made again."""
    sound = [f"saw {name}=sound" for name in ("coil-open", "pin-joint", "coil-coil")]
    ran = talk(tmp_path, *BEGIN, *sound, "test A", "no", "4", "")

    clash = ran.err.partition("These cannot all be right:")[2]
    fourth = clash.partition("  4 ")[2].partition("\n")[0]
    assert fourth.endswith(" is sound")
    assert f"taken back: {fourth}" in ran.err


def test_a_tape_that_plays_after_all(tmp_path: Path) -> None:
    """The complaint is taken again: it plays. Nothing is broken, and the case is closed."""
    answers = ("test M", "yes", "1", "yes", "no", "yes")
    ran = talk(tmp_path, *BEGIN, *answers, "yes", "yes")

    assert "1 track 3 does not play" in ran.err
    assert "Track 3: Does it play?" in ran.err
    assert "NOTHING BROKEN in this chain" in ran.err
    assert "is closed: nothing was broken." in ran.err
    assert 0 == ran.code
    assert "NOTHING BROKEN" in ran.out


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
