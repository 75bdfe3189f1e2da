"""One head on the tone bench: advice, the walk over its voltages, and what they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from coilmeter.cli.connection import Connection
from coilmeter.cli.impedance_files import put_impedances, read_all
from coilmeter.cli.impedance_live import ask_tones, run_tones
from coilmeter.cli.impedance_screen import make_tone_screen
from coilmeter.cli.impedance_spoken import ToneAloud
from coilmeter.cli.impedance_words import BEFORE_A_TONE, WIRING
from coilmeter.cli.keys import keyboard
from coilmeter.cli.options import Shape
from coilmeter.cli.port_words import afterwards, cautions_of
from coilmeter.cli.results import SOMETHING
from coilmeter.cli.saying import cut_line
from coilmeter.cli.speech import SPEECH_FAILED, Speaker, find_program
from coilmeter.cli.typed import say
from coilmeter.compute.cautions import LIVE
from coilmeter.compute.impedance_advice import EXPECTED, advise
from coilmeter.compute.impedance_heads import measured_heads
from coilmeter.compute.impedance_sets import impedance_of
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.compute.settings import Settings
from coilmeter.compute.turns_group import Limits
from coilmeter.errors import CoilmeterError, InputError
from coilmeter.sources.clock import RealClock
from coilmeter.sources.impedance_keeper import VoltsFile
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.units.si_text import format_si
from coilmeter.values import HeadKind, HeadResult, Role
from coilmeter.values.impedance_rows import AcVolts, ImpedanceRow, Toleranced
from coilmeter.values.impedances import Impedance, Method
from coilmeter.walks.impedance_steps import ToneStep, plan_tones
from coilmeter.walks.impedance_walk import ToneWalk


@dataclass(frozen=True, slots=True)
class ToneJob:
    """A head to be measured with AC volts.

    Parameters
    ----------
    head, kind
        Its name and kind.
    coils
        Names of the coils to measure, in order.
    frequencies_hz
        The tones, in order.
    resistor
        The series resistor.
    settings, limits
        How it is judged.
    file
        Where voltages are kept.
    references
        Files of coils that are known to be good.
    ohms
        The same head judged from ohms; empty where it was not.

    """

    head: str
    kind: HeadKind
    coils: Sequence[str]
    frequencies_hz: Sequence[float]
    resistor: Toleranced
    settings: Settings
    limits: Limits
    file: VoltsFile
    references: Sequence[Path] = ()
    ohms: Sequence[HeadResult] = ()

    def walk(self) -> ToneWalk:
        """Make the walk over what is left to read.

        Raises
        ------
        InputError
            When the file holds voltages of another head or resistor.

        """
        meter = AcTable(self.settings.meters[self.settings.meter])
        steps = plan_tones(self.coils, self.frequencies_hz)
        template = ImpedanceRow(
            path=str(self.file.path),
            line=0,
            head=self.head,
            coil="",
            kind=self.kind.name,
            resistor=self.resistor,
            meter=self.settings.meter,
            temperature=self.settings.temperature,
        )

        def made(row: ImpedanceRow) -> str:
            found = impedance_of([row], Method.THREE_VOLTMETER, meter, None).impedance
            return summary(found)

        return ToneWalk(
            steps, template, self.file, meter=meter, made=made, done=self._taken(steps)
        )

    def _taken(self, steps: Sequence[ToneStep]) -> dict[str, AcVolts]:
        """Give what an earlier run took, by the key of its step."""
        taken: dict[str, AcVolts] = {}
        for row in self.file.rows:
            if row.head != self.head or row.kind != self.kind.name:
                raise InputError(
                    f"{self.file.path}: holds head {row.head!r} of kind {row.kind!r}, and not "
                    f"head {self.head!r} of kind {self.kind.name!r}",
                    hint="give --head and --kind as they were, or keep the new ones elsewhere.",
                )
            if row.meter != self.settings.meter:
                raise InputError(
                    f"{self.file.path}: was taken with the meter {row.meter!r}, and not "
                    f"{self.settings.meter!r}",
                    hint="give --meter as it was, or keep the new voltages elsewhere.",
                )
            if row.resistor != self.resistor:
                raise InputError(
                    f"{self.file.path}: was taken with another resistor",
                    hint="give --resistor as it was, or keep the new voltages elsewhere.",
                )
            for across, volts in row.volts.items():
                step = ToneStep(row.coil, row.frequency_hz or 0.0, across)
                taken[step.key] = volts
        keys = {step.key for step in steps}
        return {key: volts for key, volts in taken.items() if key in keys}


def summary(found: Impedance) -> str:
    """Say in a few words what three voltages make."""
    q = f"Q {found.q:.2g}" if found.r_ohm > 0 else "Q not known"
    henry = float(found.inductance.m_as("henry"))
    return f"L {format_si(float(f'{henry:.3g}'), 'H')}, {q}"


def say_before(job_kind: HeadKind, coils: Sequence[str], tones_hz: Sequence[float]) -> None:
    """Say cautions, how to connect, and which resistor and drive fit."""
    say(f"! {LIVE}")
    for caution in BEFORE_A_TONE:
        say(f"! {caution}")
    say(WIRING)
    for line in advice_lines(job_kind, coils, tones_hz):
        say(line)


def advice_lines(kind: HeadKind, coils: Sequence[str], tones_hz: Sequence[float]) -> list[str]:
    """Advise resistor and drive for each role among the coils, at each tone."""
    roles = {coil.name: coil.role for coil in kind.coils}
    wanted = dict.fromkeys(roles.get(name, Role.UNKNOWN) for name in coils)
    return [
        f"{role} coil: {advise(EXPECTED[role], hertz).sentence()}"
        for role in wanted
        for hertz in tones_hz
    ]


def measure_tones(
    job: ToneJob,
    connection: Connection | None,
    *,
    shape: Shape,
    out: Path | None,
    plot: Path | None,
    parts: bool,
    speak: bool = False,
) -> int:
    """Measure a head, typed or live, and put out what AC volts say; the exit code comes back.

    Whatever ends the walk early, what was taken is on disk, and a line says where.

    Raises
    ------
    CoilmeterError
        When the meter or the file fails.

    """
    speaker = Speaker(find_program()) if speak else None
    say_before(job.kind, job.coils, job.frequencies_hz)
    if job.file.cut:
        say(cut_line(job.file.cut, job.file.beside, "repeat that voltage"))
    walk = job.walk()
    try:
        if connection is None:
            ask_tones(walk)
        else:
            _run_live(walk, connection, speaker)
    except (CoilmeterError, KeyboardInterrupt):
        say(_where(job, unfinished=True))
        raise
    say(_where(job, unfinished=not walk.finished))
    if not job.file.count:
        say("Nothing was measured: nothing to judge.")
        return SOMETHING
    rows, mistakes = read_all([str(job.file.path)], job.references)
    heads = measured_heads(rows, job.settings, job.limits, mistakes, job.ohms)
    if not heads:
        say("No coil has all its voltages yet: nothing to judge.")
        return SOMETHING
    return put_impedances(heads, job.limits, shape, out, plot, parts=parts)


def _run_live(walk: ToneWalk, connection: Connection, speaker: Speaker | None) -> None:
    for caution in cautions_of(connection.form):
        say(caution)
    clock = RealClock()
    meter = connection.meter(clock)
    stream = LastingStream(meter, clock, wait_s=connection.wait_s)
    shown = make_tone_screen()
    if speaker is not None:
        shown = ToneAloud(shown, speaker)
    try:
        with stream, keyboard() as keys, shown as screen:
            run_tones(walk, stream, screen, port=connection.port, keys=keys)
    finally:
        for line in afterwards(meter):
            say(line)
    if speaker is not None and speaker.failed:
        say(SPEECH_FAILED)


def _where(job: ToneJob, *, unfinished: bool) -> str:
    count = job.file.count
    if not count:
        return "No voltages were kept."
    noun = "voltage is" if count == 1 else "voltages are"
    line = f"{count} {noun} kept in {job.file.path}."
    return f"{line} Go on with the same command and --resume." if unfinished else line
