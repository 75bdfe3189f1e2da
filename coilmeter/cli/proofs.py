"""The proof of the meter in use: found, told with its age, or missed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

from coilmeter.cli.folders import data_folder
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.proof_leads import stated_limit_ohm
from coilmeter.compute.proof_notes import OLD_DAYS, proof_note
from coilmeter.compute.settings import UNSTATED, Settings
from coilmeter.errors import InputError
from coilmeter.sources.proofs import TYPED, latest_proof, port_key, read_proofs
from coilmeter.units import format_ohm
from coilmeter.values.proofs import MeterProof, Outcome
from coilmeter.values.unproved import SUFFIX
from coilmeter.wire.contract import Format

_HOW: Final = "prove it: coilmeter meter prove"
_DEFAULT: Final = "1 % + 5 counts count at least"
_SQRT3: Final = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Trust:
    """What is known of a meter before it is used.

    Parameters
    ----------
    settings
        Settings with the meter to judge by: as stated where it is proved, else widened.
    lines
        What to say, cautions first.
    proof
        The proof in a sentence, for reports; empty where there is none.
    note
        What readings are noted with, so that it is known later on; empty where there is no
        proof.
    found
        The latest proof; None where there is none.

    """

    settings: Settings
    lines: tuple[str, ...]
    proof: str = ""
    note: str = ""
    found: MeterProof | None = None

    @property
    def verified(self) -> bool:
        """Whether a proof has passed: then no format has to be warned about any longer."""
        return self.found is not None and self.found.outcome is Outcome.ACCEPTED


def trust(settings: Settings, form: Format | None, port: str) -> Trust:
    """Look for the proof of the meter that a check is about to use."""
    name = TYPED if form is None else form.name
    stated = settings.meter.removesuffix(SUFFIX)
    folder = data_folder() / "proofs"
    found = latest_proof(folder, stated, name, port_key(port))
    if found is None:
        # The one that is missed may be among those that could not be read.
        _, strange = read_proofs(folder)
        passed_over = (f"! {line}" for line in strange)
        return Trust(_widened(settings), (*passed_over, _missing(settings)))
    told = sentence(found)
    known = {"proof": f"{told}.", "note": proof_note(found.outcome, found.made)}
    if found.outcome is Outcome.ACCEPTED:
        old = age_days(found) > OLD_DAYS
        line = f"! {told}: that is long ago, {_HOW}." if old else f"{told}."
        return Trust(settings, (line,), found=found, **known)
    refused = found.outcome is Outcome.REFUSED
    means = "DO NOT TRUST IT" if refused else "nothing is proved"
    line = f"! {told}: {means}; {_DEFAULT}."
    return Trust(_widened(settings), (line,), found=found, **known)


def is_proved(meter: str, form: Format, port: str) -> bool:
    """Whether the latest proof of a meter in that format at that port was accepted."""
    found = latest_proof(data_folder() / "proofs", meter, form.name, port_key(port))
    return found is not None and found.outcome is Outcome.ACCEPTED


def with_null_of_proof(trusted: Trust) -> Trust:
    """Take the null of the leads from the proof, with the last digits of the meter on top.

    Raises
    ------
    InputError
        When no proof of the meter was accepted.

    """
    found, settings = trusted.found, trusted.settings
    if found is None or not trusted.verified:
        raise InputError(
            f"--lead proved: no accepted proof of {settings.meter.removesuffix(SUFFIX)} here",
            hint="prove the meter first (coilmeter meter prove), or leave --lead out: then "
            "the leads are measured.",
        )
    table = MeterTable(settings.meters[settings.meter])
    floor = stated_limit_ohm(table, 0.0, 0.0) or 0.0
    half = _SQRT3 * math.hypot(found.u_null_ohm, floor / _SQRT3)
    lead = f"{max(found.null_ohm, 0.0):.4f} +/- {half:.4f} ohm"
    said = f"Leads as when it was proved, {lead}: the same leads and plugs must be on."
    return replace(trusted, settings=replace(settings, lead=lead), lines=(*trusted.lines, said))


def sentence(proof: MeterProof) -> str:
    """Say in a sentence what a proof found, and how long ago."""
    days = age_days(proof)
    when = "today" if days < 1 else "yesterday" if days < 2 else f"{days:.0f} days ago"  # noqa: PLR2004 - two days
    with_ = ", ".join(check.resistor.text for check in proof.checks) or "no resistor"
    return (
        f"{proof.meter}: proof of {when} ({proof.made[:10]}) with {with_} {proof.outcome}"
        f"{ranges_text(proof)}, null {format_ohm(proof.null_ohm, proof.u_null_ohm or None)}"
    )


def ranges_text(proof: MeterProof) -> str:
    """Name the ranges on which a resistor proved the meter; empty where none did."""
    ends = sorted(
        {
            check.range_ohm
            for check in proof.checks
            if check.outcome is Outcome.ACCEPTED and check.range_ohm is not None
        }
    )
    return f" on the {' and '.join(map(format_ohm, ends))} range" if ends else ""


def age_days(proof: MeterProof) -> float:
    """Age of a proof in days."""
    made = datetime.fromisoformat(proof.made)
    return (datetime.now(UTC) - made).total_seconds() / 86_400


def _missing(settings: Settings) -> str:
    if settings.meter == UNSTATED:
        return (
            "! no meter is named, and none proved: 1 % + 5 counts count for its accuracy; "
            f"name it with --meter, and {_HOW}."
        )
    name = settings.meter.removesuffix(SUFFIX)
    return f"! {name} is not proved here: {_DEFAULT} until you {_HOW}."


def _widened(settings: Settings) -> Settings:
    if settings.meter == UNSTATED or settings.meter.endswith(SUFFIX):
        return settings
    return replace(settings, meter=f"{settings.meter}{SUFFIX}")
