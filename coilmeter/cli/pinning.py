"""An unmarked head whose pins are mapped: what is read next, and what it makes so far."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_pairs import Pair, Pairs, Zone, put_together
from coilmeter.compute.pinnet_readings import PinLimits, pair_readings
from coilmeter.compute.pinplan import Ask, Wishes, next_pair
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError, Mistake, MistakesError
from coilmeter.report.pin_drawing import legend, map_lines
from coilmeter.sources.keeper import SheetKeeper
from coilmeter.units import Form, ReadingText
from coilmeter.values import CASE, Purpose, ReadingRow
from coilmeter.values.pinmaps import PinField, PinMap, PinPair
from coilmeter.walks.keeping import REFUSED
from coilmeter.walks.pinning import PairStep, PinWalk, counted, times_read
from coilmeter.walks.steps import Step

_SAID: Final = {
    Zone.SHORT: "joined",
    Zone.COIL: "they belong together",
    Zone.LEAK: "leaking",
    Zone.DOUBT: "clean, dry and repeat",
    Zone.APART: "apart",
}


@dataclass(slots=True)
class PinJob:
    """A head to be mapped: its field, how it is judged, where readings are kept.

    Parameters
    ----------
    head
        Its name.
    pins
        Its pins as they lie.
    settings
        Reference data and what the user asked for.
    keeper
        Where readings go.
    wishes
        The order that is asked for.

    """

    head: str
    pins: PinField
    settings: Settings
    keeper: SheetKeeper
    wishes: Wishes
    _known: tuple[int, Pairs, PinMap] | None = field(default=None, init=False)

    def walk(self) -> PinWalk:
        """Make the walk over what is left to read."""
        meter = MeterTable(self.settings.meters[self.settings.meter])
        limits = PinLimits.of(self.settings)
        nulled = any(row.purpose is Purpose.LEAD_NULL for row in self.keeper.rows)
        wanted = not self.settings.lead and not meter.meter.four_wire
        done = {
            self.pins.pair(*row.pins): None
            for row in counted(self.keeper.rows)
            if row.pins is not None
        }
        return PinWalk(
            self.pins,
            self.plan,
            ReadingRow(
                path=str(self.keeper.path),
                line=0,
                head=self.head,
                reading=ReadingText(Form.NUMBER, 0.0, None, ""),
                meter=self.settings.meter,
                lead=self.settings.lead,
                temperature=self.settings.temperature,
            ),
            self,
            done=[*done],
            lead_null=None if nulled else wanted,
            range_of=meter.range_end,
            digit_of=meter.last_digit,
            coil_ohm=limits.coil_ohm,
            path_ohm=limits.isolated_ohm,
        )

    def plan(self, clipped: Sequence[str], skipped: Collection[PinPair]) -> Ask | None:
        """Choose the pair to read next; None when nothing more would help."""
        pairs, found = self.known()
        return next_pair(pairs, found, self.wishes, clipped=clipped, skipped=skipped)

    def keep(self, row: ReadingRow) -> None:
        """Keep a row on disk; one that cannot be right is kept with a note that says so.

        Raises
        ------
        InputError
            When it cannot be right.
        StoreError
            When it could not be kept.

        """
        try:
            pairs_of([*self.keeper.rows, row], self.settings, self.pins)
        except MistakesError as error:
            self.keeper.keep(replace(row, purpose=Purpose.FREE, note=REFUSED))
            seen = "; ".join(
                f"saw {mistake.seen}, expected {mistake.expected}" for mistake in error.mistakes
            )
            raise InputError(seen) from error
        self.keeper.keep(row)

    def known(self) -> tuple[Pairs, PinMap]:
        """Put together what is kept, and make the map of it."""
        count = len(self.keeper.rows)
        if self._known is None or self._known[0] != count:
            pairs = pairs_of(self.keeper.rows, self.settings, self.pins)
            self._known = (count, pairs, map_of(pairs))
        return self._known[1:]

    def verdict(self, step: Step) -> str:
        """Say in a word or two what a pair that was read means; empty for the leads."""
        if not isinstance(step, PairStep):
            return ""
        return said_of(self.known()[0].of(*step.points))

    def picture(self, pair: PinPair | None) -> list[str]:
        """Draw the field as it is known now, with the pair that is asked for."""
        found = self.known()[1]
        signs = legend(found)
        return [*map_lines(found, pair), *([signs] if signs else [])]


def pairs_of(
    rows: Sequence[ReadingRow],
    settings: Settings,
    pins: PinField,
    mistakes: Sequence[Mistake] = (),
) -> Pairs:
    """Put the rows that count together.

    Raises
    ------
    MistakesError
        With every mistake of them.

    """
    readings = pair_readings(counted(rows), settings, pins, mistakes, times_read(rows))
    return put_together(readings, pins, PinLimits.of(settings))


def said_of(pair: Pair) -> str:
    """Say in a word or two what the readings of a pair mean."""
    if CASE in pair.pins and pair.conducts:
        return "tied to the case" if pair.shorted else "it conducts to the case"
    if len(pair.possible) == 1:
        return _SAID[next(iter(pair.possible))]
    if pair.as_coil:
        return _SAID[Zone.COIL]
    return "no coil" if pair.no_coil else "it says too little"


def check_resumed(job: PinJob) -> None:
    """Refuse to go on with readings of another head, or of other pins.

    Raises
    ------
    InputError
        When the file holds such readings.

    """
    for row in job.keeper.rows:
        if row.head and row.head != job.head:
            raise InputError(
                f"{job.keeper.path}: holds head {row.head!r}, and not head {job.head!r}",
                hint="give --head as it was, or keep the new readings elsewhere (--keep).",
            )
    job.known()
