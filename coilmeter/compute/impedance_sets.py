"""The sets of readings of one coil at one frequency to its impedance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from coilmeter.compute.impedance import (
    dc_known,
    from_phase,
    from_repeated_phase,
    size_only,
    three_voltmeter,
)
from coilmeter.compute.impedance_advice import drive_caution
from coilmeter.compute.impedance_errors import SQRT3, Error, repeated
from coilmeter.compute.impedance_measured import Measured
from coilmeter.compute.impedance_refusals import (
    check_hertz,
    check_not_parallel,
    check_resistor,
)
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.errors import ImpedanceError
from coilmeter.units import ohms, ureg
from coilmeter.values.impedance_rows import ACROSS, AcVolts, ImpedanceRow, Toleranced
from coilmeter.values.impedances import Impedance, Method

NEEDED: Final = {
    Method.THREE_VOLTMETER: ("v_total", "v_resistor", "v_coil", "resistor"),
    Method.DC_KNOWN: ("v_resistor", "v_coil", "resistor", "dc"),
    Method.PHASE: ("v_coil", "current", "phase"),
    Method.TWO_FREQUENCY: ("v_resistor", "v_coil", "resistor"),
}
"""The columns each method needs."""

_DC_HALF: Final = 0.01
"""Half-width of a DC resistance of which nobody said how well it is known (own default)."""


@dataclass(frozen=True, slots=True)
class Found:
    """The impedance of one coil at one frequency, and what is to be said of it."""

    impedance: Impedance
    notes: tuple[str, ...] = ()


def method_of(row: ImpedanceRow, *, dc: bool) -> Method:
    """Tell the method from the cells, where the row does not name it.

    `dc` says that the DC resistance is known from elsewhere.
    """
    if row.method is not None:
        return row.method
    if row.current is not None or row.phase is not None:
        return Method.PHASE
    if "total" in row.volts or not row.volts:
        return Method.THREE_VOLTMETER
    return Method.DC_KNOWN if dc or row.dc is not None else Method.TWO_FREQUENCY


def lacking(row: ImpedanceRow, method: Method, *, dc: bool) -> list[str]:
    """Columns that the method needs and the row does not have."""
    there = {f"v_{across}" for across in row.volts}
    figures = {"resistor": row.resistor, "current": row.current, "phase": row.phase}
    there |= {name for name, figure in figures.items() if figure is not None}
    if dc or row.dc is not None:
        there.add("dc")
    return [name for name in NEEDED[method] if name not in there]


def dc_of_row(dc: Toleranced) -> tuple[float, float]:
    """DC resistance written in a row, and its standard uncertainty, in ohm."""
    half = dc.half if dc.half is not None else _DC_HALF * dc.value + dc.step / 2
    return dc.value, half / SQRT3


def impedance_of(
    rows: Sequence[ImpedanceRow],
    method: Method,
    meter: AcTable,
    dc: tuple[float, float] | None,
) -> Found:
    """Impedance from one set of readings, or from several of the same coil and frequency.

    Parameters
    ----------
    rows
        The sets, each complete for `method`.
    method
        How they were taken.
    meter
        The meter of all of them.
    dc
        DC resistance at the temperature of the sitting and its standard uncertainty in ohm,
        where known.

    Raises
    ------
    ImpedanceError
        When they cannot be one coil's.

    """
    first = rows[0]
    key = f"{first.path}/{first.head}/{first.coil}/{first.frequency_hz:.6g}"
    at = float(first.frequency_hz or 0.0)
    hertz = ureg.Quantity(at, "hertz")
    check_hertz(hertz)
    every = [volts for row in rows for volts in row.volts.values()]
    notes = meter.cautions(every)
    highest = max(
        (row.volts["coil"].shown.volt for row in rows if "coil" in row.volts), default=0.0
    )
    notes.append(drive_caution(highest))
    if method is Method.PHASE:
        _check_absolute(meter, at)
        found = _phase(rows, meter, key)
    else:
        resistor = _resistor(first.resistor)
        notes.append(meter.check_band(every, at))
        volts = _means(rows, meter, key)
        if method is Method.THREE_VOLTMETER:
            found = three_voltmeter(
                volts["total"],
                volts["resistor"],
                volts["coil"],
                resistor=resistor,
                frequency=hertz,
                load=meter.load(),
            )
        elif method is Method.DC_KNOWN and dc is not None:
            found = dc_known(
                volts["resistor"],
                volts["coil"],
                resistor=resistor,
                dc=Measured(ohms(dc[0]), (Error(f"dc/{key}", "DC resistance", dc[1], False),)),  # noqa: FBT003
                frequency=hertz,
                load=meter.load(),
            )
        else:
            found = size_only(
                volts["resistor"], volts["coil"], resistor=resistor, frequency=hertz
            )
        if first.resistor is not None and first.resistor.half is not None:
            check_resistor(found, first.resistor.half, first.resistor.value)
    if dc is not None and method is not Method.TWO_FREQUENCY:
        check_not_parallel(found, *dc)
    return Found(found, tuple(note for note in notes if note))


def _check_absolute(meter: AcTable, hertz: float) -> None:
    """Refuse a frequency beyond the band of a meter whose gain does not cancel."""
    if not meter.in_band(hertz):
        low, high = meter.band_hz
        raise ImpedanceError(
            "frequency",
            f"{hertz:.4g} Hz",
            f"{low:.4g} to {high:.4g} Hz, for which {meter.meter.name} is stated: in V over I "
            "its roll-off does not cancel",
            "read V across coil, resistor and source instead, on one range: there it does.",
        )


def _resistor(resistor: Toleranced | None) -> Measured:
    """Give the series resistor: written alike, it is one and the same in all rows."""
    if resistor is None or resistor.half is None:
        raise ImpedanceError(
            "resistor",
            "no tolerance" if resistor else "nothing",
            "the series resistor and how well it is known, such as '10 kohm +/- 1 %'",
            "read it with the ohmmeter: '9.98 kohm +/- 1 %'.",
        )
    key = f"resistor/{resistor.value:.9g}/{resistor.half:.9g}"
    return Measured(ohms(resistor.value), (Error(key, "resistor", resistor.half / SQRT3),))


def _means(rows: Sequence[ImpedanceRow], meter: AcTable, key: str) -> dict[str, Measured]:
    """Voltages of one set; or means of several, with the scatter between the sets."""
    hertz = float(rows[0].frequency_hz or 0.0)
    places = [across for across in ACROSS if all(across in row.volts for row in rows)]
    of_first = {
        across: meter.measured(rows[0].volts[across], hertz, f"v_{across}", f"{across}/{key}")
        for across in places
    }
    if len(rows) == 1:
        return of_first
    table = [[row.volts[across].shown.volt for across in places] for row in rows]
    means, errors = repeated(table, f"sets/{key}")
    found = {}
    for across, mean, scatter in zip(places, means, errors, strict=True):
        shown = rows[0].volts[across]
        middle: AcVolts = replace(shown, shown=replace(shown.shown, volt=mean), count=1)
        once = meter.measured(middle, hertz, f"v_{across}", f"{across}/{key}")
        # What is behind the counts of a meter does not average out from set to set.
        found[across] = Measured(once.value, (*once.errors, *scatter))
    return found


def _phase(rows: Sequence[ImpedanceRow], meter: AcTable, key: str) -> Impedance:
    """V, I and phase: the means of the sets with their scatter, and what each is known to."""
    hertz = float(rows[0].frequency_hz or 0.0)
    frequency = ureg.Quantity(hertz, "hertz")
    volts = [row.volts["coil"] for row in rows]
    columns = [
        [each.shown.volt for each in volts],
        [row.current.value for row in rows if row.current],
        [row.phase.value for row in rows if row.phase],
    ]
    middle = replace(volts[0], shown=replace(volts[0].shown, volt=float(np.mean(columns[0]))))
    once = meter.measured(middle, hertz, "v_coil", f"coil/{key}").errors
    halves = [
        max((figure.half for figure in figures if figure and figure.half), default=0.0)
        for figures in ([row.current for row in rows], [row.phase for row in rows])
    ]
    if len(rows) == 1 and not all(halves):
        raise ImpedanceError(
            "phase" if halves[0] else "current",
            "one set of readings, and no half-width",
            "how well it is known, such as '19.66 mA +/- 0.1 mA' and '59.8 deg +/- 0.5 deg'",
            "or take several sets, numbered in the column 'set'.",
        )
    more = [
        once,
        *(
            (Error(f"{name}/{key}", name, half / SQRT3),) if half else ()
            for name, half in zip(("current", "phase"), halves, strict=True)
        ),
    ]
    if len(rows) > 1:
        arrays = [np.array(column) for column in columns]
        return from_repeated_phase(
            ureg.Quantity(arrays[0], "volt"),
            ureg.Quantity(arrays[1], "ampere"),
            ureg.Quantity(arrays[2], ""),
            frequency=frequency,
            block=f"sets/{key}",
            more=more,
        )
    v, i, phi = (
        Measured(ureg.Quantity(column[0], unit), errors)
        for column, unit, errors in zip(columns, ("volt", "ampere", ""), more, strict=True)
    )
    return from_phase(v, i, phi, frequency=frequency)
