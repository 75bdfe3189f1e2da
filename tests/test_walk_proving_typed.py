"""The walk that proves a meter, typed: readings, overloads, slips of the pen."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math

import pytest
from proof_played import KNOWN, OPEN, RESISTOR, SHORT, Played, whys

from coilmeter.errors import ReadingTextError
from coilmeter.walks.proving import ProofWalk


def test_typed_readings() -> None:
    """One, or several with a semicolon between them, whose scatter counts then."""
    walk = Played().walk
    walk.type("0.2 ohm; 0.3; 0.1 ohm")
    walk.type("0.2 ohm")
    walk.type("OL 40 Mohm")
    walk.type("220.6")
    short, resistor = walk.results[SHORT].taken, walk.results[RESISTOR].taken

    assert short is not None
    assert resistor is not None
    assert (3, 0.2, 0.1) == pytest.approx((short.count, short.mean_ohm, short.scatter_ohm))
    assert 0.1 == pytest.approx(short.step_ohm)
    assert (1, 0.0) == (resistor.count, resistor.scatter_ohm)
    assert walk.finished


@pytest.mark.parametrize("text", ["", "OL", "0.2; OL", "beep", "12 V", "0.2 ohm;"])
def test_what_cannot_be_typed(text: str) -> None:
    """It is said, and the step waits."""
    walk = Played().walk
    with pytest.raises(ReadingTextError):
        walk.type(text)

    assert SHORT == walk.step


def test_an_overload_typed_without_its_range() -> None:
    """Of a meter that ranges by itself, it is past the highest range; else it is not known."""
    walks = [Played().walk for _ in range(2)]
    for walk, text in zip(walks, ("OL auto", "OL"), strict=True):
        for typed in ("0.2", "0.2", text):
            walk.type(typed)

    assert [math.inf, None] == [walk.results[OPEN].range_ohm for walk in walks]


def test_a_slip_of_the_pen_is_asked_about() -> None:
    """A point in the wrong place must not condemn a meter."""
    walk = Played().walk
    walk.type("0.2")
    walk.type("0.2")
    walk.type("OL")
    said = walk.type("22.06")
    walk.type("220.6")
    taken = walk.results[RESISTOR].taken

    assert "another resistor?" in whys(said)[0]
    assert taken is not None
    assert 220.6 == taken.mean_ohm


def test_two_resistors_of_one_value() -> None:
    """They are two steps."""
    walk = ProofWalk((KNOWN, KNOWN))
    for text in ("0.2", "0.2", "OL", "220.1", "220.4"):
        walk.type(text)

    assert [220.1, 220.4] == [
        event.taken.mean_ohm
        for step, event in walk.results.items()
        if step.resistor and event.taken
    ]
