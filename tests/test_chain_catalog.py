"""Chains in a user's own file: changed values, links and tests of their own, every mistake."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from chain_helpers import shipped_chains
from helpers import cli

from coilmeter.catalog import load_catalog
from coilmeter.catalog.chain_maps import load_chains
from coilmeter.compute.chain_diagnosis import Bench, diagnose
from coilmeter.compute.chain_model import Model, complaint
from coilmeter.errors import InputError, MistakesError
from coilmeter.values.chains import Cell, Outcome, Seen

NEW_TEST = """
[chain.tests.tap]
title = "tap the board with a stick"
question = "Does it stay silent when the board is tapped?"
minutes = 2
connect = "Set closed, tap its outside."
expect = "No change."
passed = "Nothing loose there."
failed = "Something is loose."
sees.playback.detects = ["preamp"]
sees.playback.may = ["mode-switch"]
"""

STRAY_LINK = """
[chain.links.nose.xx]
title = "x"
station = "x"
weight = 1
repair = "x"
repair_minutes = 1
"""


def own(folder: Path, text: str) -> Path:
    """Write a file of the user's own."""
    path = folder / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def mistakes(folder: Path, text: str) -> str:
    """Read a file that must be refused, and give all that was found, the path left out."""
    path = own(folder, text)
    with pytest.raises(MistakesError) as caught:
        load_chains([path])
    return str(caught.value).replace(f"{path}: ", "")


def test_one_entry_adds_a_test(tmp_path: Path) -> None:
    """It is asked for, its outcome counts, and nothing else has to be changed."""
    chain = load_chains([own(tmp_path, NEW_TEST)])["playback"]
    test = chain.test("tap")
    model = Model(chain)
    seen = [complaint("3"), Seen("tap", Outcome.FAIL, "3")]

    assert len(shipped_chains()["playback"].tests) + 1 == len(chain.tests)
    assert (Cell.DETECTS, Cell.MAY, Cell.BLIND) == (
        test.cell("preamp"),
        test.cell("mode-switch"),
        test.cell("contact"),
    )
    assert "tap" in {each.test.name for each in diagnose(model, seen[:1], "3", Bench()).tests}
    assert "preamp" == diagnose(model, seen, "3", Bench()).ranked[0].link.name
    assert "the user's own" == test.basis


def test_single_values_change(tmp_path: Path) -> None:
    """A weight, a cost, a chance; all else stays, and the basis says that it was changed."""
    text = """
    [chain.links.playback.contact]
    weight = 60
    [chain.tests.hiss]
    minutes = 9
    minutes_loose = 8
    false_alarm = 0.2
    [chain.tests.look.sees.playback]
    chances = { contact = 0.6 }
    """
    chain = load_chains([own(tmp_path, text)])["playback"]
    before = shipped_chains()["playback"]

    contact = chain.link("contact")
    assert (60, before.link("contact").repair) == (contact.weight, contact.repair)
    assert contact.basis.startswith("the user's own in part")
    assert before.link("preamp") == chain.link("preamp")
    hiss = chain.test("hiss")
    assert (9, 8, 0.2) == (hiss.minutes, hiss.minutes_loose, hiss.signals[0].false_alarm)
    assert 0.6 == chain.test("look").signals[0].chances["contact"]
    assert 0.9 == chain.test("look").signals[0].chances["worn-gap"]


def test_a_link_of_ones_own_joins_its_station(tmp_path: Path) -> None:
    """It is a suspect at once, and a test that sees it needs one line more."""
    text = """
    [chain.links.playback.muting]
    title = "muting relay"
    station = "board"
    weight = 30
    repair = "clean the relay"
    repair_minutes = 15
    [chain.tests.tone-at-preamp.sees.playback]
    detects = ["preamp", "output-stage", "muting"]
    """
    chain = load_chains([own(tmp_path, text)])["playback"]
    found = diagnose(Model(chain), [complaint("3")], "3", Bench())

    assert Cell.DETECTS is chain.test("K").cell("muting")
    # The complaint's own test does not see it: it cannot be what keeps the track silent.
    assert found.result("muting").probability < found.result("contact").probability


def test_a_weight_of_zero_takes_a_link_out(tmp_path: Path) -> None:
    """It is no suspect, and tests that saw nothing else go with it."""
    text = """
    [chain.links.erase.tape-format]
    weight = 0
    [chain.tests.look]
    use = false
    """
    chain = load_chains([own(tmp_path, text)])["erase"]

    assert "tape-format" not in {link.name for link in chain.links}
    names = {test.name for test in chain.tests}
    assert {"tape-elsewhere", "look"}.isdisjoint(names)
    assert "current" in names


def test_a_swap_without_one_side_goes(tmp_path: Path) -> None:
    """With nothing left on the board to stay with, a swap tells nothing."""
    board = ("mode-switch", "coupling-open", "coupling-leaky", "preamp", "output-stage")
    text = "\n".join(f"[chain.links.playback.{name}]\nweight = 0" for name in board)

    chain = load_chains([own(tmp_path, text)])["playback"]

    assert "swap-at-plug" not in {test.name for test in chain.tests}


def test_a_chain_of_ones_own(tmp_path: Path) -> None:
    """Another fault, with its links and tests, becomes one more fault to ask about."""
    text = """
    [chain.maps.wind]
    title = "the tape does not wind"
    verb = "wind"
    complaint = "winds"
    several = 0.1
    doubt = 0.01
    [chain.links.wind.belt]
    title = "belt"
    station = "drive"
    weight = 3
    repair = "renew the belt"
    repair_minutes = 20
    [chain.links.wind.motor]
    title = "motor"
    station = "drive"
    weight = 1
    repair = "renew the motor"
    repair_minutes = 60
    [chain.tests.winds]
    title = "wind a tape"
    question = "Does it wind?"
    minutes = 1
    connect = "Closed."
    expect = "It winds."
    passed = "Good."
    failed = "Bad."
    sees.wind.detects = ["belt", "motor"]
    """
    path = own(tmp_path, text)

    saw = ("--saw", "belt=sound", "--saw", "winds=fail")
    ran = cli("chain", "--fault", "wind", *saw, "--catalog", str(path))
    assert (1, True) == (ran.code, "wind, track 1: REPAIR motor (motor, 9" in ran.out)


def test_the_same_file_serves_every_command(tmp_path: Path) -> None:
    """Bands and chains stand in one file; what is not about chains is left to the others."""
    text = "[bands.wide]\nshorted_below = '1 ohm'\nlow = '2 ohm'\nhigh = '3 ohm'\n"
    text += "open_above = '4 ohm'\n[chain.tests.hiss]\nminutes = 2\n"
    path = own(tmp_path, text)

    assert "wide" in load_catalog([path]).bands
    assert 2 == load_chains([path])["playback"].test("hiss").minutes


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[chain.nose]\nx = 1", "chain.nose: saw {'x': 1}, expected no such key"),
        ("[chain.tests.hiss]\nminutes = -1", "chain.tests.hiss.minutes: saw -1"),
        ("[chain.tests.hiss]\nminutes = '3'", "chain.tests.hiss.minutes: saw '3'"),
        ("[chain.tests.hiss]\nmenace = 3", "chain.tests.hiss.menace: saw 3, expected no such"),
        ("[chain.tests.hiss]\nfalse_alarm = 0", "chain.tests.hiss.false_alarm: saw 0"),
        ("[chain.links.playback.contact]\nweight = inf", "contact.weight: saw inf"),
        ("[chain.links.playback.contact]\ncommon = 2", "contact.common: saw 2"),
        ("[chain.tests.Big-Name]\nminutes = 1", "expected a short name of small letters"),
        (
            "[chain.tests.tap]\nminutes = 1",
            "chain.tests.tap.title: saw nothing, expected this key, which is required",
        ),
        (
            "[chain.links.playback.muting]\nweight = 1",
            "chain.links.playback.muting.repair: saw nothing",
        ),
        (
            NEW_TEST + "sees.nose.detects = ['preamp']",
            "chain.tests.tap.sees.nose: saw 'nose', expected a chain: playback, record, erase",
        ),
        (
            NEW_TEST + "sees.record.detects = ['preamp']",
            "chain.tests.tap.sees.record.detects: saw 'preamp', expected a link: record-amp",
        ),
        (
            NEW_TEST + "sees.record.detects = ['contact', 'contact']",
            "saw 'contact', expected each link in one list, once",
        ),
        (NEW_TEST + "sees.record.detects = []", "sees.record: saw no link"),
        (
            NEW_TEST + "sees.record.follows = ['contact']",
            "sees.record: saw half of a swap, expected follows and stays, without detects",
        ),
        (
            NEW_TEST + "sees.record.detects = ['contact']\n"
            "sees.record.chances = { coil-open = 0.5 }",
            "sees.record.chances: saw 'coil-open', expected a link of the lists beside it",
        ),
        (NEW_TEST + "needs = ['luck']", "chain.tests.tap.needs: saw 'luck', expected one of"),
        (NEW_TEST + "cautions = ['luck']", "chain.tests.tap.cautions: saw 'luck'"),
        (NEW_TEST + "letter = 'a'", "chain.tests.tap: saw 'a', expected another, because"),
        ("[chain.maps.playback]\ncomplaint = 'nose'", "saw 'nose', expected a test that sees"),
        ("[chain.maps.playback]\ncomplaint = 'oscillator'", "saw 'oscillator'"),
        (
            "[chain.maps.erase]\ncomplaint = 'track-enable'",
            "chain.maps.erase.complaint: saw 'track-enable'",
        ),
        (
            "[chain.maps.erase]\ncomplaint = 'board-side'",
            "chain.maps.erase.complaint: saw 'board-side', expected a test that detects",
        ),
        ("[chain.maps.wind]\ntitle = 'x'", "chain.maps.wind.verb: saw nothing"),
        (
            STRAY_LINK,
            "chain.links.nose: saw 'nose', expected a chain",
        ),
    ],
)
def test_mistakes_are_named_with_their_place(tmp_path: Path, text: str, expected: str) -> None:
    """What was seen, where, and what was expected."""
    told = mistakes(tmp_path, text)

    assert expected in told
    assert "nothing was looked for" in told


def test_too_few_links_are_a_mistake(tmp_path: Path) -> None:
    """A chain of one link has nothing to tell apart."""
    links = [link.name for link in shipped_chains()["erase"].links][1:]
    text = "\n".join(f"[chain.links.erase.{name}]\nweight = 0" for name in links)

    assert "chain.maps.erase: saw too few links" in mistakes(tmp_path, text)


def test_every_mistake_comes_at_once(tmp_path: Path) -> None:
    """Three wrong values, three lines, one message."""
    text = "[chain.tests.hiss]\nminutes = -1\nneeds = [3]\nfalse_alarm = 2\n"

    assert "3 mistakes; nothing was looked for" in mistakes(tmp_path, text)


def test_a_file_that_is_no_toml_is_told(tmp_path: Path) -> None:
    """Its place in the file is named; a missing one says so."""
    with pytest.raises(InputError, match="not a TOML file"):
        load_chains([own(tmp_path, "[chain")])
    with pytest.raises(InputError, match="cannot be read"):
        load_chains([tmp_path / "nowhere.toml"])


def test_the_command_line_tells_of_mistakes(tmp_path: Path) -> None:
    """Exit code 2, and no traceback."""
    path = own(tmp_path, "[chain.tests.hiss]\nminutes = 0\n")

    ran = cli("chain", "--fault", "erase", "--no-ask", "--catalog", str(path))

    assert 2 == ran.code
    assert "chain.tests.hiss.minutes: saw 0" in ran.err
