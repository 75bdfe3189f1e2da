"""What to say where nobody named the format of a meter."""

from __future__ import annotations

from typing import Final

from coilmeter.cli.saying import say
from coilmeter.report.safe import printable
from coilmeter.sources.clock import RealClock
from coilmeter.sources.fitting import LISTEN_S, Fit, Heard, listen
from coilmeter.sources.port_errors import is_socket
from coilmeter.wire import formats
from coilmeter.wire.dialogue import polled

_SHOWN: Final = 24
_COMPARE: Final = "compare with its display and its manual; another can fit and be wrong."


def what_fits(port: str, baud: int | None) -> tuple[str, str]:
    """Listen to a port; say what was heard, and what to do: the choice is a person's.

    Raises
    ------
    CoilmeterError
        When the port cannot be opened, or is lost.

    """
    say(f"No --format is given: listening at {port} for some seconds ...")
    heard = listen(port, baud, RealClock())
    if heard.fits:
        listed = "; ".join(_fit_text(fit, port) for fit in heard.fits)
        alike = "".join(map(_alike_text, heard.fits))
        return (
            f"{port}: what does the meter send? These formats fit: {listed}",
            f"{_COMPARE}{alike} Give the right one with --format.",
        )
    names = ", ".join(formats())
    if not any(heard.data.values()):
        return (
            f"{port}: what does the meter send? No byte came in {_rates(heard)}",
            f"{_silent_hint()} Give --format with one of: {names}.",
        )
    return (
        f"{port}: what does the meter send? {_sample(heard)} came, and no format fits",
        f"see its baud rate and give --baud; or give --format with one of: {names}.",
    )


def _fit_text(fit: Fit, port: str) -> str:
    rate = "" if is_socket(port) else f" at {fit.baud} baud"
    doubt = "" if fit.form.facts.verified else ", not verified"
    shown = printable(fit.display.strip())
    return f"{fit.form.name}{rate}{doubt} ({fit.readings} readings, the last {shown})"


def _alike_text(fit: Fit) -> str:
    alike = fit.form.facts.lookalikes
    return f" What looks like {fit.form.name} and is not: {'; '.join(alike)}." if alike else ""


def _rates(heard: Heard) -> str:
    rates = ", ".join(map(str, heard.data))
    return (
        f"{LISTEN_S:g} s at {rates} baud" if len(heard.data) == 1 else f"turn at {rates} baud"
    )


def _silent_hint() -> str:
    """Say why a meter may be silent, with the formats of which that is so."""
    asked = ", ".join(name for name, form in formats().items() if polled(form))
    woken = ", ".join(name for name, form in formats().items() if form.settings.wake)
    return (
        "switch its data output on. One that must be asked says nothing by itself "
        f"({asked}), nor does one that must be woken ({woken}); a cable may need other "
        "control lines: with --format they are tried."
    )


def _sample(heard: Heard) -> str:
    baud, data = max(heard.data.items(), key=lambda each: len(each[1]))
    shown = data[:_SHOWN].hex(" ").upper()
    more = " ..." if len(data) > _SHOWN else ""
    return f"{len(data)} bytes at {baud} baud ({shown}{more})"
