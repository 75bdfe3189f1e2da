"""Answers that cannot all be right, at the prompt: one is taken again, or all are kept."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

from chain_talks import BEGIN, seen, talk


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
    assert "CLOSED. Nothing in this chain was broken." in ran.out
