"""What the options of the tone bench mean, each refused with what was expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coilmeter.catalog import Catalog
from coilmeter.cli import options
from coilmeter.cli.connection import Connection, chosen_lines, chosen_wait, need_port
from coilmeter.compute.impedance_refusals import TOLERANCE, check_hertz
from coilmeter.errors import ImpedanceError, InputError, ReadingTextError, UnknownNameError
from coilmeter.units import parse_quantity
from coilmeter.units.voltages import parse_with_tolerance
from coilmeter.values import MOST_COILS, HeadKind, numbered_kind, shown_kinds
from coilmeter.values.impedance_rows import Toleranced


def check_no_walk(given: Mapping[str, object]) -> None:
    """Refuse options of a measurement where files are judged.

    Raises
    ------
    InputError
        Naming the first.

    """
    for name, value in given.items():
        if value:
            raise InputError(
                f"{name} with files: they are judged, and nothing is measured",
                hint=f"leave {name} out, or the files.",
            )


def chosen_kind(catalog: Catalog, name: str, coils: str | None) -> HeadKind:
    """Head kind that the options name, one way or the other.

    Raises
    ------
    InputError
        When they name none, or both.

    """
    if name and coils is not None:
        raise InputError("both --kind and --coils", hint="give one of them.")
    if coils is not None:
        numbers = {str(number): number for number in range(1, MOST_COILS + 1)}
        if coils.strip() not in numbers:
            raise InputError(
                f"--coils: saw {coils!r}, expected a whole number from 1 to {MOST_COILS}",
                hint="--coils 4; measure a head with more coils in parts.",
            )
        return numbered_kind(numbers[coils.strip()])
    if not name:
        raise InputError(
            "which head is it?",
            hint=f"--coils 4, or --kind with one of: {', '.join(shown_kinds(catalog.kinds))}; "
            "or name a file of AC volts.",
        )
    return catalog.kind(name)


def chosen_coils(kind: HeadKind, wanted: Sequence[str]) -> list[str]:
    """Names of the coils to measure, in the order of the kind; all where none is named.

    Raises
    ------
    UnknownNameError
        When the kind has none of that name.

    """
    names = [coil.name for coil in kind.coils]
    for name in wanted:
        if name not in names:
            raise UnknownNameError(f"coil of {kind.name}", name, names)
    return [name for name in names if not wanted or name in wanted]


def chosen_tones(texts: Sequence[str]) -> list[float]:
    """Frequencies in hertz, in the order given.

    Raises
    ------
    InputError
        When a text is none, or stands twice.

    """
    tones = []
    for text in texts:
        try:
            tones.append(check_hertz(parse_quantity(text, "hertz")))
        except ReadingTextError as error:
            raise InputError(
                f"--frequency: saw {text!r}, expected a frequency such as '10 kHz'"
            ) from error
        except ImpedanceError as error:
            raise InputError(
                f"--frequency: saw {text!r}, expected {error.expected}", hint=error.hint
            ) from error
    if len(set(tones)) < len(tones):
        raise InputError("--frequency: the same twice", hint="give each tone once.")
    return tones


def chosen_resistor(text: str, advice: Sequence[str]) -> Toleranced:
    """Give the series resistor with its tolerance.

    Raises
    ------
    InputError
        When there is none, or nobody says how well it is known; with advice which to take.

    """
    advised = " ".join(advice[:2])
    if not text:
        raise InputError(
            "which resistor is in series with the coil?",
            hint=f"--resistor '9.98 kohm +/- 1 %', as the ohmmeter reads it. {advised}",
        )
    try:
        found = Toleranced(*parse_with_tolerance(text))
    except ReadingTextError as error:
        raise InputError(f"--resistor: {error.message}", hint=error.hint) from error
    if found.half is None:
        raise InputError(
            f"--resistor: saw {text!r}, and not how well it is known",
            hint="read it with the ohmmeter: '9.98 kohm +/- 1 %'.",
        )
    if found.half > TOLERANCE * found.value:
        # It would be most of the uncertainty of every coil, and each would be refused.
        raise InputError(
            f"--resistor: saw {text!r}, expected one known to {100 * TOLERANCE:g} % or better",
            hint="read it with the ohmmeter and give that: '9.98 kohm +/- 1 %'.",
        )
    return found


def chosen_connection(
    port: str,
    form: str,
    baud: int | None,
    *,
    dtr: bool | None,
    rts: bool | None,
    wait: str,
) -> Connection | None:
    """Give the meter's connection; None where voltages are typed.

    Raises
    ------
    CoilmeterError
        When the options contradict each other.

    """
    wire = options.make_format_at(form, port, baud) if port or form else None
    if wire is None:
        need_port({"--baud": baud, "--dtr": dtr, "--rts": rts, "--wait": wait or None})
        return None
    if not port:
        raise InputError(
            f"--format {form} without --port",
            hint="say where the meter is, or type without it.",
        )
    lines = chosen_lines(wire, port, dtr=dtr, rts=rts)
    connection = Connection(port, wire, baud, lines, None, chosen_wait(wait))
    connection.check()
    return connection
