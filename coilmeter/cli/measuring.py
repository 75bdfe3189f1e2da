"""The whole of a check: cautions, the walk, and the verdicts at its end."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from coilmeter.cli.checking import Job
from coilmeter.cli.connection import Connection
from coilmeter.cli.keys import keyboard
from coilmeter.cli.live import Judges, run_live
from coilmeter.cli.options import Shape
from coilmeter.cli.port_words import afterwards, cautions_of
from coilmeter.cli.proofs import Trust
from coilmeter.cli.results import SOMETHING, put_out
from coilmeter.cli.saying import cut_line
from coilmeter.cli.screen import Screen, make_screen
from coilmeter.cli.speech import SPEECH_FAILED, Speaker, find_program
from coilmeter.cli.spoken import Aloud
from coilmeter.cli.typed import run_typed, say
from coilmeter.compute.cautions import BEFORE_MEASURING
from coilmeter.errors import CoilmeterError
from coilmeter.sources.clock import RealClock
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.sources.port_lasting import LastingStream
from coilmeter.walks.walk import Walk


def measure(
    job: Job,
    *,
    connection: Connection | None,
    trusted: Trust,
    speak: bool,
    shape: Shape,
    out: Path | None,
    parts: bool,
) -> int:
    """Measure a head, typed or live, and put out the verdicts; the exit code comes back.

    Whatever ends the walk early, what was taken is on disk, and a line says where.

    Raises
    ------
    CoilmeterError
        When the meter or the store fails.

    """
    say_beforehand(trusted, job.keeper)
    walk = job.walk()
    try:
        if connection is None:
            run_typed(walk, job)
        else:
            listen(
                job,
                walk,
                connection,
                speak=speak,
                verified=trusted.verified,
                show=make_screen,
            )
    except (CoilmeterError, KeyboardInterrupt):
        say(_where(job, unfinished=True))
        raise
    say(_where(job, unfinished=not walk.finished))
    results = job.results()
    if not results:
        say("Nothing was measured on the head itself: nothing to judge.")
        return SOMETHING
    return put_out(
        results,
        job.settings,
        shape,
        out,
        parts=parts,
        rows=job.keeper.rows,
        proof=trusted.proof,
    )


def listen(
    job: Judges,
    walk: Walk,
    connection: Connection,
    *,
    speak: bool,
    verified: bool,
    show: Callable[[], Screen],
) -> None:
    """Open the meter, and walk with it until the walk is done or the person ends it.

    Parameters
    ----------
    job, walk
        What is measured.
    connection
        The meter's port, and how to get on with it.
    speak
        Whether what the screen shows is said aloud too.
    verified
        Whether the meter's format need not be warned about.
    show
        Makes the screen.

    Raises
    ------
    CoilmeterError
        When the meter or the store fails.

    """
    speaker = Speaker(find_program()) if speak else None
    for caution in cautions_of(connection.form, verified=verified):
        say(caution)
    clock, port = RealClock(), connection.port
    meter = connection.meter(clock)
    stream = LastingStream(meter, clock, wait_s=connection.wait_s)
    shown = show() if speaker is None else Aloud(show(), speaker)
    try:
        with stream, keyboard() as keys, shown as screen:
            run_live(walk, job, stream, screen, port=port, keys=keys)
    finally:
        for line in afterwards(meter):
            say(line)
    if speaker is not None and speaker.failed:
        say(SPEECH_FAILED)


def say_beforehand(trusted: Trust, keeper: SheetKeeper) -> None:
    """Say what to mind, what the meter is worth, and what an earlier run could not finish."""
    for caution in BEFORE_MEASURING:
        say(f"! {caution}")
    for line in trusted.lines:
        say(line)
    if keeper.cut:
        say(cut_line(keeper.cut, keeper.beside, "repeat it"))


def kept_line(count: int, path: Path, *, unfinished: bool) -> str:
    """Say how many readings are kept, and where."""
    noun = "reading is" if count == 1 else "readings are"
    if not count:
        return "No readings were kept."
    line = f"{count} {noun} kept in {path}."
    if not unfinished:
        return line
    return f"{line} Go on with the same command and --resume."


def _where(job: Job, *, unfinished: bool) -> str:
    return kept_line(len(job.keeper.rows), job.keeper.path, unfinished=unfinished)
