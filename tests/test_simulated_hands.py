"""What the clips touch, how a contact bounces, and the script that moves the hands."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, field
from itertools import pairwise

import pytest

from coilmeter.errors import InputError
from coilmeter.sources.simulated import Hands, Move, Performer, SimulatedHead, Touch, script_for
from coilmeter.values import CASE


@dataclass
class SteppingClock:
    """A clock on which time passes only by sleeping, or by hand."""

    time_s: float = 100.0
    sleeps: list[float] = field(default_factory=list)

    def now(self) -> float:
        """Give the time."""
        return self.time_s

    def sleep(self, seconds: float) -> None:
        """Let time pass at once."""
        self.sleeps.append(seconds)
        self.time_s += seconds


HEAD = SimulatedHead({"L": ("1", "2", 300.0), "R": ("3", "4", 310.0)}).with_open("R")


def clean_hands(head: SimulatedHead = HEAD) -> Hands:
    """Hands whose contacts do not bounce."""
    return Hands(head, SteppingClock(), bounce_s=0.0)


def test_clips_see_what_they_touch() -> None:
    """Lifted is open; on a coil its ohms; together nothing at all."""
    hands = clean_hands()
    seen = [hands.resistance(100.0)]
    hands.clip("1", "2")
    seen.append(hands.resistance(100.0))
    hands.clip("3", "4")
    seen.append(hands.resistance(100.0))
    hands.short_leads()
    seen.append(hands.resistance(100.0))
    hands.lift()
    seen.append(hands.resistance(100.0))

    assert [math.inf, 300.0, math.inf, 0.0, math.inf] == pytest.approx(seen)


def test_tip_across_an_open_coil_reads_nearly_zero() -> None:
    """The metal tip lies in parallel: near zero on any coil, gone when taken away."""
    hands = clean_hands()
    hands.clip("3", "4")
    hands.bridge(on=True)
    bridged_open = hands.resistance(100.0)
    hands.bridge(on=False)
    after = hands.resistance(100.0)
    hands.clip("1", "2")
    hands.bridge(on=True)

    assert 0.03 == pytest.approx(bridged_open)
    assert math.inf == after
    assert 1 / (1 / 300.0 + 1 / 0.03) == pytest.approx(hands.resistance(100.0))


def test_tip_changes_nothing_where_it_cannot() -> None:
    """With the clips lifted or together the tip is not between them; lifting takes it along."""
    hands = clean_hands()
    hands.bridge(on=True)
    lifted = hands.resistance(100.0)
    hands.short_leads()
    hands.bridge(on=True)
    together = hands.resistance(100.0)
    hands.lift()
    hands.clip("3", "4")

    assert math.inf == lifted
    assert 0.0 == together
    assert math.inf == hands.resistance(100.0)


def test_unknown_pin_is_refused_and_nothing_moves() -> None:
    """A pin that is not there is answered at once, and the clips stay where they were."""
    hands = clean_hands()
    hands.clip("1", "2")

    with pytest.raises(InputError, match="'7'"):
        hands.clip("1", "7")

    assert 300.0 == pytest.approx(hands.resistance(100.0))


def test_fault_switched_under_the_clips() -> None:
    """Another head under the same clips is seen at once; one without the pins is refused."""
    hands = clean_hands()
    hands.head = HEAD.with_leak("1", CASE, 12.0)
    hands.clip("1", CASE)
    leaking = hands.resistance(100.0)
    hands.head = HEAD

    with pytest.raises(InputError, match="'1'"):
        hands.head = SimulatedHead({"X": ("8", "9", 10.0)})

    assert 12.0 == pytest.approx(leaking)
    assert math.inf == hands.resistance(100.0)
    assert HEAD == hands.head


def test_contact_bounces_and_then_is_clean() -> None:
    """First open and some random ohms in turn, then the coil and nothing else."""
    hands = Hands(HEAD, SteppingClock(50.0), bounce_s=0.25, seed=4)
    hands.clip("1", "2")

    bouncing = [hands.resistance(50.0 + 0.25 * i / 1000) for i in range(1000)]
    clean = [hands.resistance(50.25 + step) for step in (0.0, 0.1, 100.0)]
    levels = list(dict.fromkeys(bouncing))
    changes = [a != b for a, b in pairwise(bouncing)].count(True)

    assert math.inf == bouncing[0]
    assert math.inf == hands.resistance(49.9)
    assert changes >= 3
    assert all(level > 300.0 for level in levels)
    assert len(levels) >= 3
    assert [300.0] * 3 == pytest.approx(clean)


def test_bounce_repeats_with_its_seed() -> None:
    """The same seed and moves bounce alike; the next contact bounces otherwise."""
    instants = [100.0 + i / 500 for i in range(125)]
    hands, again = (Hands(HEAD, SteppingClock(), seed=9) for _ in range(2))
    hands.clip("1", "2")
    again.clip("1", "2")
    first = [hands.resistance(at) for at in instants]
    hands.lift()
    hands.clip("1", "2")

    assert first == [again.resistance(at) for at in instants]
    assert first != [hands.resistance(at) for at in instants]


def moves_of(script: tuple[Move, ...]) -> list[tuple[float, str]]:
    """Give the script as waits and words."""
    return [(move.wait_s, move.note) for move in script]


def test_script_for_values_and_open_pairs() -> None:
    """A value is held and lifted; an open pair is held, bridged, held again and lifted."""
    script = script_for(
        [Touch(None), Touch(("1", "2")), Touch(("3", "4"), bridge=True), Touch(("1", "3"))]
    )

    assert [
        (1.0, "clips together"),
        (2.5, "lift"),
        (1.0, "clip 1 and 2"),
        (2.5, "lift"),
        (1.0, "clip 3 and 4"),
        (7.0, "bridge the pins"),
        (0.6, "tip off"),
        (3.0, "lift"),
        (1.0, "clip 1 and 3"),
        (2.5, "lift"),
    ] == moves_of(script)


def test_script_times_can_be_set() -> None:
    """Every time is a parameter, and a pair may have its own."""
    script = script_for(
        [
            Touch(("1", "2"), hold_s=9.0),
            Touch(("1", "2")),
            Touch(("3", "4"), bridge=True, hold_s=8.0),
            Touch(("3", "4"), bridge=True),
        ],
        lifted_s=0.1,
        hold_s=0.2,
        ol_hold_s=0.3,
        bridge_s=0.4,
        after_bridge_s=0.5,
    )

    assert [0.1, 9.0, 0.1, 0.2, 0.1, 8.0, 0.4, 0.5, 0.1, 0.3, 0.4, 0.5] == [
        move.wait_s for move in script
    ]


def test_performer_moves_on_the_bench_clock() -> None:
    """Each move is made when its time on the bench clock has come, and in order."""
    clock = SteppingClock()
    hands = Hands(HEAD, clock, bounce_s=0.0)
    seen: list[tuple[float, float]] = []

    def look(hands: Hands) -> None:
        seen.append((clock.now(), hands.resistance(clock.now())))

    script = [
        *(Move(0.0, look), Move(1.0, lambda hands: hands.clip("1", "2")), Move(0.5, look)),
        *script_for([Touch(("3", "4"), bridge=True)])[:2],
        *(Move(0.25, look), Move(0.0, Hands.lift), Move(0.0, look)),
    ]
    with Performer(hands, script) as performer:
        ended = performer.join(20)

    assert ended
    assert [
        (100.0, math.inf),
        (101.5, 300.0),
        (109.75, 0.03),
        (109.75, math.inf),
    ] == [pytest.approx(each) for each in seen]
    assert max(clock.sleeps) <= 0.05


def test_performer_waits_for_its_cue() -> None:
    """Nothing moves before the cue; leaving without it ends the thread."""
    cue = threading.Event()
    moved = threading.Event()
    script = [Move(0.0, lambda _: moved.set())]
    with Performer(clean_hands(), script, cue=cue) as performer:
        early = performer.join(0.05)
        moved_early = moved.is_set()
        cue.set()
        ended = performer.join(20)
    with Performer(clean_hands(), script, cue=threading.Event()) as left:
        pass

    assert (False, False) == (early, moved_early)
    assert ended
    assert moved.is_set()
    assert left.join(0)


def test_performer_drops_what_is_left() -> None:
    """Leaving before the script has ended drops the rest of it."""
    started = threading.Event()
    late = threading.Event()

    class Still(SteppingClock):
        """A clock that stands still."""

        def sleep(self, seconds: float) -> None:
            """Let no time pass."""
            self.sleeps.append(seconds)
            started.wait(0.001)

    script = [Move(0.0, lambda _: started.set()), Move(1.0, lambda _: late.set())]
    with Performer(Hands(HEAD, Still()), script) as performer:
        begun = started.wait(20)

    assert begun
    assert performer.join(0)
    assert not late.is_set()


def test_error_of_a_move_comes_out() -> None:
    """A move that fails ends the script, and its error comes out on leaving."""
    with (
        pytest.raises(InputError, match="'77'"),
        Performer(clean_hands(), script_for([Touch(("1", "77"))], lifted_s=0)) as performer,
    ):
        performer.join(20)


def test_own_error_is_not_covered_by_that_of_a_move() -> None:
    """An error of the caller goes first; that of a move does not take its place."""
    script = script_for([Touch(("1", "77"))], lifted_s=0)

    def run() -> None:
        with Performer(clean_hands(), script) as performer:
            performer.join(20)
            raise KeyError

    with pytest.raises(KeyError):
        run()


@pytest.mark.parametrize("wait_s", [-1.0, math.nan, math.inf])
def test_impossible_wait_is_refused(wait_s: float) -> None:
    """A move waits a finite time, forwards."""
    with pytest.raises(InputError, match="told to wait"):
        Performer(clean_hands(), [Move(wait_s, Hands.lift)])
