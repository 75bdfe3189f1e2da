"""What is known of a chain as a list, for every printed shape and for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from coilmeter.compute.chain_diagnosis import Diagnosis, LinkResult
from coilmeter.compute.chain_next import Candidate
from coilmeter.compute.chain_weights import PRIOR_CASES, Learnt
from coilmeter.report.chain_words import because, cautions, headline, notes, percent
from coilmeter.report.listing import Listing
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import Seen

HEADINGS: Final = ("standing", "link", "what", "broken", "because")
KEYS: Final = (
    "link",
    "title",
    "station",
    "standing",
    "probability",
    "probability_common",
    "cleared_by",
    "pointed_to_by",
    "repair",
    "repair_minutes",
)


def links_listing(diagnosis: Diagnosis) -> Listing:
    """List the links, the most probable first, with all else in the notes and facts."""
    ranked = diagnosis.ranked
    chain, track = diagnosis.chain, diagnosis.track
    return Listing(
        name="links",
        headings=HEADINGS,
        shown=[
            (
                str(each.standing),
                each.link.name,
                each.link.title,
                percent(each.probability),
                because(each, chain, track),
            )
            for each in ranked
        ],
        keys=KEYS,
        fields=[_fields(each) for each in ranked],
        notes=[headline(diagnosis), *notes(diagnosis), *_minded(diagnosis)],
        facts=_facts(diagnosis),
    )


def weights_listing(fault: str, learnt: Sequence[Learnt], cases: float) -> Listing:
    """List the weights of a map: as shipped, what was counted, and what follows."""
    total = sum(each.prior for each in learnt)
    told = (
        f"{fault}: the weights before count as {PRIOR_CASES:g} cases, and {cases:g} closed "
        "ones of your own are added; +/- is one standard deviation of the share."
    )
    return Listing(
        name="weights",
        headings=("link", "before", "closed cases", "now", "+/-"),
        shown=[
            (
                each.link.name,
                f"{100 * each.prior / total:.1f} %",
                f"{each.cases:g}",
                f"{100 * each.share:.1f} %",
                f"{100 * each.u_share:.1f} %",
            )
            for each in learnt
        ],
        keys=("link", "share_before", "closed_cases", "share", "u_share"),
        fields=[
            (each.link.name, each.prior / total, each.cases, each.share, each.u_share)
            for each in learnt
        ],
        notes=[told],
        facts=(("fault", fault), ("prior_cases", PRIOR_CASES), ("closed_cases", cases)),
    )


def cases_listing(cases: Sequence[Case], troubles: Sequence[str]) -> Listing:
    """List cases, in the order in which they were opened."""
    return Listing(
        name="cases",
        headings=("case", "fault", "track", "opened", "seen", "outcome"),
        shown=[
            (
                each.name,
                each.fault,
                each.track,
                each.opened[:10],
                str(len(each.seen)),
                _outcome(each),
            )
            for each in cases
        ],
        keys=("case", "fault", "track", "opened", "closed", "links", "seen"),
        fields=[
            (
                each.name,
                each.fault,
                each.track,
                each.opened,
                each.closed or None,
                list(each.links),
                [f"{seen.track}:{seen}" for seen in each.seen],
            )
            for each in cases
        ],
        notes=list(troubles),
        nothing="no case is kept yet",
    )


def _outcome(case: Case) -> str:
    if not case.closed:
        return "open"
    return ", ".join(case.links) or "nothing was broken"


def _minded(diagnosis: Diagnosis) -> list[str]:
    return [f"Mind: {caution}" for caution in cautions(diagnosis)]


def _fields(result: LinkResult) -> tuple[Any, ...]:
    link = result.link
    return (
        link.name,
        link.title,
        link.station,
        str(result.standing),
        result.probability,
        result.common,
        [str(seen) for seen in result.cleared_by],
        [str(seen) for seen in result.pointed_to_by],
        link.repair,
        link.repair_minutes,
    )


def _facts(diagnosis: Diagnosis) -> tuple[tuple[str, Any], ...]:
    return (
        ("fault", diagnosis.chain.name),
        ("track", diagnosis.track),
        ("ended", None if diagnosis.ended is None else list(diagnosis.ended)),
        ("verdict", str(diagnosis.verdict)),
        ("verdict_links", [link.name for link in diagnosis.verdict_links]),
        ("probability_nothing", diagnosis.nothing),
        ("seen", [_seen(each) for each in diagnosis.seen]),
        ("next_test", _test(diagnosis.tests[0]) if diagnosis.tests else None),
        ("tests", [_test(each) for each in diagnosis.tests]),
        (
            "explanations",
            [
                [{"link": fault.link, "track": fault.track} for fault in sorted(faults)]
                for faults in diagnosis.explanations
            ],
        ),
        ("contradictions", [[_seen(each) for each in clash] for clash in diagnosis.clashes]),
        (
            "left_out",
            [{"test": test.name, "why": why} for test, why in diagnosis.left_out],
        ),
        ("cautions", list(cautions(diagnosis))),
    )


def _seen(seen: Seen) -> dict[str, str]:
    return {
        "name": seen.name,
        "outcome": str(seen.outcome),
        "track": seen.track,
        "source": seen.source,
    }


def _test(candidate: Candidate) -> dict[str, Any]:
    to_go = candidate.minutes_to_go
    return {
        "test": candidate.test.name,
        "letter": candidate.test.letter or None,
        "title": candidate.test.title,
        "question": candidate.test.question,
        "cost_minutes": candidate.minutes,
        "information_bits": candidate.bits,
        "minutes_to_go": to_go if to_go != float("inf") else None,
        "outcomes": {str(outcome): chance for outcome, chance in candidate.outcomes},
    }
