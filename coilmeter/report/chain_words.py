"""Sentences about a chain: the same for a prompt, a terminal and a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from coilmeter.compute.chain_diagnosis import (
    SUSPECT_FROM,
    Diagnosis,
    LinkResult,
    Standing,
    Verdict,
)
from coilmeter.compute.chain_logic import ALL, Fault
from coilmeter.values.chains import COMPLAINT, OTHERS, ChainMap, ChainTest, Link, Outcome, Seen

MOST_NAMED: Final = 5
_TINY: Final = 0.01
_MOSTLY: Final = 0.5


def percent(probability: float) -> str:
    """Write a probability: whole percents, never 0 or 100 of them."""
    if probability < _TINY:
        return "< 1 %"
    if probability > 1 - _TINY:
        return "> 99 %"
    return f"{100 * probability:.0f} %"


def minutes(count: float) -> str:
    """Write a time."""
    return f"{count:.0f} min" if count >= 1 else "under a minute"


def named(test: ChainTest) -> str:
    """Give a test with what it is."""
    return f"{test.name} ({test.title})"


def seen_text(chain: ChainMap, seen: Seen, track: str) -> str:
    """Say what was seen, in words; the track where it is another one."""
    where = "" if seen.track == track else f" on track {seen.track}"
    if seen.outcome is Outcome.SOUND:
        return f"{seen.name} is sound{where}"
    if seen.outcome is Outcome.REPAIRED:
        return f"{seen.name} was repaired{where}"
    if seen.name == COMPLAINT:
        who = "the other tracks do" if seen.track == OTHERS else f"track {seen.track} does"
        return f"{who}{'' if seen.outcome is Outcome.PASS else ' not'} {chain.verb}"
    return f"{seen.name}: {seen.outcome}{where}"


def headline(diagnosis: Diagnosis) -> str:
    """Say in one sentence what comes next."""
    about = f"{diagnosis.chain.name}, track {diagnosis.track}"
    links = diagnosis.verdict_links
    if diagnosis.ended is not None:
        return f"{about}: CLOSED. {ended_text(diagnosis)}"
    match diagnosis.verdict:
        case Verdict.CLASH:
            return f"{about}: CONTRADICTION. Not all that was seen can be right."
        case Verdict.NOTHING:
            return (
                f"{about}: NOTHING BROKEN in this chain ({percent(diagnosis.nothing)}): the "
                "tape, a setting or the handling was at fault, or the fault comes and goes."
            )
        case Verdict.REPAIR:
            which = " and ".join(_sure(diagnosis, link) for link in links)
            return f"{about}: REPAIR {which}."
        case Verdict.UNDECIDED:
            which = ", ".join(_sure(diagnosis, link) for link in links) or "nothing likely"
            return f"{about}: UNDECIDED between {which}."
        case Verdict.TEST:
            step = diagnosis.tests[0]
            return f"{about}: TEST {named(step.test)}, about {minutes(step.minutes)}."


def ended_text(diagnosis: Diagnosis) -> str:
    """Say what a closed case was, and what spoke against it; empty while it is open."""
    if diagnosis.ended is None:
        return ""
    found = {each.link.name: each for each in diagnosis.links}
    was = [found[name] for name in diagnosis.ended if name in found]
    said = [each.link.title for each in was] or [*diagnosis.ended]
    text = f"It was {' and '.join(said)}." if said else "Nothing in this chain was broken."
    for each in was:
        if each.standing is Standing.CLEARED:
            against = because(each, diagnosis.chain, diagnosis.track)
            text += f" {each.link.name} had been {against}: one of the two was wrong."
    return text


def because(result: LinkResult, chain: ChainMap, track: str) -> str:
    """Say why a link stands as it does."""
    if result.standing is Standing.CLEARED:
        by = ", ".join(seen_text(chain, seen, track) for seen in result.cleared_by)
        return f"cleared by {by}"
    tests = [seen for seen in result.pointed_to_by if seen.name != COMPLAINT]
    parts = []
    if tests:
        parts.append(f"fits {', '.join(seen_text(chain, seen, track) for seen in tests)}")
    if result.cleared_by:
        by = ", ".join(seen_text(chain, seen, track) for seen in result.cleared_by)
        parts.append(f"against it {by}")
    if result.standing is Standing.UNKNOWN and tests:
        parts.append("others explain that better")
    if not parts:
        parts.append("no test has looked at it" if not result.pointed_to_by else "not tested")
    if result.standing is Standing.SUSPECT and result.common > _MOSTLY * result.probability:
        parts.append("likely for all tracks at once")
    return "; ".join(parts)


def notes(diagnosis: Diagnosis) -> Iterator[str]:
    """Say what else is to be known, most important first; nothing of a case that is closed."""
    if diagnosis.ended is not None:
        return
    yield from _clash(diagnosis)
    yield from _do(diagnosis)
    yield from _explained(diagnosis)
    if diagnosis.verdict in {Verdict.REPAIR, Verdict.NOTHING} and diagnosis.tests:
        step = diagnosis.tests[0]
        yield f"To be surer: {named(step.test)}, about {minutes(step.minutes)}."
    if diagnosis.nothing >= SUSPECT_FROM and diagnosis.verdict is not Verdict.NOTHING:
        yield f"Nothing broken at all: {percent(diagnosis.nothing)}."
    if diagnosis.left_out:
        needs = diagnosis.chain.needs
        by_reason: dict[str, list[str]] = {}
        for test, why in diagnosis.left_out:
            by_reason.setdefault(needs.get(why, why), []).append(test.name)
        parts = "; ".join(f"{', '.join(names)} ({why})" for why, names in by_reason.items())
        yield f"Left out: {parts}."


def cautions(diagnosis: Diagnosis) -> tuple[str, ...]:
    """Give what is to be minded in what comes next."""
    if diagnosis.ended is None and diagnosis.verdict is Verdict.TEST:
        return diagnosis.tests[0].test.howto.cautions
    return ()


def fault_text(faults: Iterable[Fault], track: str) -> str:
    """Name faults that are there together."""
    parts = []
    for fault in sorted(faults):
        where = "" if fault.track == track else f" ({fault.track})"
        if fault.track not in {track, ALL}:
            where = f" (track {fault.track})"
        parts.append(f"{fault.link}{where}")
    return " with ".join(parts)


def suspects(diagnosis: Diagnosis) -> str:
    """Name the suspects with their probabilities, in one line."""
    ranked = diagnosis.ranked
    likely = [each for each in ranked if each.standing is Standing.SUSPECT] or ranked[:1]
    named = [(each.probability, each.link.name) for each in likely]
    if diagnosis.nothing >= SUSPECT_FROM:
        named.append((diagnosis.nothing, "nothing broken"))
    named.sort(key=lambda each: -each[0])
    shown = [f"{name} {percent(chance)}" for chance, name in named[:MOST_NAMED]]
    more = len(named) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def _sure(diagnosis: Diagnosis, link: Link) -> str:
    probability = diagnosis.result(link.name).probability
    return f"{link.name} ({link.title}, {percent(probability)})"


def _clash(diagnosis: Diagnosis) -> Iterator[str]:
    chain, track = diagnosis.chain, diagnosis.track
    for clash in diagnosis.clashes[:2]:
        parts = "; ".join(seen_text(chain, seen, track) for seen in clash)
        first = seen_text(chain, clash[0], track)
        yield (
            f"These cannot all be right: {parts}. Redo one of them; the first ({first}) fits "
            "the rest least. If all stay as they are, the fault may come and go."
        )


def _do(diagnosis: Diagnosis) -> Iterator[str]:
    links: Sequence[Link] = diagnosis.verdict_links
    if diagnosis.verdict is Verdict.REPAIR:
        for link in links:
            yield f"{link.name}: {link.repair} (about {minutes(link.repair_minutes)})."
    if diagnosis.verdict is Verdict.UNDECIDED:
        yield "No test that is left can tell these apart. In this order they are worth a try:"
        for number, link in enumerate(links, start=1):
            yield f"{number}. {link.name}: {link.repair} ({minutes(link.repair_minutes)})."
        if diagnosis.would_decide is not None:
            why = {test.name: why for test, why in diagnosis.left_out}
            test = diagnosis.would_decide
            lacking = diagnosis.chain.needs.get(why[test.name], why[test.name])
            yield f"{named(test)} would tell more; left out: {lacking}."


def _explained(diagnosis: Diagnosis) -> Iterator[str]:
    sets = diagnosis.explanations
    if not sets:
        return
    shown = [fault_text(each, diagnosis.track) for each in sets[:MOST_NAMED]]
    more = f", and {len(sets) - len(shown)} more" if len(sets) > len(shown) else ""
    size = len(sets[0])
    count = "one fault" if size == 1 else f"{size} faults together"
    if size:
        which = f"{', '.join(shown)}{more}"
        yield f"Taken to the letter, {count} would explain everything: {which}."
