"""A proof summed up: what the walk took, against what the meter states."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib import metadata

from coilmeter.cli.connection import Connection
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.proof import (
    MISSED,
    check_resistor,
    foreseen,
    gain_factor,
    of_resistors,
    overall,
)
from coilmeter.compute.proof_leads import check_null, lead_null
from coilmeter.errors import InputError
from coilmeter.sources.proofs import TYPED, port_key
from coilmeter.units import format_ohm
from coilmeter.values import Meter
from coilmeter.values.proofs import (
    KnownResistor,
    LeadNull,
    MeterProof,
    Outcome,
    ResistorCheck,
    Taken,
)
from coilmeter.walks.proving import ProofWalk
from coilmeter.walks.proving_told import Part, ProofAgain, ProofStep, ProofTaken


@dataclass(frozen=True, slots=True)
class ProofJob:
    """A meter to be proved, with known resistors; no connection where readings are typed."""

    meter: Meter
    resistors: tuple[KnownResistor, ...]
    connection: Connection | None = None

    @property
    def verified(self) -> bool:
        """Whether nobody has to compare the display."""
        return self.connection is None or self.connection.form.facts.verified

    def foreseen(self) -> list[str]:
        """Say before anything is read what it cannot prove."""
        if not self.resistors:
            return [
                "! no --resistor: leads and bytes are looked at, the accuracy is not proved."
            ]
        table = MeterTable(self.meter)
        hints = [(each.text, foreseen(each, table)) for each in self.resistors]
        return [
            f"! {text} proves nothing of what {self.meter.name} states: {hint}."
            for text, hint in hints
            if hint
        ]

    def walk(self) -> ProofWalk:
        """Make the walk."""
        table = MeterTable(self.meter)
        return ProofWalk(
            self.resistors,
            table.range_end,
            last_digit=table.last_digit,
            against=self.against,
            ask_display=not self.verified,
        )

    def against(
        self, step: ProofStep, taken: Taken, before: Mapping[ProofStep, ProofTaken]
    ) -> str:
        """Say what a reading has against the meter, as `coilmeter.walks.proving` asks."""
        table, (short, swapped) = MeterTable(self.meter), shorted(before)
        if step.part is Part.SHORT:
            outcome, why = check_null(taken, None, table)
        elif step.part is Part.SWAPPED:
            outcome, why = check_null(short or taken, taken, table)
        elif step.resistor is not None and short is not None:
            null = lead_null(short, swapped)
            check = check_resistor(step.resistor, taken, null, table)
            outcome, why = check.outcome, check.why
        else:
            return ""
        return why if outcome is Outcome.REFUSED else ""


def shorted(taken: Mapping[ProofStep, ProofTaken]) -> tuple[Taken | None, Taken | None]:
    """Give the readings of the shorted leads, either way round; None where not read."""
    short, swapped = (taken.get(ProofStep(part)) for part in (Part.SHORT, Part.SWAPPED))
    return (
        None if short is None else short.taken,
        None if swapped is None else swapped.taken,
    )


def judged(job: ProofJob, walk: ProofWalk) -> MeterProof:
    """Judge what a walk has taken.

    Raises
    ------
    InputError
        When the leads were not shorted.

    """
    table, (short, swapped) = MeterTable(job.meter), shorted(walk.results)
    if short is None:
        raise InputError(
            f"the shorted leads were not read: nothing is proved{_read_so_far(walk)}",
            hint="begin again, with the clips together.",
        )
    null, opened = lead_null(short, swapped), walk.results.get(ProofStep(Part.OPEN))
    checks = tuple(
        check_resistor(step.resistor, event.taken, null, table)
        for step, event in walk.results.items()
        if step.resistor is not None and event.taken is not None
    )
    agrees = _display(walk)
    parts = [check_null(short, swapped, table)]
    if opened is None:
        parts.append((Outcome.UNDECIDED, "open leads were not read"))
    elif opened.taken is not None:
        read = format_ohm(opened.taken.mean_ohm)
        parts.append((Outcome.UNDECIDED, f"open leads read {read} and not OL"))
        opened = None
    parts += [_unconfirmed(each) for each in walk.doubted.values()]
    if checks or not any(step.resistor for step in walk.doubted):
        parts += of_resistors(checks)
    if not job.verified:
        parts.append(_of_display(agrees))
    outcome, why = overall(parts)
    return _proof(job, null, opened, checks, agrees, outcome, why)


def _unconfirmed(again: ProofAgain) -> tuple[Outcome, str]:
    """Say what one contact has against the meter, which no second one has confirmed."""
    why = (
        f"{again.step.name} read {format_ohm(again.taken.mean_ohm)} once, and no second "
        f"contact confirmed or cleared it: {again.why}"
    )
    return Outcome.UNDECIDED, why


def _read_so_far(walk: ProofWalk) -> str:
    """List what was read in spite of that, so that it is not lost."""
    found: list[ProofTaken | ProofAgain] = [*walk.results.values(), *walk.doubted.values()]
    read = [
        f"{each.step.name} {format_ohm(each.taken.mean_ohm)}"
        for each in found
        if each.taken is not None
    ]
    return f"; read so far: {', '.join(read)}" if read else ""


def _proof(
    job: ProofJob,
    null: LeadNull,
    opened: ProofTaken | None,
    checks: tuple[ResistorCheck, ...],
    agrees: bool | None,  # noqa: FBT001 - what a person said, or did not
    outcome: Outcome,
    why: tuple[str, ...],
) -> MeterProof:
    connection = job.connection
    notes = [_substitution(each, job.meter.name) for each in checks]
    return MeterProof(
        meter=job.meter.name,
        form=TYPED if connection is None else connection.form.name,
        port=port_key("" if connection is None else connection.port),
        made=datetime.now(UTC).isoformat(timespec="milliseconds"),
        null_ohm=null.ohm,
        u_null_ohm=null.u_ohm,
        null_scatter_ohm=null.scatter_ohm,
        thermal_ohm=null.thermal_ohm,
        open_read=opened is not None,
        open_range_ohm=_end_ohm(opened, MeterTable(job.meter)),
        display_agrees=agrees,
        checks=checks,
        outcome=outcome,
        why=(*why, *filter(None, notes)),
        version=metadata.version("coilmeter"),
    )


def _end_ohm(opened: ProofTaken | None, table: MeterTable) -> float | None:
    """End of the range on which open leads read OL; the highest where the meter chose it."""
    end = None if opened is None else opened.range_ohm
    return table.top_ohm if end is not None and math.isinf(end) else end


def _substitution(check: ResistorCheck, meter: str) -> str:
    """Say by which factor the meter reads off, where the resistor is known better than it."""
    if check.resistor_ohm >= check.meter_ohm or check.missed > MISSED:
        return ""
    if check.resistor.ohm + check.deviation_ohm <= 0:
        return ""
    factor, u = gain_factor(check)
    return (
        f"Against {check.resistor.text} the readings of {meter} would have to be multiplied "
        f"by {factor:.5f} +/- {2 * u:.5f} (k = 2): for information, not applied"
    )


def _display(walk: ProofWalk) -> bool | None:
    """Whether the display agreed, shorted and on a resistor; None where that is not known."""
    said = {step.part: agrees for step, agrees in walk.display_agrees.items()}
    if False in said.values():
        return False
    return True if {Part.SHORT, Part.RESISTOR} <= said.keys() else None


def _of_display(agrees: bool | None) -> tuple[Outcome, str]:  # noqa: FBT001 - as above
    """Judge a format that is not verified by what a person saw on the display."""
    if agrees is None:
        return Outcome.UNDECIDED, "nobody said whether the display shows the same"
    if not agrees:
        return Outcome.REFUSED, "the display shows something else: this format is not its"
    return Outcome.ACCEPTED, ""
