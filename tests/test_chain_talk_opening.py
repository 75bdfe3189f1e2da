"""The first questions of ``coilmeter chain``: what, which track, which others, which case."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from chain_talks import BEGIN, asked, seen, talk


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
