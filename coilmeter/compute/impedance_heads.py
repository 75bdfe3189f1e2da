"""AC volts joined to verdicts from ohms: each coil gets its impedance, each head its grade.

Ohms come first: what is dead, partial or unstable stays so.  A suspicion from AC volts never
makes a coil faulty; it takes the word `matched` away, because a head whose siblings differ in
inductance or Q is not that, and it stands in the reason of the grade.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.compute.grade import NOT_PROVEN
from coilmeter.compute.impedance_rows import Ohms, ToneReader
from coilmeter.compute.settings import Settings
from coilmeter.compute.turns import judge_tones
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import Mistake
from coilmeter.units.si_text import format_si
from coilmeter.values import CoilResult, Grade, HeadResult
from coilmeter.values.impedance_rows import ImpedanceRow
from coilmeter.values.impedances import HeadImpedance, Sign

_SUSPICIOUS: Final = (Sign.SHORTED, Sign.WEAR, Sign.DIFFERS)


def measured_heads(
    rows: Sequence[ImpedanceRow],
    settings: Settings,
    limits: Limits,
    mistakes: Sequence[Mistake] = (),
    heads: Sequence[HeadResult] = (),
) -> list[HeadImpedance]:
    """Judge the coils of all heads in rows of AC volts, by themselves.

    `heads`, judged from ohms, only give the DC resistance of their coils.

    Raises
    ------
    MistakesError
        With every mistake; then nothing has been judged.

    """
    found, references = ToneReader(settings, ohms_of(heads)).heads(rows, mistakes)
    return [judge_tones(head, references, limits) for head in found]


def ohms_of(heads: Sequence[HeadResult]) -> Ohms:
    """DC resistances at 20 degC of heads that were judged from ohms."""
    return {
        (head.head, coil.coil): (coil.resistance_20c_ohm, coil.u_ohm)
        for head in heads
        for coil in head.coils
        if coil.resistance_20c_ohm is not None and coil.u_ohm is not None
    }


def with_impedance(
    heads: Sequence[HeadResult],
    rows: Sequence[ImpedanceRow],
    settings: Settings,
    limits: Limits,
    mistakes: Sequence[Mistake] = (),
) -> list[HeadResult]:
    """Join rows of AC volts to heads that were judged from ohms.

    Parameters
    ----------
    heads
        The verdicts from ohms; the DC resistance of each coil comes from them.
    rows, mistakes
        AC volts of the same heads, and mistakes found while they were read.  Rows that name
        no head are of the one there is.
    settings, limits
        As for the verdicts; what counts as a difference.

    Raises
    ------
    MistakesError
        With every mistake, a head or coil that the ohms do not know included.

    """
    by_name = {head.head: head for head in heads}
    placed, found = [], list(mistakes)
    for row in rows:
        head = heads[0] if not row.named and len(heads) == 1 else by_name.get(row.head)
        if row.reference and head is None:
            placed.append(row)
            continue
        wrong = _misplaced(row, head, by_name)
        if wrong is not None:
            found.append(wrong)
        elif head is not None:
            kind = row.kind or head.kind
            placed.append(replace(row, head=head.head, kind=kind, named=True))
    tones, references = ToneReader(settings, ohms_of(heads)).heads(placed, found)
    judged = {each.head: judge_tones(each, references, limits) for each in tones}
    return [_joined(head, judged.get(head.head)) for head in heads]


def _misplaced(
    row: ImpedanceRow, head: HeadResult | None, heads: dict[str, HeadResult]
) -> Mistake | None:
    """Note a row of a head or coil that the ohms do not know."""
    if head is None:
        names = ", ".join(heads) or "(none)"
        expected = f"a head of the readings: {names}"
        return Mistake(row.path, row.line, "head", repr(row.head), expected)
    coils = [coil.coil for coil in head.coils]
    if row.coil not in coils:
        expected = f"a coil of head {head.head}: {', '.join(coils)}"
        return Mistake(row.path, row.line, "coil", repr(row.coil), expected)
    return None


def _joined(head: HeadResult, found: HeadImpedance | None) -> HeadResult:
    if found is None:
        return head
    coils = tuple(replace(coil, impedance=found.coils.get(coil.coil)) for coil in head.coils)
    grade, reason = _graded(head, coils, found.refused)
    return replace(
        head,
        coils=coils,
        grade=grade,
        grade_reason=reason,
        cautions=(*head.cautions, *found.notes),
    )


def _graded(
    head: HeadResult, coils: Sequence[CoilResult], refused: Sequence[str]
) -> tuple[Grade, str]:
    """Grade again with L and Q: less than `matched` where they differ or are undecided."""
    said = [impedance_sentence(coils)] if any(coil.impedance for coil in coils) else []
    if refused:
        said.append(f"AC volts of coil {', '.join(refused)} could not be used.")
    reason = head.grade_reason.removesuffix(NOT_PROVEN).rstrip()
    signs = {coil.impedance.sign for coil in coils if coil.impedance is not None}
    grade = head.grade
    if grade is Grade.MATCHED and signs & set(_SUSPICIOUS):
        grade = Grade.UNMATCHED
    elif grade is Grade.MATCHED and (Sign.UNDECIDED in signs or refused):
        grade = Grade.RECHECK
    if grade is not head.grade:
        reason = reason.replace("siblings matched", "siblings matched in ohms")
    return grade, " ".join([reason, *said, NOT_PROVEN])


def impedance_sentence(coils: Sequence[CoilResult]) -> str:
    """Say in a sentence or two what AC volts showed of the coils of a head."""
    by_sign: dict[Sign, list[str]] = {}
    tones: dict[str, None] = {}
    for coil in coils:
        if coil.impedance is not None:
            by_sign.setdefault(coil.impedance.sign, []).append(coil.coil)
            tones[format_si(coil.impedance.leading.impedance.frequency_hz, "Hz")] = None
    words = {
        Sign.SHORTED: "shorted turns suspected in coil",
        Sign.WEAR: "wear suspected in coil",
        Sign.DIFFERS: "L or Q differs in coil",
        Sign.UNDECIDED: "L and Q undecided in coil",
        Sign.NONE: "no sign of shorted turns in coil",
        Sign.NO_REFERENCE: "nothing to stand beside for coil",
    }
    parts = [
        f"{text} {', '.join(by_sign[sign])}" for sign, text in words.items() if sign in by_sign
    ]
    return f"By AC volts at {', '.join(tones)}: {'; '.join(parts)}."
