"""The words for what happens while a joint is moved."""

from __future__ import annotations

from typing import Final

from coilmeter.units import format_ohm
from coilmeter.values import Stability
from coilmeter.walks.events import MeterAway, MeterBack, Refused
from coilmeter.walks.flexing_told import (
    Answered,
    AskLifted,
    CameBack,
    Changed,
    ClipOn,
    Creeps,
    DroppedOut,
    End,
    Ended,
    FlexEvent,
    HoldStill,
    MoveNow,
)

MEANINGS: Final = {
    Stability.STEADY: "nothing that was moved changed it: no loose joint where you moved it",
    Stability.NOISY: "a contact changes when it is moved: it will crackle",
    Stability.INTERMITTENT: "a joint opens when it is moved: it will drop out",
    Stability.CREEPING: "the reading is not the coil alone: nothing is said of its joints",
    Stability.UNDECIDED: "it is not known yet whether a joint is loose",
}
"""What each word means at the bench."""

_ENDS: Final = {
    End.TIME: "done: the time is over",
    End.KEY: "done",
    End.LIFTED: "done: the clips touch each other, so they were lifted",
    End.UNANSWERED: "ended: OL, and nobody said whether the clips were lifted",
    End.STOPPED: "stopped",
    End.FILE: "the end of the file",
}


def flex_sentence(event: FlexEvent, where: str) -> str:  # noqa: C901, PLR0911 - a line each
    """Say an event in one line; `where` names the two points of the coil."""
    match event:
        case ClipOn():
            return f"put the clips on {where}"
        case HoldStill():
            return "contact: hold still, nothing moves"
        case MoveNow():
            return _move(event)
        case DroppedOut(count=count):
            return f"drop-out {count}"
        case CameBack(open_s=open_s):
            return f"back after {open_s:.2f} s"
        case Changed(jump_ohm=jump, count=count):
            sign = "-" if jump < 0 else "+"
            return f"change {count}: by {sign}{format_ohm(abs(jump))}"
        case Creeps():
            return "it creeps one way: is the head still connected to the board?"
        case AskLifted(open_s=open_s):
            return (
                f"OL for {open_s:.0f} s: are the clips on? Press o: the joint is open. Lifted? "
                "Touch the clips together, or press q"
            )
        case Answered(lifted=lifted):
            return "OL left out: the clips were lifted" if lifted else "OL counts as a drop-out"
        case Refused(advice=text) | MeterBack(what=text):
            return text
        case MeterAway(what=what, advice=advice):
            return f"{what}: {advice}"
        case Ended(why=why):
            return _ENDS[why]


def _move(event: MoveNow) -> str:
    limit = format_ohm(event.jump_limit_ohm)
    rested = "" if event.rested else "it does not come to rest; "
    return (
        f"{rested}{format_ohm(event.level_ohm)}: now move the lead, press the pins, tap; "
        f"changes above {limit} count"
    )
