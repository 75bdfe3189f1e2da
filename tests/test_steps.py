"""The steps of a walk: complete, once each, and with few clip moves."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence
from dataclasses import replace

import pytest
from helpers import shipped
from walk_helpers import bands_of, steps_of

from coilmeter.compute.paths import required_paths
from coilmeter.units import parse_quantity
from coilmeter.values import CASE, MOST_COILS, HeadKind, Purpose, numbered_kind
from coilmeter.walks.steps import CLIPS, Step, plan

NAMED = [
    kind for name, kind in sorted(shipped().kinds.items()) if not name.startswith("coils-")
]
KINDS = [*NAMED, *(numbered_kind(number) for number in range(1, MOST_COILS + 1))]
every_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.name))


def moves_of(points: Sequence[tuple[str, str]]) -> int:
    """Count the clips that are moved to touch pairs of points one after the other."""
    before: set[str] = set()
    moves = 0
    for pair in points:
        moves += len(set(pair) - before)
        before = set(pair)
    return moves


@every_kind
def test_every_coil_and_path_once(kind: HeadKind) -> None:
    """The leads first, then every coil and every required path exactly once."""
    steps = steps_of(kind, lead_null=True, isolation=True)
    coils = [step.coil for step in steps if step.purpose is Purpose.COIL]
    paths = [(step.coil, step.other) for step in steps if step.purpose.is_isolation]
    names = [coil.name for coil in kind.coils]

    assert [Purpose.LEAD_NULL] == [step.purpose for step in steps[:1]]
    assert sorted(names) == sorted(coils)
    assert sorted(required_paths(kind, names)) == sorted(paths)
    assert len(steps) == 1 + len(coils) + len(paths)
    assert len(steps) == len({step.key for step in steps})


@every_kind
def test_points_belong_to_what_is_measured(kind: HeadKind) -> None:
    """A coil is read on its two pins, a path on one of each side."""
    pins = {coil.name: set(coil.pins) for coil in kind.coils} | {CASE: {CASE}}
    for step in steps_of(kind, isolation=True):
        if step.purpose is Purpose.COIL:
            assert pins[step.coil] == set(step.points)
        else:
            first, second = step.points
            assert first in pins[step.coil]
            assert second in pins[step.other]
        assert step.points in step.choices
        assert 0 < step.near_zero_ohm <= 2.0


@every_kind
def test_no_more_moves_than_the_plain_order(kind: HeadKind) -> None:
    """Coils as listed and paths on first pins would need at least as many."""
    steps = steps_of(kind, isolation=True)
    pins = {coil.name: coil.pins for coil in kind.coils} | {CASE: (CASE, CASE)}
    plain = [coil.pins for coil in kind.coils]
    plain += [
        (pins[start][0], pins[end][0])
        for start, end in required_paths(kind, [coil.name for coil in kind.coils])
    ]

    assert moves_of([step.points for step in steps]) <= moves_of(plain)


@every_kind
def test_stated_moves_are_the_moves(kind: HeadKind) -> None:
    """What a step says of clips to move is what is to be moved."""
    steps = steps_of(kind, isolation=True)

    assert moves_of([step.points for step in steps]) == sum(step.moves for step in steps)


def fewest_moves(steps: Sequence[Step]) -> int:
    """Search every order and every choice of points, coils and paths mixed."""

    @functools.cache
    def rest(done: int, clipped: frozenset[str]) -> int:
        if done == (1 << len(steps)) - 1:
            return 0
        return min(
            len(set(choice) - clipped) + rest(done | 1 << place, frozenset(choice))
            for place, step in enumerate(steps)
            if not done >> place & 1
            for choice in step.choices
        )

    return rest(0, frozenset())


@pytest.mark.parametrize("isolation", [True, False])
@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if len(kind.coils) <= 4], ids=lambda kind: str(kind.name)
)
def test_small_heads_need_the_fewest_moves_there_are(
    kind: HeadKind, *, isolation: bool
) -> None:
    """No other order of coils and paths, and no other choice of pins, needs fewer."""
    steps = steps_of(kind, isolation=isolation)

    assert fewest_moves(steps) == sum(step.moves for step in steps)


@every_kind
def test_every_head_needs_the_fewest_moves_there_can_be(kind: HeadKind) -> None:
    """Two clips for the first, and one for each step more, as no two have both points alike.

    The lead null needs its own two: it leaves no clip on a pin.
    """
    steps = steps_of(kind, lead_null=True, isolation=True)
    points = [frozenset(step.points) for step in steps]

    assert len(points) == len(set(points))
    assert 2 + 2 + (len(steps) - 2) == sum(step.moves for step in steps)


def test_the_moves_of_a_head_of_four() -> None:
    """Twelve readings in fourteen moves; coils before paths needed seventeen."""
    steps = steps_of(shipped().kinds["four-channel-rp"], lead_null=True, isolation=True)

    assert (12, 14) == (len(steps), sum(step.moves for step in steps))


SMALL = [shipped().kinds[name] for name in ("two-channel-rp", "four-channel-rp-common")]


@pytest.mark.parametrize("kind", SMALL, ids=lambda kind: str(kind.name))
def test_going_on_begins_in_the_air(kind: HeadKind) -> None:
    """Whatever is done comes first, and what is left is planned from two clips in the air."""
    whole = steps_of(kind, lead_null=True, isolation=True)
    keys = [step.key for step in whole]
    for chosen in itertools.product([True, False], repeat=len(keys)):
        done = [key for key, is_done in zip(keys, chosen, strict=True) if is_done]
        steps = plan(kind, bands_of(kind), done=done)
        left = steps[len(done) :]
        on_pins = [step for step in left if step.purpose is not Purpose.LEAD_NULL]

        assert sorted(done) == sorted(step.key for step in steps[: len(done)])
        assert sorted(keys) == sorted(step.key for step in steps)
        assert "leads" not in [step.key for step in left[1:]]
        assert moves_of([step.points for step in on_pins]) == sum(
            step.moves for step in on_pins
        )
        assert fewest_moves(on_pins) == sum(step.moves for step in on_pins)


def test_a_common_return_stays_clipped() -> None:
    """After the first coil only one clip moves."""
    moves = [step.moves for step in steps_of(shipped().kinds["four-channel-rp-common"])]

    assert [2, 1, 1, 1] == moves


def test_without_null_and_isolation() -> None:
    """Only the coils are left."""
    kind = numbered_kind(2)
    steps = plan(kind, bands_of(kind), lead_null=False, isolation=False)

    assert ["coil 1", "coil 2"] == [step.key for step in steps]


def test_keys_and_places_in_words() -> None:
    """A step says what it measures and where the clips go."""
    steps = steps_of(shipped().kinds["one-channel-rp"], lead_null=True, isolation=True)

    assert [
        ("leads", "the two clips together"),
        ("coil 1", "pin 1 and pin 2"),
        ("1 to case", "pin 1 and case"),
    ] == [(step.key, step.where) for step in steps]
    assert CLIPS == steps[0].points


@pytest.mark.parametrize(
    ("low", "expected"),
    [("100 ohm", 2.0), ("20 ohm", 2.0), ("3 ohm", 1.5), ("1.2 ohm", 0.6), ("0.5 ohm", 0.6)],
)
def test_near_zero_is_well_below_a_sound_coil(low: str, expected: float) -> None:
    """It is half of the lowest sound coil, within what a tip and two leads can show."""
    kind = numbered_kind(1)
    bands = {"1": replace(shipped().bands["any"], low=parse_quantity(low, "ohm"))}
    (step,) = plan(kind, bands, lead_null=False, isolation=False)

    assert expected == pytest.approx(step.near_zero_ohm)
