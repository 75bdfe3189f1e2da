"""Suspects without probabilities: what explains everything seen, and what clashes.

Taken to the letter, a test that shows a fault says that one of the links it sees is broken,
and one that shows none says that those it detects are sound.

Source: conflicts and minimal diagnoses (Diagnosing Multiple Faults, Artificial Intelligence 32,
1987), in the form of tables of coverage.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple, TypeVar

from coilmeter.values.chains import COMPLAINT, ChainMap, ChainTest, Outcome, Seen, Signal

ALL: Final = "all tracks"
"""In the place of a track: broken for all of them at once."""

MOST_FAULTS: Final = 6
"""Sets of more are not looked for."""

_T = TypeVar("_T")


class Fault(NamedTuple):
    """A link that is broken on a track, or on `ALL`."""

    link: str
    track: str


def minimal_sets(conflicts: Iterable[frozenset[_T]]) -> list[frozenset[_T]]:
    """Give every minimal set that has a member in each conflict, the smallest first.

    Parameters
    ----------
    conflicts
        Sets of which one member each is at fault.

    Returns
    -------
    list of frozenset
        Minimal diagnoses; one empty set where there is no conflict, none where a conflict is
        empty.

    """
    found: list[frozenset[_T]] = [frozenset()]
    for conflict in sorted(set(conflicts), key=len):
        hit = [each for each in found if each & conflict]
        grown = {each | {one} for each in found if not each & conflict for one in conflict}
        found = hit + [
            each
            for each in sorted(grown, key=len)
            if not any(other < each or other == each for other in hit)
            and not any(other < each for other in grown)
        ]
    return sorted(found, key=len)


def fewest_sets(conflicts: Iterable[frozenset[_T]]) -> list[frozenset[_T]]:
    """Give the sets of fewest members that have one in each conflict.

    What `minimal_sets` gives first, without making all the others: of these there can be
    very many.

    Returns
    -------
    list of frozenset
        None where a conflict is empty, or where more than `MOST_FAULTS` would be needed.

    """
    sets = sorted(set(conflicts), key=len)
    if not all(sets):
        return []
    for size in range(MOST_FAULTS + 1):
        found = dict.fromkeys(_hitting(sets, frozenset(), size))
        if found:
            return list(found)
    return []


def _hitting(
    sets: Sequence[frozenset[_T]], chosen: frozenset[_T], more: int
) -> Iterator[frozenset[_T]]:
    missed = next((each for each in sets if not each & chosen), None)
    if missed is None:
        yield chosen
    elif more:
        for one in missed:
            yield from _hitting(sets, chosen | {one}, more - 1)


class Logic:
    """What was seen, taken to the letter.

    Parameters
    ----------
    chain
        The map.
    seen
        What was seen on all tracks, in its order.

    """

    def __init__(self, chain: ChainMap, seen: Sequence[Seen]) -> None:
        self._chain = chain
        self._seen = seen
        self._repairs = {
            (each.name, each.track): number
            for number, each in enumerate(seen)
            if each.outcome is Outcome.REPAIRED
        }

    def explanations(self) -> list[frozenset[Fault]]:
        """Give the sets of faults that explain everything, of the fewest faults that do.

        None where nothing explains all: then `clashes` says why.
        """
        conflicts: list[frozenset[Fault]] = []
        for number, signal in self._shown():
            left = frozenset(
                fault
                for fault in self._faults(signal, self._seen[number].track)
                if not self._against(fault, number)
            )
            if not self._repaired_since(left, number):
                conflicts.append(left)
        return fewest_sets(conflicts)

    def clashes(self) -> list[tuple[Seen, ...]]:
        """Give the smallest sets of things seen that cannot all be right.

        Several where they are of one size; none where all can be right.
        """
        found = [frozenset(pair) for pair in self._twofold()]
        for number, signal in self._shown():
            faults = self._faults(signal, self._seen[number].track)
            against = [frozenset(self._against(fault, number)) for fault in faults]
            if all(against):
                found += [each | {number} for each in fewest_sets(against)[:1]]
        fewest = min(map(len, found), default=0)
        chosen = {each for each in found if len(each) == fewest}
        return [
            tuple(self._seen[number] for number in sorted(each))
            for each in sorted(chosen, key=sorted)
        ]

    def clears(self, link: str, track: str) -> list[Seen]:
        """Give what was seen that takes a link for sound on a track."""
        last = len(self._seen)
        # What is broken for all tracks or for none is cleared by any of them.
        where = ALL if self._chain.link(link).common == 1 else track
        numbers = set(self._against(Fault(link, where), last))
        return [self._seen[number] for number in sorted(numbers)]

    def points_to(self, link: str, track: str) -> list[Seen]:
        """Give what was seen on a track that a link would explain."""
        return [
            self._seen[number]
            for number, signal in self._shown()
            if link in signal.chances and self._seen[number].track == track
        ]

    def _tests(self) -> Iterator[tuple[int, ChainTest]]:
        for number, each in enumerate(self._seen):
            test = None if each.outcome in {Outcome.SOUND, Outcome.REPAIRED} else each.name
            if test is not None and each.outcome is not Outcome.UNKNOWN:
                yield number, self._chain.test(test)

    def _shown(self) -> Iterator[tuple[int, Signal]]:
        """Give each signal that showed."""
        for number, test in self._tests():
            shown = test.meanings[self._seen[number].outcome]
            for signal, shows in zip(test.signals, shown, strict=True):
                if shows:
                    yield number, signal

    def _faults(self, signal: Signal, track: str) -> list[Fault]:
        """Give the faults that a signal on a track can come from."""
        faults = []
        for link in self._chain.links:
            if link.name in signal.chances:
                if link.common < 1:
                    faults.append(Fault(link.name, track))
                if link.common > 0:
                    faults.append(Fault(link.name, ALL))
        return faults

    def _against(self, fault: Fault, number: int) -> list[int]:
        """Give the numbers of what says that a fault was not there when `number` was seen."""
        found = []
        for other, each in enumerate(self._seen):
            if fault.track not in {each.track, ALL} or each.outcome is Outcome.UNKNOWN:
                continue
            if each.outcome is Outcome.REPAIRED:
                if each.name == fault.link and other < number:
                    found.append(other)
                continue
            apart = self._repairs.get((fault.link, each.track))
            if apart is not None and (other < apart) != (number < apart):
                continue
            if self._takes_for_sound(each, fault.link):
                found.append(other)
        return found

    def _takes_for_sound(self, seen: Seen, link: str) -> bool:
        if seen.outcome is Outcome.SOUND:
            return seen.name == link
        test = self._chain.test(seen.name)
        shown = test.meanings[seen.outcome]
        signals = zip(test.signals, shown, strict=True)
        return any(link in signal.certain and not shows for signal, shows in signals)

    def _repaired_since(self, faults: Iterable[Fault], number: int) -> bool:
        """Whether one of them has been repaired after `number` was seen."""
        track = self._seen[number].track
        return any(self._repairs.get((fault.link, track), -1) > number for fault in faults)

    def _twofold(self) -> Iterator[tuple[int, int]]:
        """Give tests that showed two different things with no repair in between.

        The complaint, and the test that asks for the same with care, count as one.
        """
        last: dict[tuple[str, str], int] = {}
        for number, test in self._tests():
            track = self._seen[number].track
            name = test.name
            key = (self._chain.same_as_complaint if name == COMPLAINT else name, track)
            repaired = any(
                last.get(key, number) < repair < number
                for (_, where), repair in self._repairs.items()
                if where == track
            )
            if key in last and not repaired:
                before = self._seen[last[key]].outcome
                if before is not self._seen[number].outcome:
                    yield last[key], number
            last[key] = number
