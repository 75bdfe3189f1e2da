"""A band learnt from known-good coils, from files of readings to the user's own catalog."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from coilmeter.compute.learning import KnownCoil, Learnt, learn
from coilmeter.compute.outliers import outliers
from coilmeter.errors import InputError
from coilmeter.report.band_rows import BandCoil
from coilmeter.units import Quantity, format_ohm, ohms
from coilmeter.values import ROLE_KEYS, Band, CoilResult, Condition, HeadResult

_DIGITS = 4


@dataclass(frozen=True, slots=True)
class Group:
    """Good coils of one role: those with a value, and what was left out and why."""

    coils: tuple[KnownCoil, ...]
    band: str
    left_out: tuple[str, ...]


def gather(heads: Sequence[HeadResult], role: str, leave_out: Sequence[str]) -> Group:
    """Collect the coils of one role.

    Parameters
    ----------
    heads
        Judged heads, said to be good.
    role
        Role of the coils, as files spell it; empty where there is one only.
    leave_out
        Coils to leave out, each as ``HEAD:COIL``.

    Raises
    ------
    InputError
        When there are several roles and none is named, or a coil to leave out is not there.

    """
    wanted = _role(heads, role)
    found = [
        (head.head, coil)
        for head in heads
        for coil in head.coils
        if coil.role == wanted and coil.verdict is not Condition.MISSING
    ]
    names = [f"{head}:{coil.coil}" for head, coil in found]
    unknown = sorted(set(leave_out) - set(names))
    if unknown:
        raise InputError(
            f"--leave-out: saw {', '.join(map(repr, unknown))}",
            hint=f"the coils are {', '.join(names[:12])}{' ...' if len(names) > 12 else ''}.",  # noqa: PLR2004 - one screen line
        )
    coils, others = [], []
    for name, (head, coil) in zip(names, found, strict=True):
        known = KnownCoil.of(head, coil)
        why = "left out" if name in leave_out else _unfit(coil)
        if why or known is None:
            others.append(f"{name} ({why or 'no value'})")
        else:
            coils.append(known)
    bands = sorted({coil.band for _, coil in found if coil.band})
    return Group(tuple(coils), bands[0] if len(bands) == 1 else "", tuple(others))


def learn_band(
    group: Group,
    base: Band,
    name: str,
    coverage: float,
    confidence: float,
    *,
    keep_all: bool,
    source: str = "",
) -> tuple[Band, Learnt]:
    """Learn a band; the limits of shorted and open come from a base band.

    `source` says where the coils come from, for whoever reads the band later.

    Raises
    ------
    InputError
        When coils stand out and `keep_all` does not say that they belong, when they are too
        few, or when the limits do not fit between those of the base band.

    """
    odd = [] if keep_all else outliers([coil.ohm for coil in group.coils])
    if odd:
        named = "; ".join(
            f"{group.coils[each.index].name} {format_ohm(group.coils[each.index].ohm)} "
            f"({each.why})"
            for each in odd
        )
        options = " ".join(f"--leave-out {group.coils[each.index].name}" for each in odd)
        raise InputError(
            f"these stand out from the rest: {named}; nothing was learnt",
            hint=f"find out why; then {options}, or --keep-all where they are good.",
        )
    found = learn(group.coils, coverage, confidence)
    low, high = _rounded(found.low_ohm), _rounded(found.high_ohm)
    if not base.shorted_below < low < high < base.open_above:
        raise InputError(
            f"{format_ohm(found.low_ohm)} to {format_ohm(found.high_ohm)} is not between "
            f"shorted (below {base.shorted_below:~}) and open (above {base.open_above:~}) of "
            f"the band {base.name}",
            hint="give another --base.",
        )
    made = replace(
        base,
        name=name or f"{base.name}-own",
        low=low,
        high=high,
        description=f"learnt from {found.coils} good coils of {found.heads} heads",
        basis=_basis(found, base, source),
    )
    return made, found


def drawn(group: Group) -> list[BandCoil]:
    """Coils of a group, lowest first, to be drawn."""
    return [
        BandCoil(coil.name, coil.ohm, (coil.u_own_ohm**2 + coil.u_shared_ohm**2) ** 0.5)
        for coil in sorted(group.coils, key=lambda coil: coil.ohm)
    ]


def told(found: Learnt, group: Group) -> list[str]:
    """Say in sentences what a person should know of a learnt band."""
    summary = (
        f"Two-sided normal tolerance interval, exact factor {found.factor:.4g}: with "
        f"{100 * found.confidence:g} % confidence it holds {100 * found.coverage:g} % of such "
        f"coils, if they spread normally. Mean {format_ohm(found.mean_ohm)}, spread "
        f"{format_ohm(found.s_ohm)}; moved out by {format_ohm(found.shared_ohm)} at either end "
        "for errors that all the readings share."
    )
    notes = [summary]
    if found.heads < found.coils:
        notes.append(
            f"{found.coils} coils of {found.heads} heads: coils of one head are more alike "
            "than coils of different heads, so the interval may be too narrow. More heads "
            "count for more than more coils."
        )
    if group.left_out:
        notes.append(f"Not used: {', '.join(group.left_out)}.")
    return notes


def entry_of(band: Band) -> dict[str, str]:
    """Give what stands in the user's reference file."""
    return {
        "description": band.description,
        **{
            key: f"{value.m_as('ohm'):.6g} ohm"
            for key, value in (
                ("shorted_below", band.shorted_below),
                ("low", band.low),
                ("high", band.high),
                ("open_above", band.open_above),
            )
        },
        "basis": band.basis,
    }


def _role(heads: Sequence[HeadResult], role: str) -> str:
    there = sorted({str(coil.role) for head in heads for coil in head.coils})
    if role:
        if role not in ROLE_KEYS:
            raise InputError(
                f"--role: saw {role!r}", hint=f"it is one of: {', '.join(sorted(ROLE_KEYS))}."
            )
        return str(ROLE_KEYS[role])
    if len(there) > 1:
        raise InputError(
            f"coils of several roles: {', '.join(there)}", hint="say which with --role."
        )
    return there[0] if there else ""


def _unfit(coil: CoilResult) -> str:
    """Why a coil with a value cannot be learnt from; empty where it can."""
    return "unstable" if coil.verdict is Condition.UNSTABLE else ""


def _rounded(ohm: float) -> Quantity:
    return ohms(float(f"{ohm:.{_DIGITS}g}"))


def _basis(found: Learnt, base: Band, source: str) -> str:
    return (
        f"learnt {datetime.now(UTC):%Y-%m-%d}: {found.coils} good coils of {found.heads} "
        f"heads, mean {found.mean_ohm:.5g} ohm, s {found.s_ohm:.3g} ohm, two-sided tolerance "
        f"factor {found.factor:.5g} ({100 * found.coverage:g} % of coils, "
        f"{100 * found.confidence:g} % confidence), {found.shared_ohm:.3g} ohm added at either "
        f"end for shared errors; shorted and open as in {base.name}"
        f"{f'; {source}' if source else ''}"
    )
