"""What a person says of a head that no meter can: how it looks, and what was done with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FACE_WORDS: Final = (
    "polished",
    "visible flat",
    "edge that catches a fingernail",
    "gap line open under a loupe",
)
"""Words for the wear of a head's face, from little to much (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class About:
    """What a report says of a head besides its readings.

    Parameters
    ----------
    record
        Id of the head's record in a bin; empty where it is in none.
    marking
        What is printed on the head.
    fitted
        ``loose`` or ``fitted``; empty where nobody said.
    face, face_note
        One of `FACE_WORDS`, and more words; empty where nobody looked.
    demagnetised, tape_tested
        Whether it was; None where nobody said.
    notes
        Further remarks.

    """

    record: str = ""
    marking: str = ""
    fitted: str = ""
    face: str = ""
    face_note: str = ""
    demagnetised: bool | None = None
    tape_tested: bool | None = None
    notes: tuple[str, ...] = ()
