"""What a reading is refused or doubted for, said once until it changes."""

from __future__ import annotations

from coilmeter.values import Flag, Reading
from coilmeter.walks.events import Event, LowBattery, Refused
from coilmeter.walks.refusals import why_little, why_no_null, why_not
from coilmeter.walks.steps import Step


class Doubts:
    """Remembers what was said of the readings of one meter.

    Parameters
    ----------
    path_good_ohm
        An overload on a lower range than this says too little of an isolation path.

    """

    def __init__(self, path_good_ohm: float) -> None:
        self._path_good_ohm = path_good_ohm
        self._battery_low = False
        self.forget()

    def forget(self) -> None:
        """Say again what stands in the way: the meter may have been switched off meanwhile."""
        self._said = ""

    @property
    def standing(self) -> str:
        """What was said of the latest reading; empty where nothing was."""
        return self._said

    def about(
        self, step: Step, reading: Reading, end_ohm: float | None, *, asked: bool
    ) -> tuple[bool, list[Event]]:
        """Tell whether a reading must not be judged, and what is to be said of it.

        Parameters
        ----------
        step, reading
            What is measured, and what the meter shows.
        end_ohm
            End of the range that shows OL; None where there is no OL, or its range is not
            known.
        asked
            Whether the question of an OL stands.

        """
        low, told = Flag.LOW_BATTERY in reading.flags, self._battery_low
        self._battery_low = low
        events: list[Event] = [LowBattery(reading)] if low and not told else []
        refusal = why_not(reading) or why_no_null(step, reading)
        advice = refusal or why_little(step, end_ohm, self._path_good_ohm, asked=asked)
        if advice and advice != self._said:
            events.append(Refused(advice, reading))
        self._said = advice
        return bool(refusal), events
