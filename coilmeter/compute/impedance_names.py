"""The names in rows of AC volts looked up: meter, kind of head, role of a coil, temperature.

A name that is not known is a mistake of the file, noted with its line.
"""

from __future__ import annotations

from coilmeter.compute.circumstances import Warmth, warmth_of_text
from coilmeter.compute.impedance_volts import AcTable
from coilmeter.compute.settings import Settings
from coilmeter.errors import Mistake, ReadingTextError
from coilmeter.values import HeadKind, Role, shown_kinds
from coilmeter.values.impedance_rows import ImpedanceRow


class Names:
    """Looks up the names of rows; remembers what is wrong.

    Parameters
    ----------
    settings
        Meters and kinds by name, and what holds for rows that name none.

    Attributes
    ----------
    mistakes
        What is wrong so far.
    meters
        The meters that were looked up so far, by name.

    """

    def __init__(self, settings: Settings) -> None:
        self.mistakes: list[Mistake] = []
        self._settings = settings
        self.meters: dict[str, AcTable] = {}

    def warmth(self, row: ImpedanceRow) -> Warmth | None:
        """Temperature of the sitting; None where it is a mistake or not known."""
        text = row.temperature or self._settings.temperature
        try:
            return warmth_of_text(text)
        except ReadingTextError as error:
            self.mistake(row, "temperature", repr(text), error.expected)
            return None

    def meter_name(self, row: ImpedanceRow) -> str:
        """Give the name of the meter that a row was read with."""
        return row.meter or self._settings.meter

    def meter(self, row: ImpedanceRow) -> AcTable | None:
        """Meter that a row was read with; None, and a mistake, where it is not known."""
        name = self.meter_name(row)
        if name not in self.meters:
            meter = self._settings.meters.get(name)
            if meter is None:
                known = ", ".join(sorted(self._settings.meters))
                self.mistake(row, "meter", repr(name), f"a meter: {known}")
                return None
            self.meters[name] = AcTable(meter)
        return self.meters[name]

    def kind(self, row: ImpedanceRow) -> HeadKind | None:
        """Kind of the head; None where it is a mistake or not said."""
        name = row.kind or self._settings.kind
        kind = self._settings.kinds.get(name)
        if name and kind is None:
            known = ", ".join(shown_kinds(self._settings.kinds))
            self.mistake(row, "kind", repr(name), f"a head kind: {known}")
        if kind is not None and row.coil not in {coil.name for coil in kind.coils}:
            names = ", ".join(coil.name for coil in kind.coils)
            self.mistake(row, "coil", repr(row.coil), f"a coil of {name}: {names}")
        return kind

    def role(self, row: ImpedanceRow, kind: HeadKind | None) -> Role:
        """Role of the coil: as the row says, else as its kind has it."""
        of_kind = {coil.name: coil.role for coil in kind.coils} if kind else {}
        return row.role or of_kind.get(row.coil, Role.UNKNOWN)

    def mistake(self, row: ImpedanceRow, place: str, seen: str, expected: str) -> None:
        """Note what is wrong with a row."""
        self.mistakes.append(Mistake(row.path, row.line, place, seen, expected))
