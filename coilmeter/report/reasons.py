"""Why a verdict is what it is, in a few words."""

from __future__ import annotations

from typing import Final

from coilmeter.units import format_ohm
from coilmeter.values import (
    CoilResult,
    Condition,
    EvidenceKind,
    FlexEvidence,
    Isolation,
    IsolationResult,
)
from coilmeter.values.notes import UNMOVED

ALMOST: Final = 0.9999


def coil_reason(coil: CoilResult) -> str:
    """Reason of the verdict on a coil, and how steady it was when moved."""
    reason, moved = _coil_reason(coil), coil.flex
    if moved is None or moved.stability.faulty:
        return reason
    return f"{reason}; {moved.stability} when moved"


def _coil_reason(coil: CoilResult) -> str:
    if coil.flex is not None and coil.flex.stability.faulty:
        return f"{coil.flex.stability} when moved{_dropouts(coil.flex)}"
    if coil.verdict is Condition.MISSING:
        return "not measured"
    if coil.verdict is Condition.UNSTABLE:
        return "the readings scattered"
    if coil.verdict is Condition.UNDECIDED:
        return _left_open(coil)
    if coil.evidence is EvidenceKind.VALUE:
        return f"P {_probability(coil.probability)}, {coil.band}"
    return _evidence(coil)


def _left_open(coil: CoilResult) -> str:
    if UNMOVED in coil.seen:
        return "OL, and the clips were not seen to move to it"
    return f"{_evidence(coil)}: {' or '.join(coil.between)}"


def path_reason(path: IsolationResult) -> str:
    """Reason of the verdict on an isolation path."""
    if path.verdict is Isolation.MISSING:
        return "not measured"
    if path.between == ("doubtful",):
        return "neither good nor a leak"
    if path.verdict is Isolation.UNDECIDED:
        return f"{_evidence(path)}: {' or '.join(path.between)}"
    if path.evidence is EvidenceKind.VALUE:
        return f"P {_probability(path.probability)}"
    return _evidence(path)


def _dropouts(flex: FlexEvidence) -> str:
    count = flex.figures.dropouts
    return f": {count} drop-out{'' if count == 1 else 's'}" if count else ""


def _evidence(result: CoilResult | IsolationResult) -> str:
    bound = "" if result.bound_ohm is None else format_ohm(result.bound_ohm)
    if result.evidence is EvidenceKind.ABOVE:
        return f"more than {bound}"
    if result.evidence is EvidenceKind.BELOW:
        return f"less than {bound}"
    return f"P {_probability(result.probability)}"


def _probability(probability: float | None) -> str:
    """Probability to four digits, never rounded up to a certainty."""
    if probability is None:
        return "unknown"
    return f"> {ALMOST}" if probability > ALMOST else f"{probability:.4f}"
