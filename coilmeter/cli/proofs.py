"""The proof of the meter in use: found, told with its age, or missed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

from coilmeter.cli.folders import data_folder
from coilmeter.compute.settings import UNSTATED, Settings
from coilmeter.sources.proofs import TYPED, latest_proof, port_key
from coilmeter.units import format_ohm
from coilmeter.values.proofs import MeterProof, Outcome
from coilmeter.values.unproved import SUFFIX
from coilmeter.wire.contract import Format

OLD_DAYS: Final = 90
_HOW: Final = "prove it: coilmeter meter prove"


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
    verified
        Whether a proof has passed, so that a format that is not verified need not be warned
        about.

    """

    settings: Settings
    lines: tuple[str, ...]
    proof: str
    verified: bool


def trust(settings: Settings, form: Format | None, port: str) -> Trust:
    """Look for the proof of the meter that a check is about to use."""
    name = TYPED if form is None else form.name
    found = latest_proof(data_folder() / "proofs", settings.meter, name, port_key(port))
    if found is not None and found.outcome is Outcome.ACCEPTED:
        told = sentence(found)
        old = age_days(found) > OLD_DAYS
        lines = (f"! {told}: that is long ago, {_HOW}.",) if old else (f"{told}.",)
        return Trust(settings, lines, f"{told}.", verified=True)
    default = "1 % + 5 counts count at least"
    if found is None:
        line = f"! {settings.meter} is not proved here: {default} until you {_HOW}."
        return Trust(_widened(settings), (line,), "", verified=False)
    refused = found.outcome is Outcome.REFUSED
    means = "do not trust it" if refused else "nothing is proved"
    line = f"! {sentence(found)}: {means}; {default}."
    return Trust(_widened(settings), (line,), f"{sentence(found)}.", verified=False)


def sentence(proof: MeterProof) -> str:
    """Say in a sentence what a proof found, and how long ago."""
    days = age_days(proof)
    when = "today" if days < 1 else "yesterday" if days < 2 else f"{days:.0f} days ago"  # noqa: PLR2004 - two days
    with_ = ", ".join(check.resistor.text for check in proof.checks) or "no resistor"
    return (
        f"{proof.meter}: proof of {when} ({proof.made[:10]}) with {with_} {proof.outcome}, "
        f"null {format_ohm(proof.null_ohm)}"
    )


def age_days(proof: MeterProof) -> float:
    """Age of a proof in days."""
    made = datetime.fromisoformat(proof.made)
    return (datetime.now(UTC) - made).total_seconds() / 86_400


def _widened(settings: Settings) -> Settings:
    if settings.meter == UNSTATED or settings.meter.endswith(SUFFIX):
        return settings
    return replace(settings, meter=f"{settings.meter}{SUFFIX}")
