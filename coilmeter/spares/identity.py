"""Ids that are made once and stay, and the short codes that people read from a label.

An id is 26 characters of Crockford's base 32: 48 bits of time in milliseconds, then 80 bits
of chance, so that ids made on two benches differ and ids sort by age (the layout of the ULID
specification).  The code of a head is the end of its id, 40 bits of chance, written
``7K3F-92QX``; the alphabet has no I, L, O and U, and whoever types them is understood.

Source of alphabet and look-alikes: D. Crockford, Base 32 (2002); from memory, not verified.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import time
from typing import Final

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
ID_LENGTH: Final = 26
CODE_LENGTH: Final = 8
FEWEST_OF_CODE: Final = 4
"""So many characters of a code at least name a head."""

ID: Final = re.compile(rf"[0-7][{ALPHABET}]{{{ID_LENGTH - 1}}}")
_LOOK_ALIKES: Final = str.maketrans({"I": "1", "L": "1", "O": "0", "-": None, " ": None})
_CHANCE_BITS: Final = 80
_TIME_BITS: Final = 48


def new_id(milliseconds: int | None = None) -> str:
    """Make an id; `milliseconds` since 1970 stand in it, the present where None."""
    now = time.time_ns() // 1_000_000 if milliseconds is None else milliseconds
    return _written(now, secrets.randbits(_CHANCE_BITS))


def id_of(milliseconds: int, content: bytes) -> str:
    """Give the id of a content that is the same one wherever it is met."""
    digest = hashlib.blake2b(content, digest_size=_CHANCE_BITS // 8).digest()
    return _written(milliseconds, int.from_bytes(digest))


def _written(milliseconds: int, chance: int) -> str:
    number = ((milliseconds & ((1 << _TIME_BITS) - 1)) << _CHANCE_BITS) | chance
    return "".join(ALPHABET[(number >> shift) & 31] for shift in range(125, -1, -5))


def code_of(identity: str) -> str:
    """Short code of a head, from its id."""
    return identity[-CODE_LENGTH:]


def shown_code(code: str) -> str:
    """Code as a person reads it: ``7K3F-92QX``."""
    return f"{code[:4]}-{code[4:]}"


def as_code(text: str) -> str:
    """Code, id or beginning of a code that somebody typed; empty where it can be none."""
    tidy = text.upper().translate(_LOOK_ALIKES)
    fits = FEWEST_OF_CODE <= len(tidy) <= CODE_LENGTH or len(tidy) == ID_LENGTH
    return tidy if fits and set(tidy) <= set(ALPHABET) else ""
