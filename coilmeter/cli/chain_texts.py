"""What a person types about a chain: outcomes, tracks, and things seen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from coilmeter.errors import InputError
from coilmeter.values.chains import OF_LINKS, OTHERS, ChainMap, Outcome, Seen, check_seen

LONGEST_TRACK: Final = 20

WORDS: Final = {
    **dict.fromkeys(("pass", "passed", "yes", "y", "good", "ok", "fine"), Outcome.PASS),
    **dict.fromkeys(("fail", "failed", "no", "n", "bad", "dead"), Outcome.FAIL),
    **dict.fromkeys(("unknown", "unsure", "u", "skip"), Outcome.UNKNOWN),
    **{str(outcome): outcome for outcome in Outcome},
}
"""What a person says for an outcome."""


def checked_track(name: str) -> str:
    """Give the name of a track.

    Raises
    ------
    InputError
        When it is none.

    """
    clean = name.strip()
    if (
        not clean
        or len(clean) > LONGEST_TRACK
        or not clean.isprintable()
        or set(clean) & set(" :=,")
    ):
        raise InputError(
            f"saw {name[:LONGEST_TRACK]!r} as a track",
            hint="a number or a short name, without blank, comma, colon or =: 3, left.",
        )
    return clean


def check_others(track: str, others: Mapping[str, bool] | None) -> None:
    """Refuse a track in question among the other tracks that work: it fails.

    Raises
    ------
    InputError
        When it is.

    """
    if (others or {}).get(track):
        raise InputError(
            f"track {track}: it is the one in question, which fails, and it is named among "
            "the other tracks that work",
            hint="name there only tracks that do work, or give the track that fails (--track).",
        )


def parse_tracks(text: str) -> list[str]:
    """Give the names of tracks: ``1 2 4`` or ``1,2,4``; `OTHERS` for ``all``."""
    names = text.replace(",", " ").split()
    return [OTHERS if name.lower() in {"all", OTHERS} else name for name in names]


def parse_saw(text: str, chain: ChainMap, track: str) -> Seen:
    """Understand ``TEST=OUTCOME``, ``TRACK:TEST=OUTCOME`` or ``LINK=sound``.

    Raises
    ------
    InputError
        When it is neither, or names nothing of the chain.

    """
    left, sign, word = text.rpartition("=")
    where, _, name = left.rpartition(":")
    outcome = WORDS.get(word.strip().lower())
    if not sign or not name.strip() or outcome is None:
        known = ", ".join(Outcome)
        raise InputError(
            f"saw {text!r}, expected TEST=OUTCOME, such as look=pass or 2:known-tape=fail",
            hint=f"an outcome is one of: {known}; a link can be {' or '.join(OF_LINKS)}.",
        )
    return check_seen(chain, Seen(name.strip().lower(), outcome, where.strip() or track))
