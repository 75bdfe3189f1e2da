"""What the options of the tone bench mean, each refused with what was expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coilmeter.compute.impedance_refusals import TOLERANCE, check_hertz
from coilmeter.errors import ImpedanceError, InputError, ReadingTextError, UnknownNameError
from coilmeter.units import parse_quantity
from coilmeter.units.tolerances import parse_resistor
from coilmeter.values import HeadKind
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
        found = Toleranced(*parse_resistor(text))
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
