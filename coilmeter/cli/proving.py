"""A meter proved from beginning to end: the walk, live or typed, the verdict, the file."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib import metadata
from typing import Final

from coilmeter.cli.connection import Connection
from coilmeter.cli.figures import big
from coilmeter.cli.folders import data_folder
from coilmeter.cli.keys import Keys, keyboard
from coilmeter.cli.port_words import CTRL_C_ENDS, back_words, cautions_of, trouble_words
from coilmeter.cli.proof_screen import ProofScreen, make_proof_screen
from coilmeter.cli.typed import ask, say
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.proof import check_null, check_resistor, gain_factor, mean_u_ohm, overall
from coilmeter.errors import InputError, ReadingTextError
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    StreamEvent,
    TalksAgain,
    TimedReading,
    TimedReject,
    Unreadable,
)
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.sources.proofs import TYPED, keep_proof, port_key
from coilmeter.units import format_ohm
from coilmeter.values import Meter, Reading
from coilmeter.values.proofs import KnownResistor, MeterProof, Outcome, ResistorCheck
from coilmeter.walks.proving import Part, ProofAdvice, ProofEvent, ProofStep, ProofWalk

_HELP: Final = (
    "Type what the meter shows, with its unit: 0.2 ohm, OL 40 Mohm; or skip, or quit."
)
_AGREES: Final = {"y": True, "yes": True, "n": False, "no": False}


@dataclass(frozen=True, slots=True)
class ProofJob:
    """A meter to be proved, with known resistors; no connection where readings are typed."""

    meter: Meter
    resistors: tuple[KnownResistor, ...]
    connection: Connection | None


def prove(job: ProofJob) -> MeterProof:
    """Prove a meter, and keep what was found.

    Raises
    ------
    MeterError
        When the meter or its port fails.
    InputError
        When it ended before the leads were shorted: there is nothing to judge.
    StoreError
        When the proof could not be kept.

    """
    walk = ProofWalk(job.resistors, MeterTable(job.meter).range_end)
    agrees = None
    if job.connection is None:
        _typed(walk)
    else:
        agrees = _live(walk, job.connection)
    proof = judged(job, walk, display_agrees=agrees)
    keep_proof(data_folder() / "proofs", proof)
    say("Kept: coilmeter meter proofs lists it.")
    return proof


def judged(job: ProofJob, walk: ProofWalk, *, display_agrees: bool | None) -> MeterProof:
    """Judge what a walk has taken.

    Raises
    ------
    InputError
        When the leads were not shorted.

    """
    table = MeterTable(job.meter)
    found = {step.part: event for step, event in walk.results.items() if not step.resistor}
    short, swapped = found.get(Part.SHORT), found.get(Part.SWAPPED)
    null = None if short is None else short.taken
    if null is None:
        raise InputError(
            "the shorted leads were not read: nothing is proved",
            hint="begin again, with the clips together.",
        )
    other = None if swapped is None else swapped.taken
    parts = [check_null(null, other, table)]
    if Part.OPEN not in found:
        parts.append((Outcome.UNDECIDED, "open leads were not read"))
    checks = tuple(
        check_resistor(step.resistor, event.taken, null, table)
        for step, event in walk.results.items()
        if step.resistor is not None and event.taken is not None
    )
    parts += [(check.outcome, check.why) for check in checks]
    if not checks:
        parts.append((Outcome.UNDECIDED, "no known resistor was read: accuracy is not proved"))
    parts += _on_display(job, display_agrees)
    outcome, why = overall(parts)
    notes = [_substitution(each, table) for each in checks]
    opened = found.get(Part.OPEN)
    connection = job.connection
    return MeterProof(
        meter=job.meter.name,
        form=TYPED if connection is None else connection.form.name,
        port=port_key("" if connection is None else connection.port),
        made=datetime.now(UTC).isoformat(timespec="seconds"),
        null_ohm=null.mean_ohm,
        u_null_ohm=mean_u_ohm(null),
        null_scatter_ohm=null.scatter_ohm,
        thermal_ohm=None if other is None else (null.mean_ohm - other.mean_ohm) / 2,
        open_read=opened is not None,
        open_range_ohm=None if opened is None else opened.range_ohm,
        display_agrees=display_agrees,
        checks=checks,
        outcome=outcome,
        why=(*why, *filter(None, notes)),
        version=metadata.version("coilmeter"),
    )


def _substitution(check: ResistorCheck, table: MeterTable) -> str:
    """Say by which factor the meter reads off, where the resistor is known better than it."""
    if check.resistor_ohm >= check.meter_ohm:
        return ""
    factor, u = gain_factor(check)
    return (
        f"Against {check.resistor.text} the readings of {table.meter.name} would have to be "
        f"multiplied by {factor:.5f} +/- {2 * u:.5f}: for information, not applied"
    )


def _on_display(job: ProofJob, agrees: bool | None) -> list[tuple[Outcome, str]]:  # noqa: FBT001 - what a person said, or did not
    """Judge a format that is not verified by what a person saw on the display."""
    if job.connection is None or job.connection.form.facts.verified:
        return []
    if agrees is None:
        return [(Outcome.UNDECIDED, "nobody said whether the display shows the same")]
    if not agrees:
        return [(Outcome.REFUSED, "the display shows something else: this format is not its")]
    return [(Outcome.ACCEPTED, "")]


def _typed(walk: ProofWalk) -> None:
    say(_HELP)
    walk.start()
    while (step := walk.step) is not None:
        say(f"[{walk.steps.index(step) + 1}/{len(walk.steps)}] {step.what}")
        text = ask("  reading> ")
        if text is None or text.lower() in {"quit", "q"}:
            return
        try:
            _ = (
                walk.skip()
                if text.lower() in {"skip", "s"}
                else walk.type(text)
                if text
                else []
            )
        except ReadingTextError as error:
            say(f"  {error}")


def _live(walk: ProofWalk, connection: Connection) -> bool | None:
    for caution in cautions_of(connection.form):
        say(caution)
    clock = RealClock()
    meter = MeterStream(
        connection.port,
        connection.form,
        clock,
        baud=connection.baud,
        lines=connection.lines,
        dialogue=connection.dialogue,
    )
    stream = LastingStream(meter, clock, wait_s=connection.wait_s)
    with stream, keyboard() as keys, make_proof_screen() as screen:
        _listen(walk, stream, screen, keys, connection.port)
    resting = [event for event in walk.results.values() if event.taken and event.step.resistor]
    if connection.form.facts.verified or not resting:
        return None
    return _ask_display(
        resting[-1].step, resting[-1].taken.mean_ohm if resting[-1].taken else 0
    )


def _listen(
    walk: ProofWalk, stream: LastingStream, screen: ProofScreen, keys: Keys, port: str
) -> None:
    def tell(events: Sequence[ProofEvent]) -> None:
        for event in events:
            screen.happened(event)

    tell(walk.start())
    latest: Reading | None = None
    while not walk.finished:
        for item in stream.poll():
            if isinstance(item, TimedReading):
                latest = item.reading
                tell(walk.feed(item.at, item.reading))
            elif isinstance(item, (FellSilent, Unreadable)) and latest is None:
                raise item.error
            else:
                tell(_about(walk, item, port))
        if latest is not None:
            screen.reading(latest, lifting=walk.lifting)
        for key in keys.pressed().lower():
            if key == "q":
                return
            tell({"k": walk.keep_it, "s": walk.skip}.get(key, list)())


def _about(walk: ProofWalk, item: StreamEvent, port: str) -> list[ProofEvent]:
    """Say what became of the connection."""
    match item:
        case TimedReading() | TimedReject():
            return []
        case LinkBack() | TalksAgain():
            return [ProofAdvice(back_words(item, port))]
        case _:
            walk.interrupted()
            return [ProofAdvice(": ".join(trouble_words(item, port, CTRL_C_ENDS)))]


def _ask_display(step: ProofStep, ohm: float) -> bool | None:
    """Ask whether the display agreed; None where nobody answers."""
    sys.stderr.write(f"{big(format_ohm(ohm))}\n")
    question = (
        f"This format is not verified. With {step.what.removeprefix('clip ')} on, did the "
        "meter's own display show this, and the shorted leads near zero? (y or n) "
    )
    for _ in range(3):
        answer = ask(question)
        if answer is None:
            return None
        if answer.lower() in _AGREES:
            return _AGREES[answer.lower()]
    return None
