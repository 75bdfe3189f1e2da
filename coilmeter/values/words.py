"""The words of verdicts, roles and purposes: a contract with users and with checks."""

from __future__ import annotations

from enum import StrEnum

from coilmeter.units import Form


class Role(StrEnum):
    """What a coil is for."""

    RECORD_PLAYBACK = "record/playback"
    PLAYBACK = "playback"
    RECORD = "record"
    ERASE = "erase"
    UNKNOWN = "unknown"


ROLE_KEYS = {"rp": Role.RECORD_PLAYBACK} | {str(role): role for role in Role}
"""The spellings of a role in files; `rp` is short for record/playback."""


class Purpose(StrEnum):
    """Why a reading was taken."""

    COIL = "coil"
    COIL_TO_COIL = "coil-to-coil"
    COIL_TO_CASE = "coil-to-case"
    LEAD_NULL = "lead-null"
    FREE = "free"

    @property
    def is_isolation(self) -> bool:
        """Whether a sound head shows no connection here."""
        return self in {Purpose.COIL_TO_COIL, Purpose.COIL_TO_CASE}


class EvidenceKind(StrEnum):
    """What a reading can say: a value, or only a bound."""

    VALUE = "value"
    ABOVE = "above"
    BELOW = "below"


EVIDENCE_OF_FORM = {
    Form.NUMBER: EvidenceKind.VALUE,
    Form.OVERLOAD: EvidenceKind.ABOVE,
    Form.SILENT: EvidenceKind.ABOVE,
    Form.BEEP: EvidenceKind.BELOW,
}


class Condition(StrEnum):
    """Condition of one coil; the first five are zones of resistance, low to high."""

    SHORTED = "shorted"
    LOW = "low"
    INTACT = "intact"
    HIGH = "high"
    OPEN = "open"
    UNDECIDED = "undecided"
    UNSTABLE = "unstable"
    MISSING = "missing"


ZONES = (
    Condition.SHORTED,
    Condition.LOW,
    Condition.INTACT,
    Condition.HIGH,
    Condition.OPEN,
)


class Isolation(StrEnum):
    """Condition of the path between two coils, or between a coil and the case."""

    BRIDGED = "bridged"
    LEAKING = "leaking"
    ISOLATED = "isolated"
    UNDECIDED = "undecided"
    MISSING = "missing"


class Match(StrEnum):
    """A coil against its siblings of the same head and role."""

    MATCHED = "matched"
    NOTICEABLE = "noticeable"
    MISMATCHED = "mismatched"
    UNDECIDED = "undecided"
    NO_SIBLING = "no sibling"


MATCH_ZONES = (Match.MATCHED, Match.NOTICEABLE, Match.MISMATCHED)


class Grade(StrEnum):
    """Electrical grade of a whole head."""

    MATCHED = "matched"
    UNMATCHED = "unmatched"
    PARTIAL = "partial"
    DEAD = "dead"
    UNSTABLE = "unstable"
    RECHECK = "recheck"


class Function(StrEnum):
    """What a meter is measuring, as far as the wire tells."""

    RESISTANCE = "resistance"
    CONTINUITY = "continuity"
    DIODE = "diode"
    DC_VOLTAGE = "dc_voltage"
    AC_VOLTAGE = "ac_voltage"
    VOLTAGE = "voltage"
    DC_CURRENT = "dc_current"
    AC_CURRENT = "ac_current"
    CURRENT = "current"
    CAPACITANCE = "capacitance"
    INDUCTANCE = "inductance"
    FREQUENCY = "frequency"
    TEMPERATURE = "temperature"
    OTHER = "other"


class Flag(StrEnum):
    """What a meter's display says besides the number."""

    AUTO = "auto"
    MANUAL = "manual"
    HOLD = "hold"
    RELATIVE = "relative"
    LOW_BATTERY = "low_battery"
    MAXIMUM = "max"
    MINIMUM = "min"
    BEEP = "beep"
    NEGATIVE = "negative"
