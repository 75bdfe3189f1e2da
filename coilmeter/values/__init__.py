"""Frozen value types shared by all rooms.

Resistances in these types are pint quantities where a person or a file puts them in, and
SI floats with the unit in the name where many are handled at once.
"""

from coilmeter.values.flexing import FlexEvidence, FlexFigures, FlexResult, Stability
from coilmeter.values.readings import Reading, ReadingRow
from coilmeter.values.results import ISOLATION_ZONES, CoilResult, HeadResult, IsolationResult
from coilmeter.values.specs import (
    CASE,
    MOST_COILS,
    ACVolts,
    Band,
    CoilSpec,
    HeadKind,
    Meter,
    MeterRange,
    numbered_kind,
    shown_kinds,
)
from coilmeter.values.words import (
    EVIDENCE_OF_FORM,
    MATCH_ZONES,
    ROLE_KEYS,
    ZONES,
    Condition,
    EvidenceKind,
    Flag,
    Function,
    Grade,
    Isolation,
    Match,
    Purpose,
    Role,
)

__all__ = [
    "CASE",
    "EVIDENCE_OF_FORM",
    "ISOLATION_ZONES",
    "MATCH_ZONES",
    "MOST_COILS",
    "ROLE_KEYS",
    "ZONES",
    "ACVolts",
    "Band",
    "CoilResult",
    "CoilSpec",
    "Condition",
    "EvidenceKind",
    "Flag",
    "FlexEvidence",
    "FlexFigures",
    "FlexResult",
    "Function",
    "Grade",
    "HeadKind",
    "HeadResult",
    "Isolation",
    "IsolationResult",
    "Match",
    "Meter",
    "MeterRange",
    "Purpose",
    "Reading",
    "ReadingRow",
    "Role",
    "Stability",
    "numbered_kind",
    "shown_kinds",
]
