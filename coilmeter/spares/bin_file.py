"""The file in which heads go from bin to bin: JSON lines, one head a line.

The first line says what it is, then come the proofs of meters, then the heads with all that
is kept of each, and a last line with the count, so that a file cut short is known.  Fields
that are empty are left out.  See docs/reference/bin-file.md.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, Final, TypeAlias

from pydantic import (
    ConfigDict,
    Field,
    StringConstraints,
    TypeAdapter,
    ValidationError,
    with_config,
)
from typing_extensions import TypedDict

from coilmeter.errors import Mistake
from coilmeter.spares.identity import ALPHABET, ID_LENGTH
from coilmeter.spares.records import LONGEST_DOCUMENT, LONGEST_TEXT, Fields
from coilmeter.spares.schema import EVIDENCE, FIELDS
from coilmeter.values import Purpose, Role
from coilmeter.values.about import FACE_WORDS
from coilmeter.values.bin import Status

FILE_SCHEMA: Final = "coilmeter-bin/1"
OF_HEAD: Final = ("impedances", "notes", "photos", "events")
"""Lists of a head beside its sittings."""

_DECIDED: Final = (Status.AVAILABLE, Status.USED, Status.SCRAPPED)


def _one_of(*words: str) -> StringConstraints:
    """Give the constraint of a field that holds one of these words."""
    return StringConstraints(pattern=f"^({'|'.join(map(re.escape, words))})$")


_STRICT: Final = ConfigDict(extra="forbid", strict=True)
_Id: TypeAlias = Annotated[
    str, StringConstraints(pattern=rf"^[0-7][{ALPHABET}]{{{ID_LENGTH - 1}}}$")
]
_Short: TypeAlias = Annotated[str, StringConstraints(max_length=100)]
_Text: TypeAlias = Annotated[str, StringConstraints(max_length=LONGEST_TEXT)]
_Document: TypeAlias = Annotated[str, StringConstraints(max_length=LONGEST_DOCUMENT)]
_Whole: TypeAlias = Annotated[int, Field(ge=0, lt=2**31)]
_Size: TypeAlias = Annotated[float, Field(ge=0, lt=1e12, allow_inf_nan=False)]
_YesNo: TypeAlias = Annotated[str, _one_of("", "yes", "no")]
_Role: TypeAlias = Annotated[str, _one_of("", *Role)]
_Purpose: TypeAlias = Annotated[str, _one_of("", *Purpose)]
_Face: TypeAlias = Annotated[str, _one_of("", *FACE_WORDS)]
_Fitted: TypeAlias = Annotated[str, _one_of("", "loose", "fitted")]
_Shown: TypeAlias = Annotated[str, _one_of("", "bridged", "key")]
_Hex: TypeAlias = Annotated[
    str, StringConstraints(pattern="^[0-9A-Fa-f ]*$", max_length=LONGEST_DOCUMENT)
]
_Numbers: TypeAlias = Annotated[
    str, StringConstraints(pattern="^[0-9 ]*$", max_length=LONGEST_TEXT)
]
_Decided: TypeAlias = Annotated[str, _one_of(*_DECIDED)]


@with_config(_STRICT)
class _Reading(TypedDict, total=False):
    number: _Whole
    reading: _Short
    purpose: _Purpose
    coil: _Text
    other: _Text
    role: _Role
    pin_a: _Text
    pin_b: _Text
    range: _Short
    meter: _Text
    lead: _Text
    temperature: _Text
    time: _Text
    note: _Text
    count: Annotated[int, Field(ge=1, lt=2**31)]
    scatter_ohm: _Size
    proof: _Shown
    raw: _Hex
    flex: _Text
    instead: _Numbers
    line: _Whole


@with_config(_STRICT)
class _Sitting(TypedDict, total=False):
    id: _Id
    begun: _Short
    source: _Text
    band: _Short
    proof: _Id
    readings: list[_Reading]


@with_config(_STRICT)
class _Impedance(TypedDict, total=False):
    id: _Id
    coil: _Text
    time: _Short
    frequency_hz: _Size
    inductance_henry: _Size
    u_henry: _Size
    document: _Document


@with_config(_STRICT)
class _Note(TypedDict, total=False):
    id: _Id
    time: _Short
    marking: _Text
    face: _Face
    fitted: _Fitted
    demagnetised: _YesNo
    tape_tested: _YesNo
    text: _Text


@with_config(_STRICT)
class _Photo(TypedDict, total=False):
    id: _Id
    time: _Short
    name: _Text
    sha256: Annotated[str, StringConstraints(pattern="^[0-9a-f]{64}$")]
    size: _Whole


@with_config(_STRICT)
class _Event(TypedDict, total=False):
    id: _Id
    time: _Short
    status: _Decided
    reason: _Text
    after: _Text


@with_config(_STRICT)
class _Head(TypedDict, total=False):
    id: _Id
    name: _Short
    kind: _Short
    made: _Short
    sittings: list[_Sitting]
    impedances: list[_Impedance]
    notes: list[_Note]
    photos: list[_Photo]
    events: list[_Event]
    evidence: _Short


@with_config(_STRICT)
class _Proof(TypedDict, total=False):
    id: _Id
    meter: _Text
    made: _Short
    document: _Document


@with_config(_STRICT)
class _End(TypedDict, total=False):
    heads: _Whole
    proofs: _Whole


@with_config(_STRICT)
class _Line(TypedDict, total=False):
    schema: _Short
    bin: _Id
    exported: _Short
    coilmeter: _Short
    proof: _Proof
    head: _Head
    end: _End


_LINE: Final = TypeAdapter(_Line)
_NUMBERS: Final[Mapping[str, Any]] = {
    "count": 1,
    "scatter_ohm": 0.0,
    "line": 0,
    "number": 0,
    "size": 0,
    "proof": "",
    "frequency_hz": None,
    "inductance_henry": None,
    "u_henry": None,
}
DEFAULTS: Final[Mapping[str, Fields]] = {
    table.name: {name: _NUMBERS.get(name, "") for name in FIELDS[table.name]}
    | ({"proof": None} if table.name == "sittings" else {})
    for table in EVIDENCE
}
"""What a field is where a file leaves it out, by table."""

REQUIRED: Final[Mapping[str, tuple[str, ...]]] = {
    "heads": ("id", "made"),
    "sittings": ("id", "begun"),
    "readings": ("number", "reading"),
    "proofs": ("id", "meter", "document"),
    "impedances": ("id", "coil", "time"),
    "notes": ("id", "time"),
    "photos": ("id", "name", "sha256", "time"),
    "events": ("id", "status", "time"),
}
TIMES: Final[Mapping[str, str]] = {
    "heads": "made",
    "sittings": "begun",
    "impedances": "time",
    "notes": "time",
    "photos": "time",
    "events": "time",
}
"""Field of each table that holds a time of the bin's own form."""


def line_of(data: bytes, path: str, number: int) -> tuple[dict[str, Any], list[Mistake]]:
    """Read one line; empty where it has mistakes.

    Parameters
    ----------
    data
        The line.
    path, number
        File and line, for messages.

    """
    try:
        line = dict(_LINE.validate_json(data))
    except ValidationError as error:
        return {}, [_mistake(path, number, fault) for fault in error.errors()]
    # No database keeps it; looked for only where it can be, to be quick.
    if b"\\u0000" in data:
        mistakes = [
            Mistake(path, number, place, "a NUL character", "text")
            for place in _with_nul(line, "")
        ]
        return ({}, mistakes) if mistakes else (line, [])
    return line, []


def compact(table: str, fields: Mapping[str, Any]) -> Fields:
    """Fields of a record as the file has them: those that say something."""
    defaults = DEFAULTS[table]
    return {
        name: fields[name]
        for name in FIELDS[table]
        if fields[name] != defaults[name] and name not in {"head", "sitting"}
    }


def whole(table: str, found: Mapping[str, Any]) -> Fields:
    """Fields of a record with those that the file leaves out."""
    return {**DEFAULTS[table], **found}


def missing(table: str, found: Mapping[str, Any]) -> Iterator[str]:
    """Names of fields that must be there and are not."""
    return (name for name in REQUIRED[table] if name not in found)


def _with_nul(value: Any, place: str) -> Iterator[str]:
    """Places of the texts with a NUL in them."""
    if isinstance(value, str):
        if "\0" in value:
            yield place
        return
    inside: Iterable[tuple[Any, Any]] = ()
    if isinstance(value, dict):
        inside = value.items()
    elif isinstance(value, list):
        inside = enumerate(value)
    for name, each in inside:
        yield from _with_nul(each, f"{place}.{name}".removeprefix("."))


def _mistake(path: str, number: int, fault: Any) -> Mistake:
    place = ".".join(str(part) for part in fault["loc"]) or "line"
    seen, expected = repr(fault["input"]), fault["msg"]
    if fault["type"] == "extra_forbidden":
        expected = "no such field"
    elif fault["type"] == "json_invalid":
        seen, expected = "no JSON", f"one JSON object ({fault['ctx']['error']})"
    longest = 60
    if len(seen) > longest:
        seen = f"{seen[:longest]}..."
    return Mistake(path, number, place, seen, expected)
