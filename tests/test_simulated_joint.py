"""A loose joint, and a board that is still connected."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.errors import InputError
from coilmeter.sources.simulated import Hands, SimulatedHead
from coilmeter.sources.simulated_joint import Board, LooseJoint


class StillClock:
    """A clock that stands still."""

    def now(self) -> float:
        """Give the time."""
        return 100.0

    def sleep(self, seconds: float) -> None:
        """Let no time pass."""


def test_a_joint_is_open_for_its_share_of_the_time() -> None:
    """Over a long time its share is the mean drop-out over the mean of a whole cycle.

    Source: renewal reward theorem (S. M. Ross, Stochastic Processes, 2nd edition, 3.6; from
    memory, not verified).
    """
    for share, open_s in ((0.1, 0.3), (0.5, 1.0), (0.8, 0.2)):
        joint = LooseJoint(share, drop_out_s=open_s, seed=11)
        step_s = min(open_s, open_s * (1 - share) / share) / 10
        seen = [joint.is_open(number * step_s) for number in range(200_000)]
        drops = sum(b and not a for a, b in pairwise(seen))

        assert share == pytest.approx(sum(seen) / len(seen), rel=0.08)
        assert open_s == pytest.approx(sum(seen) * step_s / drops, rel=0.2)


def test_a_joint_is_closed_before_and_at_first() -> None:
    """It begins closed at the time from which on it is loose."""
    joint = LooseJoint(0.9, since_s=50.0, seed=2)

    assert [False, False] == [joint.is_open(10.0), joint.is_open(50.0)]
    assert any(joint.is_open(50.0 + step / 10) for step in range(1000))


@given(st.lists(st.floats(0.0, 60.0), min_size=2), st.integers(0, 9))
def test_a_joint_is_the_same_however_it_is_asked(times: list[float], seed: int) -> None:
    """The order of the questions changes no answer, and the same seed opens alike."""
    joint, again = LooseJoint(0.4, seed=seed), LooseJoint(0.4, seed=seed)
    forward = {at: joint.is_open(at) for at in times}

    assert forward == {at: again.is_open(at) for at in sorted(times, reverse=True)}


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, math.nan])
def test_an_impossible_share_is_refused(share: float) -> None:
    """A joint that is never open, or always, is not loose."""
    with pytest.raises(InputError, match="above 0 and below 1"):
        LooseJoint(share, seed=0)


@pytest.mark.parametrize("open_s", [0.0, -1.0, math.inf, math.nan])
def test_an_impossible_time_is_refused(open_s: float) -> None:
    """A drop-out lasts a finite time."""
    with pytest.raises(InputError, match="more than 0 s"):
        LooseJoint(0.5, drop_out_s=open_s, seed=0)


def test_a_board_charges_as_textbooks_say() -> None:
    """63.2 % after one time constant, 95.0 % after three, 99.3 % after five.

    Source: the table every textbook of circuits has, e.g. J. W. Nilsson and S. A. Riedel,
    Electric Circuits, chapter on first-order RL and RC circuits (from memory).
    """
    board = Board(2.0, ohm=1e300)

    for times, share in ((0.0, 0.0), (1.0, 0.632), (3.0, 0.950), (5.0, 0.993)):
        assert share == pytest.approx(board.seen_ohm(100.0, 2.0 * times) / 100.0, abs=5e-4)


def test_a_board_lies_across_the_clips() -> None:
    """In the end two equal resistances read half, an open pair the board, a short nothing."""
    board = Board(1.0, ohm=300.0)

    assert 150.0 == pytest.approx(board.seen_ohm(300.0, 1e3))
    assert 300.0 == pytest.approx(board.seen_ohm(math.inf, 1e3))
    assert 0.0 == board.seen_ohm(0.0, 1e3)


@pytest.mark.parametrize("values", [(0.0, 1.0), (1.0, 0.0), (math.inf, 1.0), (1.0, math.nan)])
def test_an_impossible_board_is_refused(values: tuple[float, float]) -> None:
    """Time and resistance are above zero, and finite."""
    with pytest.raises(InputError, match="a board"):
        Board(*values)


HEAD = SimulatedHead({"L": ("1", "2", 300.0), "R": ("3", "4", 310.0)})


def test_only_the_loose_coil_drops_out() -> None:
    """Through the loose coil the clips see open and closed in turn, through the other not."""
    hands = Hands(HEAD, StillClock(), bounce_s=0.0)
    hands.joints = {"L": LooseJoint(0.5, since_s=100.0, seed=3)}
    hands.clip("1", "2")
    loose = {hands.resistance(100.0 + step / 10) for step in range(200)}
    hands.clip("3", "4")
    tight = {hands.resistance(100.0 + step / 10) for step in range(200)}
    hands.short_leads()
    together = {hands.resistance(100.0 + step / 10) for step in range(200)}

    assert {300.0, math.inf} == {round(each, 6) for each in loose}
    assert {310.0} == {round(each, 6) for each in tight}
    assert {0.0} == together


def test_a_board_charges_anew_with_each_contact_and_after_the_tip() -> None:
    """From zero at the contact; the metal tip discharges it; clips together see no board."""
    hands = Hands(HEAD, StillClock(), bounce_s=0.0)
    hands.board = Board(1.0, ohm=1e9)
    hands.clip("1", "2")
    first = [hands.resistance(at) for at in (100.0, 101.0, 150.0)]
    hands.bridge(on=True)
    bridged = hands.resistance(100.5)
    hands.bridge(on=False)
    after = hands.resistance(100.0)
    hands.short_leads()

    assert [0.0, 300.0 * (1 - math.exp(-1)), 300.0] == pytest.approx(first, rel=1e-6)
    assert 0.03 == pytest.approx(bridged, rel=1e-3)
    assert 0.0 == after
    assert 0.0 == hands.resistance(150.0)


def test_what_the_clips_are_on_in_words() -> None:
    """Where the hands are can be said."""
    hands = Hands(HEAD, StillClock())
    said = [hands.where]
    hands.clip("1", "2")
    said.append(hands.where)
    hands.bridge(on=True)
    said.append(hands.where)
    hands.short_leads()
    said.append(hands.where)

    assert ["in the air", "1 and 2", "1 and 2, a tip across", "together"] == said
