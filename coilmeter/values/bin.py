"""What the bin keeps of a head, as plain values: what was measured, seen, decided."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from coilmeter.values.readings import ReadingRow


class Status(StrEnum):
    """Where a head of the bin is; `DISPUTED` where two benches decided differently."""

    AVAILABLE = "available"
    USED = "used"
    SCRAPPED = "scrapped"
    DISPUTED = "disputed"


@dataclass(frozen=True, slots=True)
class BinHead:
    """A head of the bin.

    Parameters
    ----------
    id, code
        Its id, made once, and the short code of it that stands on a label.
    name, kind
        What a person calls it, and its kind; empty where not known.
    made, measured
        When it came into the bin and when it was last measured, RFC 3339 in UTC; `measured`
        is empty where it never was.
    status
        Where it is.
    evidence
        Digest of all that is kept of it: differs where anything does.

    """

    id: str
    code: str
    name: str
    kind: str
    made: str
    measured: str
    status: Status
    evidence: str


@dataclass(frozen=True, slots=True)
class Sitting:
    """One sitting in which a head was measured.

    Parameters
    ----------
    begun
        When, RFC 3339 in UTC.
    source
        The readings file it was kept in, or came from.
    band
        The band that every coil was judged by; empty where its kind said.
    proof
        Document of the meter's proof, as JSON text; empty where there is none.
    rows
        What was read, in order.  A reading that was taken again is ``free``.

    """

    id: str
    begun: str
    source: str
    band: str
    proof: str
    rows: tuple[ReadingRow, ...]


@dataclass(frozen=True, slots=True)
class Note:
    """What somebody noted of a head; fields as in `coilmeter.values.about.About`.

    `demagnetised` and `tape_tested` are ``yes``, ``no`` or empty.
    """

    id: str
    time: str
    marking: str
    face: str
    fitted: str
    demagnetised: str
    tape_tested: str
    text: str


@dataclass(frozen=True, slots=True)
class PhotoOf:
    """A photo of a head: its file name and the SHA-256 of the file, in hex."""

    id: str
    time: str
    name: str
    sha256: str
    size: int


@dataclass(frozen=True, slots=True)
class StatusEvent:
    """A head was used, scrapped or restored.

    `after` holds the ids of the events it came after; two events after the same one are two
    benches that did not know of each other.
    """

    id: str
    time: str
    status: Status
    reason: str
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ImpedanceOf:
    """An impedance of a coil: the figures that are compared, and the document of the rest."""

    id: str
    coil: str
    time: str
    frequency_hz: float | None
    inductance_henry: float | None
    u_henry: float | None
    document: str


@dataclass(frozen=True, slots=True)
class HeadRecord:
    """Everything that the bin keeps of a head, oldest first."""

    head: BinHead
    sittings: tuple[Sitting, ...]
    impedances: tuple[ImpedanceOf, ...]
    notes: tuple[Note, ...]
    photos: tuple[PhotoOf, ...]
    events: tuple[StatusEvent, ...]


@dataclass(frozen=True, slots=True)
class BinLine:
    """A head of the bin with what a list says of it.

    Parameters
    ----------
    grade, reason
        Its grade; empty where it cannot be judged, and why in `reason` then.
    coils, intact
        How many coils it has, and how many of them are intact.
    roles
        Roles of its coils, as files spell them.
    low_ohm, high_ohm
        Lowest and highest resistance of its coils at 20 degC, erase coils left out where
        there are others; None without a value.

    """

    head: BinHead
    grade: str
    reason: str
    coils: int
    intact: int
    roles: tuple[str, ...]
    low_ohm: float | None
    high_ohm: float | None
