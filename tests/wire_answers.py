"""What a meter's answers came to, short enough to be compared."""

from __future__ import annotations

from coilmeter.values import Reading
from coilmeter.wire.contract import Rejected


def values(answers: list[Reading | Rejected]) -> list[float | str | None]:
    """Reduce readings to their values, and what was refused to its reason."""
    return [
        answer.value if isinstance(answer, Reading) else answer.reason for answer in answers
    ]
