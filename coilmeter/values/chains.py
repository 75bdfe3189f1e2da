"""Chains: links that can be broken, tests that see some of them, and what a test showed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from coilmeter.errors import InputError, UnknownNameError

COMPLAINT: Final = "complaint"
"""Name of what brought the machine to the bench, beside the names of tests."""

OTHERS: Final = "others"
"""Name of the other tracks, where nobody said which there are."""

MOST_LINKS: Final = 18
"""Every combination of broken links is looked at: 2 to this power of them at most."""


class Outcome(StrEnum):
    """What a test showed, or what is known of a link."""

    PASS = "pass"  # noqa: S105 - no password
    FAIL = "fail"
    FOLLOWS = "follows"
    STAYS = "stays"
    BOTH = "both"
    NEITHER = "neither"
    UNKNOWN = "unknown"
    SOUND = "sound"
    REPAIRED = "repaired"


OF_LINKS: Final = (Outcome.SOUND, Outcome.REPAIRED)
"""What can be said of a link itself: found sound, or repaired with the fault still there."""

_ONE: Final[Mapping[Outcome, tuple[bool, ...]]] = {
    Outcome.PASS: (False,),
    Outcome.FAIL: (True,),
}
_TWO: Final[Mapping[Outcome, tuple[bool, ...]]] = {
    Outcome.FOLLOWS: (True, False),
    Outcome.STAYS: (False, True),
    Outcome.BOTH: (True, True),
    Outcome.NEITHER: (False, False),
}


class Cell(StrEnum):
    """What a test sees of a link: a cell of a table of coverage."""

    DETECTS = "X"
    MAY = "o"
    BLIND = "."
    FOLLOWS = "F"
    STAYS = "B"


@dataclass(frozen=True, slots=True)
class Link:
    """One thing in a chain that can be broken.

    Parameters
    ----------
    name, title
        Short name, and what it is in words.
    station
        Where in the chain it sits; links of one station stand together in a drawing.
    weight
        How often it is the one, against the weights of the other links.
    common
        Share of these times in which it is broken for all tracks at once, 0 to 1.
    repair, repair_minutes
        What mends it, and how long that takes.
    basis
        Where weight and minutes come from, with their label.

    """

    name: str
    title: str
    station: str
    weight: float
    common: float
    repair: str
    repair_minutes: float
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Signal:
    """One way in which a test can point at links.

    Parameters
    ----------
    chances
        Chance that it shows when that link alone is broken; a link not in it is not seen.
    certain
        Links that it is taken not to miss: when it does not show, they are sound.
    false_alarm
        Chance that it shows with all of them sound.

    """

    chances: Mapping[str, float]
    certain: frozenset[str]
    false_alarm: float


@dataclass(frozen=True, slots=True)
class HowTo:
    """How a test is made and read; `levels` and `cautions` are sentences."""

    connect: str
    expect: str
    passed: str
    failed: str
    levels: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChainTest:
    """One test of a chain.

    Parameters
    ----------
    name, letter, title
        Short name, letter in the tables of coverage (empty where it has none), and what it
        is in words.
    question
        Asked of whoever made it; yes means that all is well.
    minutes, minutes_loose
        What it costs with the head in the machine, and with the head in the hand.
    needs
        What must be at hand, by name.
    signals
        One, for a test that passes or fails; two, for one in which a fault moves with the
        head or stays with the board.
    basis
        Where minutes and chances come from, with their label.

    """

    name: str
    letter: str
    title: str
    question: str
    minutes: float
    minutes_loose: float
    needs: tuple[str, ...]
    signals: tuple[Signal, ...]
    howto: HowTo
    basis: str = ""

    @property
    def meanings(self) -> Mapping[Outcome, tuple[bool, ...]]:
        """Which signals each outcome of this test stands for."""
        return _ONE if len(self.signals) == 1 else _TWO

    def cell(self, link: str) -> Cell:
        """Cell of the table of coverage."""
        marks = (Cell.DETECTS,) if len(self.signals) == 1 else (Cell.FOLLOWS, Cell.STAYS)
        for signal, mark in zip(self.signals, marks, strict=True):
            if link in signal.chances:
                return mark if link in signal.certain else Cell.MAY
        return Cell.BLIND

    def cost(self, *, loose: bool) -> float:
        """Minutes that it takes."""
        return self.minutes_loose if loose else self.minutes


@dataclass(frozen=True, slots=True)
class ChainMap:
    """The chain behind one complaint.

    Parameters
    ----------
    name, title
        ``playback``, ``record``, ``erase`` or one of the user's; what it is in words.
    verb
        What the track does not do: ``play``.
    links
        In the order of the signal.
    tests
        Those that see any of the links.
    complaint
        What brought it to the bench, as a test that has failed on the track in question.
    same_as_complaint
        The test, by name, that asks for the same once more and with care.
    several
        Odds, all links together, that one more of them is broken than is known of.
    needs
        What tests may need, by name, in words.

    """

    name: str
    title: str
    verb: str
    links: tuple[Link, ...]
    tests: tuple[ChainTest, ...]
    complaint: ChainTest
    same_as_complaint: str
    several: float
    needs: Mapping[str, str]

    def link(self, name: str) -> Link:
        """Give the link of that name.

        Raises
        ------
        UnknownNameError
            When there is none.

        """
        for link in self.links:
            if link.name == name:
                return link
        raise UnknownNameError(f"link of {self.name}", name, [link.name for link in self.links])

    def test(self, name: str) -> ChainTest:
        """Give the test of that name or letter, or the complaint.

        Raises
        ------
        UnknownNameError
            When there is none.

        """
        wanted = name.strip().lower().replace(" ", "-")
        for test in (*self.tests, self.complaint):
            if wanted in {test.name, test.letter.lower() or test.name}:
                return test
        known = [
            f"{test.name} ({test.letter})" if test.letter else test.name for test in self.tests
        ]
        raise UnknownNameError(f"test of {self.name}", name, known)


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen: the outcome of a test on a track, or what is known of a link.

    Parameters
    ----------
    name
        Test or link, by name, or `COMPLAINT`.
    outcome
        What it showed.
    track
        On which track.
    source
        Where it comes from, where nobody typed it.

    """

    name: str
    outcome: Outcome
    track: str
    source: str = field(default="", compare=False)

    def __str__(self) -> str:
        return f"{self.name}={self.outcome}"


def check_seen(chain: ChainMap, seen: Seen) -> Seen:
    """Give it with the name as the map has it.

    Raises
    ------
    UnknownNameError
        When neither a test nor a link is called so.
    InputError
        When that is no outcome of it.

    """
    if seen.outcome in OF_LINKS:
        return Seen(chain.link(seen.name).name, seen.outcome, seen.track, seen.source)
    test = chain.test(seen.name)
    if seen.outcome not in {*test.meanings, Outcome.UNKNOWN}:
        raise InputError(
            f"{test.name}: saw {str(seen.outcome)!r}",
            hint=f"it ends with one of: {', '.join([*test.meanings, Outcome.UNKNOWN])}.",
        )
    return Seen(test.name, seen.outcome, seen.track, seen.source)
