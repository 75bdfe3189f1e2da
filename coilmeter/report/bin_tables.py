"""Heads of the bin in lists: as they stand, what was added, what changed, what fits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from coilmeter.report.listing import Listing
from coilmeter.units import format_ohm
from coilmeter.values.bin import BinHead, BinLine

NOT_JUDGED: Final = "not judged"
EMPTY: Final = "the bin is empty: 'check' and 'spares add' fill it"
_DAY: Final = 10
_MINUTE: Final = 16


def code(text: str) -> str:
    """Code of a head as a person reads it: ``7K3F-92QX``."""
    return f"{text[:4]}-{text[4:]}"


def minute(time: str) -> str:
    """Time of a record as a person reads it, to the minute."""
    return time[:_MINUTE].replace("T", " ")


def heads_listing(lines: Iterable[BinLine], *, some: bool) -> Listing:
    """List heads with grade, figures and status.

    `some` is whether only some were asked for: then there may be others.
    """
    every = list(lines)
    notes = [
        f"{code(line.head.code)} is not judged: {line.reason}."
        for line in every
        if not line.grade
    ][:_DAY]
    return Listing(
        name="heads",
        headings=(
            "code",
            "name",
            "kind",
            "grade",
            "intact",
            "at 20 degC",
            "status",
            "measured",
        ),
        shown=[
            (
                code(line.head.code),
                line.head.name,
                line.head.kind,
                line.grade or NOT_JUDGED,
                f"{line.intact} of {line.coils}" if line.coils else "",
                _reach(line),
                line.head.status,
                line.head.measured[:_DAY],
            )
            for line in every
        ],
        keys=(
            *("id", "code", "name", "kind", "grade", "reason", "coils", "intact", "roles"),
            *("low_20c_ohm", "high_20c_ohm", "status", "measured", "made"),
        ),
        fields=[
            (
                line.head.id,
                line.head.code,
                line.head.name,
                line.head.kind or None,
                line.grade or None,
                line.reason,
                line.coils,
                line.intact,
                list(line.roles),
                line.low_ohm,
                line.high_ohm,
                str(line.head.status),
                line.head.measured or None,
                line.head.made,
            )
            for line in every
        ],
        notes=notes,
        nothing="no head of the bin is like that" if some else EMPTY,
    )


def added_listing(added: Sequence[Mapping[str, Any]]) -> Listing:
    """List what came into the bin, a head each.

    Of each `id`, `code` and `name`; whether it is `new` or was measured `again`; how many of
    its readings were `added`, `known`, `corrected`, `older`, `silent` and
    `absent`.
    """
    keys = ("id", "code", "name", "new", "again", "added", "known", "corrected")
    return Listing(
        name="added",
        headings=("code", "name", "head", "readings added", "known already"),
        shown=[
            (
                code(each["code"]),
                each["name"],
                _what_became(each),
                str(each["added"]),
                str(each["known"]),
            )
            for each in added
        ],
        keys=keys,
        fields=[tuple(each[name] for name in keys) for each in added],
        notes=[note for each in added for note in _notes_of(each)],
    )


def _what_became(each: Mapping[str, Any]) -> str:
    if each["new"]:
        return "new"
    if each["corrected"]:
        return "corrected"
    return "measured again" if each["again"] else "known"


def _notes_of(each: Mapping[str, Any]) -> Iterator[str]:
    """Say of a head what became of readings that the bin had in other words."""
    name = each["name"]
    if each["corrected"]:
        yield (
            f"{name}: {readings_text(each['corrected'])} corrected: what the file says now, "
            "and what was said beside it, counts from now on; the old stays on record."
        )
    if each["older"]:
        yield (
            f"{name}: {readings_text(each['older'])} left out: corrected in the bin since, and "
            "this file has the older words. If the older are right, say so with --new-sitting."
        )
    if each["silent"]:
        yield (
            f"{name}: {readings_text(each['silent'])} in the bin with a meter, leads or "
            "temperature that the file does not name: these stand. Name others to change them."
        )
    if each["absent"]:
        yield (
            f"{name}: {_absent(each['absent'])}. To take one back, leave its row in the file "
            "with the purpose 'free'."
        )


def _absent(count: int) -> str:
    if count == 1:
        return "1 reading of this sitting is not in the file, and still counts"
    return f"{count} readings of this sitting are not in the file, and still count"


def readings_text(count: int) -> str:
    """Say how many readings."""
    return "1 reading" if count == 1 else f"{count} readings"


def changed_listing(
    changed: Sequence[tuple[BinHead, str, str, str]], judged: int, notes: Sequence[str]
) -> Listing:
    """List heads whose verdict is another one: head, grade before and after, and why."""
    told = f"{judged} {'head' if judged == 1 else 'heads'} judged, {len(changed)} changed."
    return Listing(
        name="changed",
        headings=("code", "name", "kind", "before", "now", "what changed"),
        shown=[
            (
                code(head.code),
                head.name,
                head.kind,
                before or NOT_JUDGED,
                after or NOT_JUDGED,
                why,
            )
            for head, before, after, why in changed
        ],
        keys=("id", "code", "name", "kind", "grade_before", "grade", "changes"),
        fields=[
            (
                head.id,
                head.code,
                head.name,
                head.kind or None,
                before or None,
                after or None,
                why,
            )
            for head, before, after, why in changed
        ],
        notes=[told, *notes],
        facts=(("judged", judged),),
        nothing="no verdict changed",
    )


def status_listing(heads: Sequence[BinHead], status: str, reason: str) -> Listing:
    """List heads that were given a status."""
    return Listing(
        name="heads",
        headings=("code", "name", "kind", "was", "is", "why"),
        shown=[
            (code(head.code), head.name, head.kind, head.status, status, reason)
            for head in heads
        ],
        keys=("id", "code", "name", "kind", "status_before", "status", "reason"),
        fields=[
            (
                head.id,
                head.code,
                head.name,
                head.kind or None,
                str(head.status),
                status,
                reason,
            )
            for head in heads
        ],
    )


def findings_listing(counts: Mapping[str, int], findings: Sequence[Sequence[Any]]) -> Listing:
    """List what is wrong in a bin: what, where, what is wrong, and whether it is damage."""
    told = ", ".join(f"{name} {count}" for name, count in counts.items() if count)
    return Listing(
        name="findings",
        headings=("what", "where", "what is wrong"),
        shown=[(what, where, wrong) for what, where, wrong, _ in findings],
        keys=("what", "where", "wrong", "damage"),
        fields=[tuple(finding) for finding in findings],
        notes=[f"Looked through: {told or 'nothing, the bin is empty'}."],
        facts=(("counts", dict(counts)),),
        nothing="nothing is wrong",
    )


def _reach(line: BinLine) -> str:
    if line.low_ohm is None or line.high_ohm is None:
        return ""
    if line.low_ohm == line.high_ohm:
        return format_ohm(line.low_ohm)
    return f"{format_ohm(line.low_ohm)} to {format_ohm(line.high_ohm)}"
