"""Rows of AC volts to the coils of heads at their tones: names looked up, sets gathered.

Mistakes are values: all of them are collected, with file and line, and then nothing is
judged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from coilmeter.compute.budget import COPPER_PER_KELVIN, REFERENCE_DEGC
from coilmeter.compute.impedance import two_frequency
from coilmeter.compute.impedance_fit import LEAST, check_inductive, fit_coil, resonance_words
from coilmeter.compute.impedance_names import Names
from coilmeter.compute.impedance_sets import (
    Found,
    dc_of_row,
    impedance_of,
    lacking,
    method_of,
)
from coilmeter.compute.settings import Settings
from coilmeter.compute.turns_group import CoilTones, HeadTones
from coilmeter.errors import ImpedanceError, Mistake, MistakesError
from coilmeter.values import HeadKind, Role
from coilmeter.values.impedance_rows import ImpedanceRow
from coilmeter.values.impedances import CoilFit, Impedance, Method

TWO: Final = 2
Ohms = Mapping[tuple[str, str], tuple[float, float]]
"""By head and coil: DC resistance at 20 degC and its standard uncertainty, in ohm."""


@dataclass(slots=True)
class _Coil:
    """The rows of one coil of one head."""

    head: str
    kind: HeadKind | None
    name: str
    role: Role
    reference: bool
    rows: list[ImpedanceRow] = field(default_factory=list)
    dc: tuple[float, float] | None = None
    refused: bool = False


class ToneReader:
    """Looks up the names of rows and makes impedances of them; remembers what is wrong.

    Parameters
    ----------
    settings
        Meters and kinds by name, and what holds for rows that name none.
    ohms
        DC resistances known from elsewhere.

    """

    def __init__(self, settings: Settings, ohms: Ohms | None = None) -> None:
        self._names = Names(settings)
        self._left_out: list[tuple[ImpedanceRow, Mistake]] = []
        self._ohms = ohms or {}

    def heads(
        self, rows: Sequence[ImpedanceRow], mistakes: Sequence[Mistake] = ()
    ) -> tuple[list[HeadTones], list[HeadTones]]:
        """Make the heads of rows, and apart from them those that are references.

        A coil whose voltages a walk took, and which cannot be one circuit's, is left out with
        a note: it is no reason to judge none of the others.

        Raises
        ------
        MistakesError
            With every mistake, those found while the rows were read included; and with those
            of the coils that are left out, where no coil is left.

        """
        self._names.mistakes, self._left_out = list(mistakes), []
        coils: dict[tuple[str, str, bool], _Coil] = {}
        for row in rows:
            kind = self._names.kind(row)
            if row.broken:
                self._names.meter(row)
                self._names.warmth(row)
                continue
            place = row.head if row.named else f"{row.path}/{row.head}"
            key = (place, row.coil, row.reference)
            if key not in coils:
                role = self._names.role(row, kind)
                coils[key] = _Coil(row.head, kind, row.coil, role, row.reference)
            coils[key].rows.append(row)
        made: dict[tuple[str, bool], list[tuple[_Coil, CoilTones]]] = {}
        notes: dict[tuple[str, bool], dict[str, None]] = {}
        for (place, _, reference), coil in coils.items():
            tones, said = self._tones(coil)
            made.setdefault((place, reference), []).append((coil, tones))
            notes.setdefault((place, reference), {}).update(dict.fromkeys(said))
        for of_head, said_of in zip(made.values(), notes.values(), strict=True):
            said_of.update(dict.fromkeys(self._beyond(of_head)))
        judged = (of_head for (_, reference), of_head in made.items() if not reference)
        if not any(tones.impedances for of_head in judged for _, tones in of_head):
            self._names.mistakes += [mistake for _, mistake in self._left_out]
        if self._names.mistakes:
            every = sorted(self._names.mistakes, key=lambda each: (each.path, each.line or 0))
            raise MistakesError(every)
        heads: dict[bool, list[HeadTones]] = {False: [], True: []}
        for which, of_head in made.items():
            first = of_head[0][0]
            kind_name = first.kind.name if first.kind else ""
            coil_tones = tuple(_ordered([tones for _, tones in of_head], first.kind))
            refused = tuple(coil.name for coil, _ in of_head if coil.refused)
            if refused or any(tones.impedances for tones in coil_tones):
                head = HeadTones(
                    first.head, kind_name, coil_tones, tuple(notes[which]), refused
                )
                heads[which[1]].append(head)
        return heads[False], heads[True]

    def _tones(self, coil: _Coil) -> tuple[CoilTones, list[str]]:
        """Impedances of a coil at its frequencies, and what is to be said of them."""
        dc = coil.dc = self._dc(coil)
        by_tone: dict[tuple[Method, float], list[ImpedanceRow]] = {}
        notes: list[str] = []
        before = len(self._left_out)
        for row in coil.rows:
            method = method_of(row, dc=dc is not None)
            if self._complete(row, method, notes, dc=dc is not None):
                by_tone.setdefault((method, row.frequency_hz or 0.0), []).append(row)
            else:
                # Taken in part, or put aside: what the coil is, nobody knows from it.
                coil.refused = True
        found: list[Impedance] = []
        sizes: list[tuple[ImpedanceRow, Impedance]] = []
        for (method, _), rows in by_tone.items():
            one = self._found(rows, method, dc)
            if one is None:
                continue
            notes += one.notes
            if method is Method.TWO_FREQUENCY:
                sizes.append((rows[0], one.impedance))
            else:
                found.append(one.impedance)
        found += self._of_two(sizes)
        found.sort(key=lambda each: each.frequency_hz)
        try:
            fit = _fitted(coil, found)
        except ImpedanceError as error:
            self._refused(coil.rows[0], error)
            fit, found = None, []
        bends = resonance_words(found) if fit is None else []
        notes += [f"Coil {coil.name}: {text}" for text in bends]
        notes += [_without(row, mistake) for row, mistake in self._left_out[before:]]
        coil.refused |= len(self._left_out) > before
        tones = CoilTones(coil.name, coil.role, tuple(found), dc, fit, bends=bool(bends))
        return tones, notes

    def _beyond(self, coils: Sequence[tuple[_Coil, CoilTones]]) -> list[str]:
        """Say which tones of a head are beyond the band of the meter they were read with."""
        meters = self._names.meters
        tones: dict[str, list[float]] = {}
        for coil, found in coils:
            name = self._names.meter_name(coil.rows[0])
            of_coil = [each.frequency_hz for each in found.impedances]
            tones.setdefault(name, []).extend(of_coil)
        known = {name: meters[name] for name in tones if name in meters}
        return [
            text for name, meter in known.items() if (text := meter.beyond_band(tones[name]))
        ]

    def _complete(
        self, row: ImpedanceRow, method: Method, notes: list[str], *, dc: bool
    ) -> bool:
        missing = lacking(row, method, dc=dc)
        if row.frequency_hz is None:
            expected = "the frequency of the tone, such as '10 kHz': without it no inductance"
            self._names.mistake(row, "frequency", "nothing", expected)
            return False
        if not missing:
            return True
        if row.aside:
            notes.append(
                f"Coil {row.coil} at {row.frequency_hz:g} Hz: its voltages were put aside and "
                "not read again, so that it is left out; go on with --resume."
            )
            return False
        if row.time:
            # A walk that was ended half-way: what it took is there, and is no mistake.
            notes.append(
                f"Coil {row.coil} at {row.frequency_hz:g} Hz: {', '.join(missing)} not taken "
                "yet, so that it is left out; go on with --resume."
            )
            return False
        self._names.mistake(
            row, missing[0], "nothing", f"what {method} needs: {', '.join(missing)}"
        )
        return False

    def _found(
        self, rows: Sequence[ImpedanceRow], method: Method, dc: tuple[float, float] | None
    ) -> Found | None:
        first = rows[0]
        meter = self._names.meter(first)
        if meter is None or not self._sets_differ(rows) or not self._alike(rows):
            return None
        try:
            return impedance_of(rows, method, meter, dc)
        except ImpedanceError as error:
            self._refused(first, error)
            return None

    def _of_two(self, sizes: Sequence[tuple[ImpedanceRow, Impedance]]) -> list[Impedance]:
        """R and L from |Z| at two frequencies."""
        if not sizes:
            return []
        if len(sizes) != TWO:
            row = sizes[0][0]
            self._names.mistake(
                row,
                "frequency",
                f"|Z| of coil {row.coil} at {len(sizes)} of them",
                "two, about 1 and 10 kHz; or v_total as well; or the coil's ohms in 'dc'",
            )
            return []
        try:
            return [two_frequency(sizes[0][1], sizes[1][1])]
        except ImpedanceError as error:
            self._refused(sizes[0][0], error)
            return []

    def _sets_differ(self, rows: Sequence[ImpedanceRow]) -> bool:
        numbers: dict[int, ImpedanceRow] = {}
        for row in rows:
            if row.number in numbers:
                self._names.mistake(
                    row,
                    "set",
                    f"coil {row.coil} at {row.frequency_hz:g} Hz again (line "
                    f"{numbers[row.number].line} has it)",
                    "each once, or numbered 1, 2, 3 in the column 'set'",
                )
                return False
            numbers[row.number] = row
        return True

    def _alike(self, rows: Sequence[ImpedanceRow]) -> bool:
        """Whether the sets of one coil share resistor and meter, as a mean of them asks."""
        for row in rows[1:]:
            if row.resistor != rows[0].resistor or row.meter != rows[0].meter:
                self._names.mistake(
                    row,
                    "resistor" if row.resistor != rows[0].resistor else "meter",
                    "another than in the first set of this coil",
                    "the same in all sets",
                )
                return False
        return True

    def _dc(self, coil: _Coil) -> tuple[float, float] | None:
        """DC resistance at the temperature of the sitting: as written, or from the ohms."""
        written = next((row.dc for row in coil.rows if row.dc is not None), None)
        warmth = self._names.warmth(coil.rows[0])
        if written is not None:
            return dc_of_row(written)
        at_20 = self._ohms.get((coil.head, coil.name))
        if at_20 is None or warmth is None:
            return None
        factor = 1 + COPPER_PER_KELVIN * (warmth.degc - REFERENCE_DEGC)
        u_warmth = at_20[0] * COPPER_PER_KELVIN * warmth.u_k
        return at_20[0] * factor, ((at_20[1] * factor) ** 2 + u_warmth**2) ** 0.5

    def _refused(self, row: ImpedanceRow, error: ImpedanceError) -> None:
        advice = f" ({error.hint.rstrip('.')})" if error.hint else ""
        place, seen, expected = error.place, error.seen, f"{error.expected}{advice}"
        if row.time and not row.reference:
            # A person's file can be corrected; what a walk took stays as the meter had it.
            mistake = Mistake(row.path, row.line, place, seen, expected)
            self._left_out.append((row, mistake))
        else:
            self._names.mistake(row, place, seen, expected)


def _fitted(coil: _Coil, found: Sequence[Impedance]) -> CoilFit | None:
    """Fit a coil over its tones, where they are enough.

    Raises
    ------
    ImpedanceError
        When its reactance falls while the frequency grows.

    """
    measured = [each for each in found if not each.r_assumed]
    if len(found) > 1:
        check_inductive(found)
    if len({each.frequency_hz for each in measured}) >= LEAST:
        return fit_coil(measured, coil.dc)
    return None


def _without(row: ImpedanceRow, mistake: Mistake) -> str:
    """Say that a coil is left out, and why."""
    return (
        f"Coil {row.coil} at {row.frequency_hz or 0.0:g} Hz is left out: {mistake.place}: saw "
        f"{mistake.seen}, expected {mistake.expected}."
    )


def _ordered(coils: Sequence[CoilTones], kind: HeadKind | None) -> list[CoilTones]:
    """Order coils as the head kind has them, across the tape; else as they came."""
    order = {coil.name: number for number, coil in enumerate(kind.coils)} if kind else {}
    return sorted(coils, key=lambda coil: order.get(coil.name, len(order)))
