"""Where a figure comes from, in words for a reader who has none of this project's files."""

from __future__ import annotations

import re
from typing import Final

_KEY: Final = r"[JP]\d+"
_KEYS: Final = re.compile(rf"\b{_KEY}(?:(?:, | and | to ){_KEY})*\b")
_FILE: Final = re.compile(r" ?\([^()]*PROVENANCE\.md[^()]*\)")
_WORDS: Final = {
    "pub": "published",
    "prac": "common practice",
    "rep": "reported by repairers",
    "mem": "from memory, not verified",
    "der": "derived",
    "own": "this program's own",
}
"""Labels of the reference data; reference_data/PROVENANCE.md defines them."""

_LABEL: Final = re.compile(rf"(^|; |: |\()({'|'.join(_WORDS)})(?=: |$|\)|; )")
_OURS: Final = re.compile(
    rf"(?:{'|'.join(_WORDS)}|range sanity only|this project's own)(?=[:;]|$| )"
)
"""A text of this project begins so; what a user wrote does not."""

_BARE: Final = re.compile(r"\bmem\b")


def basis_words(basis: str) -> str:
    """Give the basis of an entry without labels and keys that only this project knows.

    A text that a user wrote has none of them, and stays as it is.
    """
    if _OURS.match(basis) is None:
        return basis
    text = _FILE.sub("", basis).replace(" in PROVENANCE.md", " that was found in print")
    text = _KEYS.sub(_documents, text)
    text = _LABEL.sub(lambda found: f"{found[1]}{_WORDS[found[2]]}", text)
    text = _BARE.sub(_WORDS["mem"], text)
    for word in _WORDS.values():
        text = text.replace(f"{word}: {word}", word)
    return text


def _documents(found: re.Match[str]) -> str:
    return "a data sheet" if re.fullmatch(_KEY, found[0]) else "data sheets"
