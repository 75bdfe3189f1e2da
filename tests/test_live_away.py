"""A walk whose meter goes away and comes back: what is said, and what is begun again."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from screens_drawn import COIL, OTHER, READING, ROW, Drawn, has
from test_live import PORT, Script, Watching, drive
from walk_helpers import OL, job_in, names, ohms_of

from coilmeter.cli.figures import big, big_words
from coilmeter.cli.live import run_live
from coilmeter.cli.words import sentence
from coilmeter.errors import (
    MeterError,
    MeterSilentError,
    MeterUnreadableError,
    PortBusyError,
    PortDeniedError,
    PortLostError,
)
from coilmeter.sources.port_events import (
    FellSilent,
    LinkBack,
    LinkLost,
    LinkRefused,
    StreamEvent,
    TalksAgain,
    Unreadable,
)
from coilmeter.walks.contact import State
from coilmeter.walks.events import Begun, MeterAway, MeterBack, Taken

LOST = LinkLost(0.0, PortLostError("the port is gone"))
SILENT = FellSilent(0.0, MeterSilentError("no byte came"))
GARBAGE = Unreadable(0.0, MeterUnreadableError("none is a frame"))


def said(screen: Watching) -> list[str]:
    """Give what was said of the meter being away, and back."""
    return [
        sentence(event)
        for event, _ in screen.events
        if isinstance(event, (MeterAway, MeterBack))
    ]


SAFE = "nothing is lost (q ends)"
BACK = LinkBack(0.0, PORT, 3.0)
AGAIN = TalksAgain(0.0)


UNPLUGGED = f"the meter is unplugged: plug it in again, {SAFE}"
ASLEEP = (
    "nothing comes from the meter: asleep (auto power off)? Switch it on and press its output "
    f"key (PC, USB, RS232), see cable and baud rate; {SAFE}"
)
NO_FRAMES = (
    "the meter sends what cannot be read: see its plug and cable, and whether its format or "
    f"baud rate is another now; {SAFE}"
)
BUSY = (
    "the meter is plugged in again, and another program holds its port: close that program, "
    f"{SAFE}"
)
DENIED = "the meter is plugged in again: you may not; join the group"


@pytest.mark.parametrize(
    ("trouble", "away", "back", "returned"),
    [
        (LOST, UNPLUGGED, BACK, "the meter is back"),
        (
            LOST,
            UNPLUGGED,
            LinkBack(0.0, "/dev/ttyUSB1", 3.0),
            "the meter is back, as /dev/ttyUSB1",
        ),
        (SILENT, ASLEEP, AGAIN, "the meter talks again"),
        (GARBAGE, NO_FRAMES, AGAIN, "the meter talks again"),
        (LinkRefused(0.0, PortBusyError("busy")), BUSY, BACK, "the meter is back"),
        (
            LinkRefused(0.0, PortDeniedError("you may not", hint="join\n the group")),
            DENIED,
            BACK,
            "the meter is back",
        ),
    ],
)
def test_trouble_in_the_middle_is_said_and_waited_out(
    tmp_path: Path, trouble: StreamEvent, away: str, back: StreamEvent, returned: str
) -> None:
    """What was half settled is begun again, and the walk goes on to its end."""
    _, screen, kept = drive(
        tmp_path,
        (OL, 1.5),
        (ohms_of(171.3), 0.7),
        trouble,
        back,
        (ohms_of(171.9), 0.7),
        "s",
        (OL, 1.5),
        "s",
        (ohms_of(172.0), 2.0),
    )

    assert [("coil 2", "172.0 ohm")] == kept
    assert [away, returned] == said(screen)
    assert "Finished" == names([event for event, _ in screen.events])[-1]


@pytest.mark.parametrize("trouble", [SILENT, GARBAGE])
def test_trouble_at_the_start_ends_it(tmp_path: Path, trouble: FellSilent | Unreadable) -> None:
    """Nothing was measured yet: the error comes out, with its list of what to see to."""
    script, screen = Script(LOST, LinkBack(0.0, PORT, 3.0), trouble, (OL, 1.0)), Watching()
    job = job_in(tmp_path, lead="0.2")
    with pytest.raises(MeterError) as caught:
        run_live(job.walk(), job, script, screen)

    assert trouble.error is caught.value
    assert "plug it in again, nothing is lost (Ctrl-C ends)" in said(screen)[0]
    assert 1 == len(script._parts)


def test_a_connection_is_not_called_a_plug(tmp_path: Path) -> None:
    """What is served over a network is joined again when it is served again."""
    script, screen = Script((OL, 1.0), LOST), Watching()
    job = job_in(tmp_path, lead="0.2")
    with pytest.raises(PortLostError, match="the script is over"):
        run_live(job.walk(), job, script, screen, port="socket://bench:5025")

    (told,) = said(screen)

    assert (
        "the connection to the meter is gone: it is joined again when it is served again, "
        "nothing is lost (Ctrl-C ends)"
    ) == told


def test_q_ends_it_while_the_meter_is_away(tmp_path: Path) -> None:
    """There is always a way out, and what was taken is kept."""
    script, _, kept = drive(tmp_path, (OL, 1.5), (ohms_of(171.3), 2.0), LOST, "q", (OL, 1.0))

    assert [("coil 1", "171.3 ohm")] == kept
    assert 1 == len(script._parts)


def test_the_screen_shows_nothing_old_of_a_meter_that_is_away() -> None:
    """Its last value and the action go, what to do is shown; both come back with readings."""
    made = Drawn()
    with made.bench as bench:
        bench.reading(READING, State.SETTLING)
        before = made.now()
        away = made.now(MeterAway("the meter is unplugged", "plug it in again (q ends)"))
        back = made.now(MeterBack("the meter is back"), Begun(COIL, 2, 6))
        bench.reading(READING, State.WAITING)
        again = made.now()

    assert has(before, big("171.3 ohm"))
    assert not has(away, big("171.3 ohm"))
    assert has(away, big_words("NO METER", 76))
    assert any("the meter is unplugged: plug it in again (q ends)" in line for line in away)
    assert not has(back, big_words("NO METER", 76))
    assert any("the meter is back" in line for line in back)
    assert has(again, big("171.3 ohm"))
    assert has(again, big_words("CLIP 1-2", 76))


@pytest.mark.parametrize("away", [UNPLUGGED, ASLEEP, NO_FRAMES, BUSY, f"{DENIED} " * 3])
def test_all_that_is_said_has_room(away: str) -> None:
    """The longest advice leaves the list and the keys on a usual terminal."""
    made = Drawn()
    what, _, advice = away.partition(": ")
    with made.bench as bench:
        bench.happened(Taken(COIL, ROW), "intact")
        bench.reading(READING, State.LIFTING)
        lines = made.now(Begun(OTHER, 3, 6), MeterAway(what, advice))

    assert any("q quit" in line for line in lines)
    assert any("taken  coil 1" in line for line in lines)
    assert len(lines) <= 24
