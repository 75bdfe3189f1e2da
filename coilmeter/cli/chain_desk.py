"""A case on the desk: what was seen, what cannot be had, and the diagnosis that follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coilmeter.compute.chain_diagnosis import Bench, Diagnosis, diagnose, works
from coilmeter.compute.chain_model import Model, complaint
from coilmeter.compute.chain_weights import learn_weights, with_weights
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import OF_LINKS, ChainMap, ChainTest, Outcome, Seen, check_seen


class Desk:
    """One case while it is worked on.

    Parameters
    ----------
    model
        The chain.
    track
        The track in question.
    journal, case
        Where it is kept; None where it is not.
    loose
        Whether the head is out of the machine.

    """

    def __init__(
        self,
        model: Model,
        track: str,
        journal: Journal | None = None,
        case: Case | None = None,
        *,
        loose: bool = False,
    ) -> None:
        self.model = model
        self.track = track
        self.journal = journal
        self.case = case
        self.loose = loose
        self._seen: list[Seen] = []
        self._cannot: list[str] = []
        self._last: tuple[tuple[Seen, ...], frozenset[str], Diagnosis] | None = None

    @property
    def chain(self) -> ChainMap:
        """The map."""
        return self.model.chain

    @property
    def seen(self) -> list[Seen]:
        """What was seen, in its order, as far as this chain still knows of it."""
        every = self._seen if self.case is None else self.case.seen
        return [each for each in every if _known(self.chain, each)]

    @property
    def cannot(self) -> list[str]:
        """Tests and needs that are not to be had."""
        return self._cannot if self.case is None else self.case.cannot

    def diagnosis(self) -> Diagnosis:
        """Reckon what is broken, and what comes next."""
        seen, cannot = tuple(self.seen), frozenset(self.cannot)
        if self._last is None or self._last[:2] != (seen, cannot):
            found = diagnose(self.model, seen, self.track, Bench(cannot, self.loose))
            self._last = (seen, cannot, found)
        case = self.case
        return replace(self._last[2], ended=case.links if case and case.closed else None)

    def saw(self, seen: Seen) -> Seen:
        """Take down what was seen; the same once more changes nothing.

        Raises
        ------
        InputError
            When it is nothing this chain knows.
        StoreError
            When it could not be kept.

        """
        known = check_seen(self.chain, seen)
        if known.outcome is not Outcome.REPAIRED and known in self._since_repair(known.track):
            return known
        if self.journal is not None and self.case is not None:
            self.journal.saw(self.case, known)
        else:
            self._seen.append(known)
        return known

    def withdraw(self, seen: Seen) -> None:
        """Take back the last of what was seen that is like this; raises `StoreError`."""
        if self.journal is not None and self.case is not None:
            self.journal.withdrew(self.case, seen)
        else:
            last = len(self._seen) - 1 - self._seen[::-1].index(seen)
            del self._seen[last]

    def back(self) -> Seen | None:
        """Take back the last of all that was seen; None where there is nothing but complaints.

        The complaint itself stays: without it there is no case.
        """
        if len(self.seen) <= 1:
            return None
        last = self.seen[-1]
        self.withdraw(last)
        return last

    def leave_out(self, what: str) -> str:
        """Leave out a test, or all that need something; its name comes back.

        Raises
        ------
        UnknownNameError
            When it is neither.

        """
        name = find_name(self.chain, what)
        if name not in self.cannot:
            if self.journal is not None and self.case is not None:
                self.journal.cannot(self.case, name)
            else:
                self._cannot.append(name)
        return name

    def allow(self, what: str) -> str:
        """Have again what was left out; its name comes back.

        Raises
        ------
        UnknownNameError
            When it is nothing that could be left out.

        """
        name = find_name(self.chain, what)
        if name in self.cannot:
            if self.journal is not None and self.case is not None:
                self.journal.cannot(self.case, name, after_all=True)
            else:
                self._cannot.remove(name)
        return name

    def last(self, test: ChainTest) -> Seen | None:
        """Give what that test showed last on the track in question."""
        found = [
            each
            for each in self.seen
            if (each.name, each.track) == (test.name, self.track)
            and each.outcome not in OF_LINKS
        ]
        return found[-1] if found else None

    def others(self) -> dict[str, bool]:
        """Tell of each other track that was spoken of whether it works."""
        return {track: good for track, good in works(self.seen).items() if track != self.track}

    def _since_repair(self, track: str) -> Sequence[Seen]:
        here = [each for each in self.seen if each.track == track]
        ends = [n for n, each in enumerate(here) if each.outcome is Outcome.REPAIRED]
        return here[ends[-1] + 1 :] if ends else here


def find_name(chain: ChainMap, what: str) -> str:
    """Give the name of a test, or of what tests need.

    Raises
    ------
    UnknownNameError
        When it is neither.

    """
    word = what.strip().lower().replace(" ", "-")
    if word in chain.needs:
        return word
    try:
        return chain.test(word).name
    except UnknownNameError as error:
        known = [*chain.needs, *error.known]
        raise UnknownNameError("test, or need of one,", what, known) from None


def weighted(chain: ChainMap, journal: Journal, *, shipped: bool) -> ChainMap:
    """Give the map with the user's own closed cases counted into its weights."""
    counts = {} if shipped else journal.counts(chain.name)
    return with_weights(chain, learn_weights(chain, counts)) if counts else chain


def _known(chain: ChainMap, seen: Seen) -> bool:
    try:
        check_seen(chain, seen)
    except InputError:
        return False
    return True


def start(desk: Desk, others: dict[str, bool], *, complains: bool = True) -> None:
    """Take down the complaint, unless it was answered otherwise, and the other tracks.

    Raises
    ------
    StoreError
        When it could not be kept.

    """
    if complains:
        desk.saw(complaint(desk.track))
    for track, good in others.items():
        if track != desk.track:
            desk.saw(complaint(track, works=good))
