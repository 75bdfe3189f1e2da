"""Someone at the simulated bench who does what is asked."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import threading

import pytest
from walk_processes import LONGEST_S

from coilmeter.sources.clock import FastClock
from coilmeter.sources.simulated import Hands, Move, SimulatedHead
from coilmeter.sources.simulated_person import Attendant


def hands(speed: float = 1000.0) -> Hands:
    """Make hands over a head of one coil."""
    return Hands(SimulatedHead({"1": ("1", "2", 171.0)}), FastClock(speed))


def test_moves_are_made_in_order() -> None:
    """Each order is carried out to its end."""
    made: list[int] = []
    done = threading.Event()
    with Attendant(hands()) as attendant:
        attendant.order(
            [
                Move(0.1, lambda _: made.append(1)),
                Move(0.0, lambda _: made.append(2)),
                Move(0.1, lambda _: done.set()),
            ]
        )
        finished = done.wait(LONGEST_S)

    assert finished
    assert [1, 2] == made


def test_an_order_replaces_the_one_before() -> None:
    """What was left of the first is not done any more."""
    made: list[str] = []
    first, second = threading.Event(), threading.Event()
    with Attendant(hands()) as attendant:

        def once(_: Hands) -> None:
            made.append("first")
            first.set()

        attendant.order([Move(0.0, once), Move(1e9, lambda _: made.append("never"))])
        began = first.wait(LONGEST_S)
        attendant.order([Move(0.0, lambda _: second.set())])
        obeyed = second.wait(LONGEST_S)

    assert began
    assert obeyed
    assert ["first"] == made


def test_nothing_to_do() -> None:
    """Without an order the hands are still, and it ends when told."""
    with Attendant(hands()) as attendant:
        attendant.order([])

    assert attendant.join(0)


def test_told_to_stop_while_waiting() -> None:
    """A long wait does not keep anybody."""
    made: list[str] = []
    with Attendant(hands()) as attendant:
        attendant.order([Move(1e9, lambda _: made.append("never"))])
        attendant.join(0.2)

    assert attendant.join(0)
    assert [] == made


def test_an_error_of_a_move_comes_out() -> None:
    """A pin that is not there is not passed over in silence."""
    clipped = threading.Event()

    def wrong(of: Hands) -> None:
        clipped.set()
        of.clip("1", "99")

    def run() -> None:
        with Attendant(hands()) as attendant:
            attendant.order([Move(0.0, wrong)])
            clipped.wait(LONGEST_S)
            attendant.join(LONGEST_S)

    with pytest.raises(Exception, match="99"):
        run()
