"""A meter proved from beginning to end: the walk, live or typed, the verdict, the file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from coilmeter.cli.folders import data_folder
from coilmeter.cli.keys import Keys, NoKeys, keyboard
from coilmeter.cli.port_words import (
    CTRL_C_ENDS,
    Q_ENDS,
    afterwards,
    back_words,
    cautions_of,
    trouble_words,
)
from coilmeter.cli.proof_screen import ProofScreen, make_proof_screen, proof_sentence
from coilmeter.cli.proving_judged import ProofJob, judged
from coilmeter.cli.saying import ENDS, ask, say
from coilmeter.errors import ReadingTextError
from coilmeter.sources.clock import RealClock
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
from coilmeter.sources.proofs import keep_proof
from coilmeter.values import Reading
from coilmeter.values.proofs import MeterProof
from coilmeter.walks.proving import ProofWalk
from coilmeter.walks.proving_told import (
    AskDisplay,
    ProofAdvice,
    ProofAgain,
    ProofBack,
    ProofBegun,
    ProofEvent,
    ended,
)

__all__ = ["ProofJob", "prove"]

HELP: Final = (
    "Type what the meter shows, with its unit: 0.2 ohm, OL 40 Mohm; several readings with a "
    "semicolon between them. Or a word: keep (what was asked about is so), skip, redo, quit."
)
TYPE_AGAIN: Final = (
    "Clean the clips, clip it anew, and type what it reads then: the same twice counts; or "
    "keep, where it reads the same."
)
_AGREES: Final = {"y": True, "yes": True, "n": False, "no": False}


def prove(job: ProofJob) -> MeterProof:
    """Prove a meter, and keep what was found.

    Raises
    ------
    MeterError
        When the meter or its port fails.
    InputError
        When the leads were never shorted: there is nothing to judge by.
    StoreError
        When the proof could not be kept.

    """
    for line in job.foreseen():
        say(line)
    walk = job.walk()
    if job.connection is None:
        _typed(walk)
    else:
        _live(job, walk)
    proof = judged(job, walk)
    keep_proof(data_folder() / "proofs", proof)
    say("Kept: coilmeter meter proofs lists it.")
    return proof


def _typed(walk: ProofWalk) -> None:
    say(HELP)
    _print(walk.start())
    while not walk.finished:
        text = ask("  reading> ")
        if text is None or text.lower() in ENDS:
            return
        try:
            _print(_obey_typed(walk, text))
        except ReadingTextError as error:
            say(f"  {error}")


def _obey_typed(walk: ProofWalk, text: str) -> Sequence[ProofEvent]:
    commands = {"skip": walk.skip, "redo": walk.redo, "keep": walk.confirm}
    short = {name[0]: command for name, command in commands.items()}
    command = (commands | short).get(text.lower())
    if command is not None:
        return command()
    if text.lower() in {"", "?", "help"}:
        say(HELP)
        return ()
    return walk.type(text)


def _print(events: Sequence[ProofEvent]) -> None:
    """Print what is to be done, and what was not taken."""
    for event in events:
        if isinstance(event, ProofBegun):
            say(proof_sentence(event))
        elif isinstance(event, ProofAgain):
            say(f"  {ended(event.why)} {TYPE_AGAIN}")
        elif isinstance(event, (ProofBack, ProofAdvice)):
            say(f"  {proof_sentence(event)}")


def _live(job: ProofJob, walk: ProofWalk) -> None:
    connection = job.connection
    if connection is None:
        return
    for caution in cautions_of(connection.form):
        say(caution)
    clock = RealClock()
    meter = connection.meter(clock)
    stream = LastingStream(meter, clock, wait_s=connection.wait_s)
    try:
        with stream, keyboard() as keys, make_proof_screen() as screen:
            _Listener(walk, screen, keys, connection.port).listen(stream)
    finally:
        for line in afterwards(meter):
            say(line)


class _Listener:
    """Hands the walk what the meter says and the person presses, and shows what it answers."""

    def __init__(self, walk: ProofWalk, screen: ProofScreen, keys: Keys, port: str) -> None:
        self._walk = walk
        self._screen = screen
        self._keys = keys
        self._port = port
        self._way_out = CTRL_C_ENDS if isinstance(keys, NoKeys) else Q_ENDS

    def listen(self, stream: LastingStream) -> None:
        """Walk until all steps are done, or the person ends it with ``q``.

        Raises
        ------
        MeterError
            When the meter says nothing at the start, or nothing that can be read; and when
            it was unplugged for longer than is waited.

        """
        walk = self._walk
        self._tell(walk.start())
        latest: Reading | None = None
        while not walk.finished:
            for item in stream.poll():
                if isinstance(item, TimedReading):
                    latest = item.reading
                    self._tell(walk.feed(item.at, item.reading))
                elif isinstance(item, (FellSilent, Unreadable)) and latest is None:
                    raise item.error
                else:
                    self._tell(self._about(item))
            if latest is not None:
                self._screen.reading(latest, lifting=walk.lifting)
            for key in self._keys.pressed().lower():
                if key == "q":
                    return
                self._tell(self._obey(key))

    def _tell(self, events: Sequence[ProofEvent]) -> None:
        for event in events:
            self._screen.happened(event)
            if isinstance(event, AskDisplay) and isinstance(self._keys, NoKeys):
                self._tell(self._asked())

    def _asked(self) -> Sequence[ProofEvent]:
        """Have the question about the display answered on a line; no answer leaves it out."""
        answer: str | None = ""
        while answer is not None and answer.lower() not in _AGREES:
            answer = ask("  y or n> ")
        return self._walk.skip() if answer is None else self._obey(answer.lower()[0])

    def _obey(self, key: str) -> Sequence[ProofEvent]:
        walk = self._walk
        if key in _AGREES:
            return walk.answer(agrees=_AGREES[key])
        command = {"k": walk.keep_it, "s": walk.skip, "r": walk.redo}.get(key)
        return () if command is None else command()

    def _about(self, item: StreamEvent) -> Sequence[ProofEvent]:
        """Say what became of the connection."""
        match item:
            case TimedReading() | TimedReject():
                return ()
            case LinkBack() | TalksAgain():
                return [ProofAdvice(back_words(item, self._port))]
            case _:
                self._walk.interrupted()
                words = trouble_words(item, self._port, self._way_out)
                return [ProofAdvice(": ".join(words))]
