"""What the notes of readings say of the proof of their meter, so that it outlasts the check.

A check writes ``meter proved 2026-11-22`` into the note of each reading it takes; whoever
judges or reports the file later says it again, without a clock and without the proofs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final

from coilmeter.values.proofs import Outcome
from coilmeter.values.unproved import SUFFIX

OLD_DAYS: Final = 90
"""A proof is old after so many days: the tool's own."""

WORDS: Final = {
    Outcome.ACCEPTED: "meter proved",
    Outcome.REFUSED: "meter refused",
    Outcome.UNDECIDED: "meter undecided",
}
MARK: Final = "meter "
"""What every such note holds."""

_NOTE: Final = re.compile(r"\bmeter (proved|refused|undecided) (\d{4}-\d\d-\d\d)\b")
_OF_WORD: Final = {words.removeprefix(MARK): outcome for outcome, words in WORDS.items()}


def proof_note(outcome: Outcome, made: str) -> str:
    """Note for the readings of a meter; `made` is when it was proved, RFC 3339."""
    return f"{WORDS[outcome]} {made[:10]}"


def proof_lines(rows: Iterable[tuple[str, str, str]]) -> Iterator[str]:
    """Say what was found when the meters of readings were proved, each once.

    Parameters
    ----------
    rows
        Meter, note and time (RFC 3339, or empty) of each reading.

    """
    first: dict[tuple[str, str, str], date | None] = {}
    for meter, note, time in rows:
        found = _NOTE.search(note)
        if found is not None:
            key = (meter.removesuffix(SUFFIX), found[1], found[2])
            first.setdefault(key, _day(time))
    for (meter, word, made), read in first.items():
        yield _line(meter or "the meter", _OF_WORD[word], made, read)


def _line(meter: str, outcome: Outcome, made: str, read: date | None) -> str:
    if outcome is Outcome.REFUSED:
        return (
            f"The proof of {meter} on {made} refused it: do not trust these readings before "
            "another one accepts it."
        )
    if outcome is Outcome.UNDECIDED:
        return f"The proof of {meter} on {made} decided nothing."
    day = _day(made)
    age = None if day is None or read is None else (read - day).days
    if age is not None and age > OLD_DAYS:
        return (
            f"{meter} was proved on {made}, {age} days before these readings: prove it again."
        )
    return f"{meter} was proved on {made}."


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None
