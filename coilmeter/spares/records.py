"""Records of the bin: their checksums, and what follows from them for a head.

A checksum is over the fields that say something: a field that a later version adds changes
no checksum of an older record, as long as it is empty there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from hashlib import blake2b
from typing import Any, Final, TypeAlias

from coilmeter.errors import InputError, StoreError
from coilmeter.spares.schema import FIELDS
from coilmeter.values.bin import Status

Fields: TypeAlias = dict[str, Any]
"""Fields of a record, by the names of the columns."""

DIGEST_BYTES: Final = 16
NOTHING: Final = "0" * (2 * DIGEST_BYTES)
"""Digest of no record at all."""

LONGEST_TEXT: Final = 10_000
LONGEST_DOCUMENT: Final = 4_000_000


def checksum(table: str, fields: Mapping[str, Any]) -> str:
    """Checksum of a record, 32 hex digits.

    BLAKE2b of 16 bytes (RFC 7693) over the name of the table, then name and value of each
    field that is neither empty nor null, in alphabetical order, as UTF-8 with a NUL between;
    no text holds one.  A number is written with the fewest digits that give it back.
    """
    said = [
        f"{name}\0{value}"
        for name in FIELDS[table]
        if (value := fields[name]) != "" and value is not None
    ]
    whole = "\0".join([table, *said])
    return blake2b(whole.encode(), digest_size=DIGEST_BYTES).hexdigest()


def together(digests: Iterable[str]) -> str:
    """Digest of several records, whatever their order; the records must differ.

    Raises
    ------
    StoreError
        When one is no digest: it was damaged.

    """
    whole = 0
    for each in digests:
        try:
            whole ^= int(each, 16)
        except ValueError as error:
            raise StoreError(
                f"a digest in the bin is damaged: {each[:40]!r}",
                hint="run 'spares verify'; go on from the last 'spares backup'.",
            ) from error
    return f"{whole:0{2 * DIGEST_BYTES}x}"


def status_of(events: Sequence[Mapping[str, Any]]) -> Status:
    """Status of a head from its events, each with `id`, `status` and `after`.

    The last word counts: the events that no other came after.  Where they differ, two benches
    decided without knowing of each other, and a person must say which holds.
    """
    if not events:
        return Status.AVAILABLE
    ends = set(last_words(events))
    last = {event["status"] for event in events if event["id"] in ends}
    return status_in(last.pop()) if len(last) == 1 else Status.DISPUTED


def status_in(text: str) -> Status:
    """Give the status of a record.

    Raises
    ------
    StoreError
        When it is none: it was damaged.

    """
    try:
        return Status(text)
    except ValueError as error:
        raise StoreError(
            f"a status in the bin is damaged: {text[:40]!r}",
            hint="run 'spares verify'; go on from the last 'spares backup'.",
        ) from error


def last_words(events: Sequence[Mapping[str, Any]]) -> list[str]:
    """Ids of the events that no other came after."""
    answered = {before for event in events for before in str(event["after"]).split()}
    return sorted(event["id"] for event in events if event["id"] not in answered)


def now() -> str:
    """Give the present as records hold it: RFC 3339 in UTC, to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def in_utc(text: str) -> str:
    """Time of a reading as records hold it; one without a zone is taken for UTC.

    Empty where the text is empty or no time.
    """
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        return ""
    if time.tzinfo is None:
        time = time.replace(tzinfo=UTC)
    try:
        return time.astimezone(UTC).isoformat(timespec="milliseconds")
    except OverflowError:
        return ""


def storable(text: str, what: str, longest: int = LONGEST_TEXT) -> str:
    """Give a text back that the bin can keep.

    Raises
    ------
    InputError
        When it is too long, or has a character that no database keeps.

    """
    if len(text) > longest:
        raise InputError(
            f"{what}: {len(text)} characters, expected {longest} at most",
            hint="shorten it.",
        )
    try:
        data = text.encode()
    except UnicodeEncodeError:
        data = b"\0"
    if b"\0" in data:
        raise InputError(
            f"{what}: a character that is no text (NUL, or half of a pair)",
            hint="leave that character out.",
        )
    return text
