"""How a test is made and read, and why it comes next, as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from coilmeter.compute.chain_diagnosis import Diagnosis, Verdict
from coilmeter.compute.chain_next import Candidate
from coilmeter.report.chain_words import (
    because,
    minutes,
    named,
    percent,
    seen_text,
    suspects,
)
from coilmeter.values.chains import ChainTest, Outcome

_SHOWN: Final = 4


def title_line(test: ChainTest) -> str:
    """Name a test with its letter and cost."""
    letter = f", letter {test.letter}" if test.letter else ""
    return f"{test.name}: {test.title} (about {minutes(test.minutes)}{letter})"


def how_lines(test: ChainTest, needs: Mapping[str, str]) -> Iterator[str]:
    """Tell how a test is made, what to expect, and what each outcome means."""
    howto = test.howto
    yield title_line(test)
    if test.minutes_loose != test.minutes:
        yield f"With the head in the hand: about {minutes(test.minutes_loose)}."
    if test.needs:
        yield f"Needs: {'; '.join(needs[need] for need in test.needs)}."
    yield from (f"! {caution}" for caution in howto.cautions)
    yield f"Connect: {howto.connect}"
    yield f"Expect: {howto.expect}"
    swap = len(test.signals) > 1
    yield f"{'It follows' if swap else 'Pass'}: {howto.passed}"
    yield f"{'It stays' if swap else 'Fail'}: {howto.failed}"
    yield from (f"Level ({level})" for level in howto.levels)
    yield f"Asked: {test.question}"


def why_lines(diagnosis: Diagnosis, candidate: Candidate | None) -> Iterator[str]:
    """Tell why the suspects are what they are, and why a test comes next."""
    chain, track = diagnosis.chain, diagnosis.track
    yield f"Suspects: {suspects(diagnosis)}."
    for each in diagnosis.ranked[:_SHOWN]:
        shared = ""
        if each.common > 0.01:  # noqa: PLR2004 - what percents can show
            shared = f", {percent(each.common)} of it for all tracks at once"
        why = because(each, chain, track)
        yield f"  {each.link.name} {percent(each.probability)}{shared}: {why}"
    seen = "; ".join(seen_text(chain, each, track) for each in diagnosis.seen)
    yield f"Seen so far: {seen}."
    if candidate is None:
        return
    yield (
        f"{named(candidate.test)} is expected to tell {candidate.bits:.2f} bits for "
        f"{minutes(candidate.minutes)}, {candidate.rate:.2f} a minute; its outcomes:"
    )
    for outcome, chance in candidate.outcomes:
        yield f"  {outcome} {percent(chance)}: {_meaning(diagnosis, candidate.test, outcome)}"
    yield from _ahead(diagnosis, candidate)


def _meaning(diagnosis: Diagnosis, test: ChainTest, outcome: Outcome) -> str:
    """Name what an outcome would point at, and what it would clear."""
    points, clears = [], []
    shown = test.meanings[outcome]
    for each in diagnosis.ranked:
        for signal, shows in zip(test.signals, shown, strict=True):
            name = each.link.name
            if shows and name in signal.chances:
                points.append(name)
            if not shows and name in signal.certain and name not in points:
                clears.append(name)
    parts = []
    if points:
        parts.append(f"points to {', '.join(points[:_SHOWN])}{_more(points)}")
    if clears:
        parts.append(f"clears {', '.join(clears[:_SHOWN])}{_more(clears)}")
    return "; ".join(parts) or "says little"


def _more(names: list[str]) -> str:
    return f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""


def _ahead(diagnosis: Diagnosis, candidate: Candidate) -> Iterator[str]:
    """Tell what looking ahead says, and whether it changed the choice."""
    tried = [each for each in diagnosis.tests if each.minutes_to_go != float("inf")]
    if not tried:
        return
    times = ", ".join(f"{each.test.name} {each.minutes_to_go:.0f}" for each in tried[:_SHOWN])
    yield f"Looking ahead, minutes until one is sure, by the test begun with: {times}."
    greedy = max(tried, key=lambda each: each.rate)
    if (
        candidate is tried[0]
        and greedy is not candidate
        and (diagnosis.by_odds is Verdict.TEST)
    ):
        yield (
            f"By itself {greedy.test.name} would tell more a minute ({greedy.rate:.2f} bits); "
            "with what comes after it, it takes longer."
        )
