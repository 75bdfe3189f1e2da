"""Why a coil has its sign, in sentences: figures, derived ranges, what is not told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coilmeter.compute.coil_model import gap_left, model_of, share_for_q
from coilmeter.compute.turns_compare import Beside, median_of
from coilmeter.units.si_text import format_si
from coilmeter.values import Match
from coilmeter.values.impedances import Impedance, ImpedancePoint, Sign

COUPLINGS: Final = (0.95, 0.995)
"""Between these a coupling of shorted turns is taken for granted (derived model)."""

GAP_SHARES: Final = (0.3, 0.7)
"""Share of the front gap in the core's reluctance when new (derived model, assumed)."""

TOO_LOW_HZ: Final = 5e3
"""Below it a collapse of Q from few shorted turns does not show (derived model)."""

BENDS: Final = (
    "Its L changes between the tones as beside a capacitance, such as a board that is still "
    "connected: L and Q there are not its own."
)
AGREE_FOR_NOTHING: Final = (
    "That the coils are alike decides nothing: coils that all are on their boards are, too."
)
UNPLUG: Final = (
    "unplug the head, or see that it is, and read these tones and one between them again."
)
_TWO: Final = 2


@dataclass(frozen=True, slots=True)
class Case:
    """One coil at one tone with its sign, and what the sign rests on.

    Parameters
    ----------
    impedance, point, sign
        What was measured, beside the others, and what it shows.
    siblings, reference
        The others, and reference coils.
    beside, beside_reference
        The comparison with each; None without.
    dc
        DC resistance and its standard uncertainty in ohm, where known.
    edge
        Whether it is the first or the last of its role.
    inner
        Coils of the head that are not taken to be worn.
    q_below
        Limit of the ratio of Q.
    copper
        Whether its ohms account for the rise of R.
    suspects
        Whether others of the head are suspected of shorted turns, and left out here.

    """

    impedance: Impedance
    point: ImpedancePoint
    sign: Sign
    siblings: Sequence[Impedance]
    reference: Sequence[Impedance]
    beside: Beside | None
    beside_reference: Beside | None
    dc: tuple[float, float] | None
    edge: bool
    inner: Sequence[Impedance]
    q_below: float
    copper: bool
    suspects: bool


def explain(case: Case) -> tuple[list[str], str]:
    """Give the reasons in sentences, and the measurement that would decide."""
    match case.sign:
        case Sign.SHORTED:
            return _shorted(case)
        case Sign.WEAR:
            return _wear(case)
        case Sign.DIFFERS:
            return _differs(case)
        case Sign.UNDECIDED:
            return _undecided(case)
        case Sign.NONE:
            return _none(case)
        case Sign.NO_REFERENCE:
            alone = "No sibling of the same role and no reference coil to stand beside."
            if case.suspects:
                alone = "Its siblings are suspected themselves: nothing sound to stand beside."
            return (
                [alone],
                f"measure a good coil of the same kind at {_at(case)}, as reference.",
            )


def _at(case: Case) -> str:
    return format_si(case.impedance.frequency_hz, "Hz")


def _side(case: Case) -> tuple[Beside | None, str, Sequence[Impedance]]:
    """Give the comparison that carries the sign: siblings, else the reference."""
    if case.beside is not None:
        name = "its sibling" if len(case.siblings) == 1 else "the median of its siblings"
        return case.beside, name, case.siblings
    return case.beside_reference, "the reference", case.reference


def _q_words(case: Case) -> list[str]:
    side, name, _ = _side(case)
    if side is None or side.q_ratio is None:
        return []
    u = side.u_q_ratio or 0.0
    share = f"{100 * side.q_ratio:.0f} % (+/- {200 * u:.0f} %)"
    return [f"Q at {_at(case)} is {share} of {name}, the limit {100 * case.q_below:.0f} %."]


def _l_words(case: Case) -> list[str]:
    deviation, u = case.point.deviation, case.point.u_deviation
    if deviation is None or u is None:
        return []
    return [f"L at {_at(case)} is {_off(deviation, u)} off the median of the coils."]


def _reference_words(case: Case) -> list[str]:
    side = case.beside_reference
    if side is None:
        return []
    return [f"L at {_at(case)} is {_off(side.l_ratio - 1, side.u_l_ratio)} off the reference."]


def _off(deviation: float, u: float) -> str:
    """Write a deviation with its expanded uncertainty (k = 2)."""
    return f"{100 * deviation:+.1f} % (+/- {200 * u:.1f} %)"


def _shorted(case: Case) -> tuple[list[str], str]:
    side, _, others = _side(case)
    words = [*_q_words(case), *(_l_words(case) or _reference_words(case))]
    share = _share(case)
    if share:
        words.append(
            f"If turns are shorted, about {share} of them (coupled-coil model, coupling "
            f"{COUPLINGS[0]:g} to {COUPLINGS[1]:g}, derived)."
        )
    words.append(
        f"Not told apart from that: {_across(case.impedance, others)} across the coil, from a "
        "leak or a board that is still connected, or metal in the core of this channel."
    )
    then = "unplug the head, keep metal away from its face, and read this coil again."
    if case.dc is None:
        more = float(f"{case.impedance.r_ohm - median_of(others).real:.2g}")
        words.append(
            f"Nor from a resistance of {format_si(more, 'ohm')} in series: its ohms would tell."
        )
        then = "read the ohms of this coil and of its siblings (check), and this coil again."
    if side is not None and len(others) == 1:
        words.append("That rests on one other coil, taken to be sound and alike when new.")
    return words, then


def _across(coil: Impedance, others: Sequence[Impedance]) -> str:
    """Resistance that, across a coil like the others, would read like this one."""
    z, sound = complex(coil.r_ohm, coil.x_ohm), median_of(others)
    siemens = (1 / z - 1 / sound).real
    return f"some {format_si(float(f'{1 / siemens:.2g}'), 'ohm')}" if siemens > 0 else "loss"


def _share(case: Case) -> str:
    """Range of the share of shorted turns, over couplings and the uncertainty of Q."""
    side, _, others = _side(case)
    if side is None or side.q_ratio is None or side.u_q_ratio is None or case.dc is None:
        return ""
    hertz = case.impedance.frequency_hz
    ratios = [side.q_ratio + sign * 2 * side.u_q_ratio for sign in (-1, 1)]
    shares = [
        share_for_q(
            model_of(median_of(others), hertz, case.dc[0], coupling=coupling), hertz, ratio
        )
        for coupling in COUPLINGS
        for ratio in ratios
        if ratio > 0
    ]
    found = [share for share in shares if share is not None]
    if not found:
        return ""
    return f"{_percent(min(found))} to {_percent(max(found))} %"


def _percent(share: float) -> str:
    return f"{float(f'{100 * share:.1g}'):g}" if share < 0.01 else f"{100 * share:.2g}"  # noqa: PLR2004 - one digit below a per cent


def _wear(case: Case) -> tuple[list[str], str]:
    side = case.beside_reference
    if side is not None and side.l_ratio < 1:
        words, ratio, against = _reference_words(case), side.l_ratio, "the reference"
    else:
        against, ratio = "the inner coils", case.impedance.x_ohm / median_of(case.inner).imag
        words = [f"L at {_at(case)} is {100 * (ratio - 1):+.0f} % off {against}."]
    words.append("R at the tone is not up, as shorted turns would have it.")
    left = sorted(gap_left(ratio, share) for share in GAP_SHARES)
    words.append(
        f"If it is wear, {100 * left[0]:.0f} to {100 * left[1]:.0f} % of the depth of the gap "
        f"is left against {against}; assumed: the front gap made "
        f"{100 * GAP_SHARES[0]:.0f} to {100 * GAP_SHARES[1]:.0f} % of the core's reluctance "
        "when new."
    )
    words.append(
        "Not told apart from that: another build of head, or a gap that was never as deep."
    )
    return words, "look at the face under a loupe: a flat, an edge, an open gap line."


def _differs(case: Case) -> tuple[list[str], str]:
    words = [*_q_words(case), *_l_words(case), *_reference_words(case)]
    if case.copper:
        words.append(
            "Its ohms are higher by as much: a resistance in series, such as a joint, and no "
            "sign of shorted turns."
        )
        return words, "clean and press the joint, and read its ohms again."
    words.append(
        "That is neither the pattern of shorted turns (Q down, R up, in one coil) nor that of "
        "wear (L down in all coils or at both edges)."
    )
    if case.point.siblings == _TWO:
        words.append("Two coils only differ: which of them is as it was, they cannot say.")
    return words, "measure a good coil of the same kind, and give it as reference."


def _undecided(case: Case) -> tuple[list[str], str]:
    words = [*_q_words(case), *_l_words(case), *_reference_words(case)]
    if case.impedance.r_assumed:
        words.append("Q was not measured: R is taken from the DC resistance.")
        return words, "read the voltage of the source too (v_total)."
    return words, (
        "read again on a range with more digits, with a resistor nearer to |Z|; or state the "
        "input capacitance of the meter more closely."
    )


def _none(case: Case) -> tuple[list[str], str]:
    words = [*_q_words(case), *_l_words(case), *_reference_words(case)]
    words.append(f"No sign of shorted turns at {_at(case)}{_seen(case)}.")
    if case.reference and case.point.match is not Match.UNDECIDED:
        words.append("No wear that the reference coil would show.")
    elif case.siblings:
        words.append("Wear that all coils share does not show without a reference coil.")
    then = ""
    if case.impedance.frequency_hz < TOO_LOW_HZ:
        then = "measure at 10 kHz: at so low a tone few shorted turns do not show."
    return words, then


def _seen(case: Case) -> str:
    share = case.point.sees_share
    if share is None:
        return "; with its ohms known, it could be said how few would have shown"
    return f"; more than about {_percent(share)} % of the turns would have shown"
