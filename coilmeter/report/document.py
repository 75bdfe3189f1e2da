"""Results as the JSON document ``coilmeter/1``: SI numbers, the unit in the key, or null."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, Final

from coilmeter.compute.budget import PARTS
from coilmeter.report.impedance_document import impedance_document
from coilmeter.values import (
    ISOLATION_ZONES,
    ZONES,
    CoilResult,
    FlexEvidence,
    HeadResult,
    IsolationResult,
    Meter,
    Role,
)
from coilmeter.values.flexing import FIGURES

SCHEMA: Final = "coilmeter/1"


def json_chunks(
    heads: Iterable[HeadResult],
    meter: Meter,
    confidence: float,
    *,
    parts: bool = False,
    proof: str = "",
) -> Iterator[str]:
    """Pieces of the one JSON document, a head a line, so that many heads stream.

    Parameters
    ----------
    heads
        Results, consumed one by one.
    meter, confidence
        What the whole run was judged with.
    parts
        Whether each coil carries its uncertainty budget.
    proof
        What is known of the proof of the meter, a sentence; empty where nothing is.

    """
    about = {
        "name": meter.name,
        "description": meter.description,
        "basis": meter.basis,
        "proof": proof or None,
    }
    yield (
        f'{{"schema": {json.dumps(SCHEMA)}, "confidence": {json.dumps(confidence)}, '
        f'"meter": {json.dumps(about)}, "heads": ['
    )
    separator = "\n"
    for head in heads:
        yield separator + json.dumps(head_document(head, parts=parts), allow_nan=False)
        separator = ",\n"
    yield "\n]}\n"


def head_document(head: HeadResult, *, parts: bool = False) -> dict[str, Any]:
    """One head of the document."""
    return {
        "head": head.head,
        "kind": head.kind or None,
        "grade": head.grade,
        "grade_reason": head.grade_reason,
        "coils": [_coil(coil, parts=parts) for coil in head.coils],
        "isolation": [_path(path) for path in head.isolation],
        "cautions": list(head.cautions),
    }


def flex_document(flex: FlexEvidence) -> dict[str, Any]:
    """Give what flexing showed: the word, and each figure, null where it is not known."""
    return {"verdict": flex.stability} | {name: getattr(flex.figures, name) for name in FIGURES}


def role_key(role: Role) -> str:
    """Role as files spell it."""
    return "rp" if role is Role.RECORD_PLAYBACK else role


def _coil(coil: CoilResult, *, parts: bool) -> dict[str, Any]:
    document: dict[str, Any] = {
        "coil": coil.coil,
        "role": role_key(coil.role),
        "pins": None if coil.pins is None else list(coil.pins),
        "band": coil.band or None,
        "meter": coil.meter or None,
        "evidence": coil.evidence,
        "reading": coil.reading or None,
        "bound_ohm": coil.bound_ohm,
        "resistance_20c_ohm": coil.resistance_20c_ohm,
        "u_ohm": coil.u_ohm,
        "verdict": coil.verdict,
        "probability": coil.probability,
        "zones": dict(zip(ZONES, coil.zones, strict=True)) if coil.zones else None,
        "between": list(coil.between),
        "match": coil.match,
        "deviation": coil.deviation,
        "u_deviation": coil.u_deviation,
        "next": coil.next or None,
        "flex": None if coil.flex is None else flex_document(coil.flex),
        "impedance": None if coil.impedance is None else impedance_document(coil.impedance),
    }
    if parts:
        document["budget"] = (
            {f"u_{name}_ohm": part for name, part in zip(PARTS, coil.parts_ohm, strict=True)}
            if coil.parts_ohm
            else None
        )
    return document


def _path(path: IsolationResult) -> dict[str, Any]:
    return {
        "from": path.start,
        "to": path.end,
        "pins": None if path.pins is None else list(path.pins),
        "meter": path.meter or None,
        "evidence": path.evidence,
        "reading": path.reading or None,
        "bound_ohm": path.bound_ohm,
        "resistance_ohm": path.resistance_ohm,
        "u_ohm": path.u_ohm,
        "verdict": path.verdict,
        "probability": path.probability,
        "zones": dict(zip(ISOLATION_ZONES, path.zones, strict=True)) if path.zones else None,
        "between": list(path.between),
        "next": path.next or None,
    }
