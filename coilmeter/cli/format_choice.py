"""What to say where nobody named the format of a meter."""

from __future__ import annotations

from coilmeter.sources.clock import RealClock
from coilmeter.sources.fitting import Heard, listen
from coilmeter.wire import formats

_SHOWN = 24


def what_fits(port: str, baud: int | None) -> tuple[str, str]:
    """Listen to a port; say what was heard, and what to do: the choice is a person's.

    Raises
    ------
    CoilmeterError
        When the port cannot be opened, or is lost.

    """
    heard = listen(port, baud, RealClock())
    if heard.fits:
        listed = "; ".join(
            f"{fit.form.name} at {fit.baud} baud ({fit.readings} readings, the last "
            f"{fit.display.strip()})"
            for fit in heard.fits
        )
        hint = "compare with its display and its manual; another can fit and be wrong"
        return (
            f"{port}: what does the meter send? These formats fit: {listed}",
            f"{hint}. Give the right one with --format.",
        )
    names = ", ".join(formats())
    if not any(heard.data.values()):
        hint = "switch its data output on; a meter that must be asked says nothing by itself."
        return (
            f"{port}: what does the meter send? No byte came",
            f"{hint} Give --format with one of: {names}.",
        )
    return (
        f"{port}: what does the meter send? {_sample(heard)} came, and no format fits",
        f"see its baud rate and give --baud; or give --format with one of: {names}.",
    )


def _sample(heard: Heard) -> str:
    baud, data = max(heard.data.items(), key=lambda each: len(each[1]))
    shown = data[:_SHOWN].hex(" ").upper()
    more = " ..." if len(data) > _SHOWN else ""
    return f"{len(data)} bytes at {baud} baud ({shown}{more})"
