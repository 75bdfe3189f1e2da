"""A head of each grade, as it is put into a bin."""

from __future__ import annotations

from typing import Final

from spares_helpers import measured

from coilmeter.values import Grade

HEADS: Final = (
    measured("A", 171.3, 172.0),
    measured("B", 171.3, None),
    measured("C", 150.0, 190.0),
    measured("D", None, None),
    measured("E", 171.3),
)
GRADES: Final = {
    "A": Grade.MATCHED,
    "B": Grade.PARTIAL,
    "C": Grade.UNMATCHED,
    "D": Grade.DEAD,
    "E": Grade.RECHECK,
}
