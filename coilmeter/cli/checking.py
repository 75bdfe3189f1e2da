"""One head from its steps to its verdict, however the readings come."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from coilmeter.catalog import Catalog
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.keeper import SheetKeeper, exists
from coilmeter.units import Form, ReadingText
from coilmeter.values import (
    MOST_COILS,
    HeadKind,
    HeadResult,
    Purpose,
    Reading,
    ReadingRow,
    numbered_kind,
    shown_kinds,
)
from coilmeter.walks.keeping import REFUSED
from coilmeter.walks.steps import Step, key_of, plan
from coilmeter.walks.walk import Walk

if TYPE_CHECKING:
    from coilmeter.cli.bin_keeping import Shelving

LONGEST_NAME: Final = 100
_NO_NAME: Final = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Kinds of characters that break a line, or that a file cannot hold."""


@dataclass(frozen=True, slots=True)
class Job:
    """A head to be measured: its name, its kind, how it is judged, where readings are kept."""

    head: str
    kind: HeadKind
    settings: Settings
    keeper: SheetKeeper
    isolation: bool = True
    coils_first: bool = False
    again: tuple[str, ...] = ()
    shelving: Shelving | None = None
    note: str = ""
    """What every reading is noted with."""

    overload_ohm: float | None = None
    """End of the range on which the meter shows OL, where its bytes do not tell it."""

    def _range_of(self, reading: Reading) -> float | None:
        table = MeterTable(self.settings.meters[self.settings.meter])
        told = table.range_end(reading)
        return self.overload_ohm if told is None and reading.overload else told

    def walk(self) -> Walk:
        """Make the walk over what is left to measure."""
        settings, meter = self.settings, self.settings.meters[self.settings.meter]
        bands = {
            coil.name: settings.bands[settings.band or coil.band] for coil in self.kind.coils
        }
        lead_null = not settings.lead and not meter.four_wire
        done = [key for row in self.keeper.rows if (key := key_of_row(row))]
        template = ReadingRow(
            path=str(self.keeper.path),
            line=0,
            head=self.head,
            reading=ReadingText(Form.NUMBER, 0.0, None, ""),
            kind=self.kind.name,
            meter=settings.meter,
            lead=settings.lead,
            temperature=settings.temperature,
            note=self.note,
        )
        steps = plan(
            self.kind,
            bands,
            lead_null=lead_null,
            isolation=self.isolation,
            done=[key for key in done if key not in self.again],
            coils_first=self.coils_first,
        )
        unknown = set(self.again) - {step.key for step in steps}
        if unknown:
            raise InputError(
                f"--again: saw {', '.join(map(repr, sorted(unknown)))}",
                hint=f"it takes one of: {', '.join(step.key for step in steps)}.",
            )
        walk = Walk(
            steps,
            template,
            self,
            range_of=self._range_of,
            done=[key for key in done if key not in self.again],
            path_good_ohm=settings.isolated_above_ohm,
            digit_of=MeterTable(meter).last_digit,
        )
        for row in self.keeper.rows:
            if key := key_of_row(row):
                walk.took_before(key, row)
        return walk

    def keep(self, row: ReadingRow) -> None:
        """Keep a row on disk; one that cannot be right is kept as ``free``.

        Raises
        ------
        InputError
            When it cannot be right.
        StoreError
            When it could not be kept.

        """
        others = [other for other in self.keeper.rows if key_of_row(other) != key_of_row(row)]
        try:
            list(judge_rows([*others, row], self.settings))
        except MistakesError as error:
            self._keep(replace(row, purpose=Purpose.FREE, note=REFUSED))
            seen = "; ".join(
                f"saw {mistake.seen}, expected {mistake.expected}" for mistake in error.mistakes
            )
            raise InputError(seen) from error
        self._keep(row)

    def _keep(self, row: ReadingRow) -> None:
        """Keep a row in the readings file first, and then in the bin."""
        self.keeper.keep(row)
        if self.shelving is not None:
            self.shelving.keep(self.keeper.rows)

    def results(self) -> list[HeadResult]:
        """Judge what is kept; empty while there is nothing to judge."""
        return list(judge_rows(self.keeper.rows, self.settings))

    def verdict(self, step: Step) -> str:
        """Verdict so far on what a step measured, in a word; empty where it has none."""
        for head in self.results():
            for coil in head.coils:
                if step.purpose is Purpose.COIL and coil.coil == step.coil:
                    return coil.verdict
            for path in head.isolation:
                if step.other and {path.start, path.end} == {step.coil, step.other}:
                    return path.verdict
        return ""


def key_of_row(row: ReadingRow) -> str:
    """Key of the step a row was taken for; empty for a free reading and for a flexing."""
    if row.purpose is Purpose.FREE or row.purpose is None or row.flex is not None:
        return ""
    return key_of(row.purpose, row.coil, row.other)


def chosen_kind(catalog: Catalog, name: str, coils: str | None, instead: str = "") -> HeadKind:
    """Head kind that the options name, one way or the other.

    Parameters
    ----------
    catalog
        The kinds.
    name, coils
        What ``--kind`` and ``--coils`` say; empty and None where they are not given.
    instead
        What else could be given where neither is, ending the advice.

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
        kinds = ", ".join(shown_kinds(catalog.kinds))
        raise InputError(
            "which head is it?", hint=f"--coils 4, or --kind with one of: {kinds}{instead}."
        )
    return catalog.kind(name)


def checked_name(head: str) -> str:
    """Give the name of a head as a readings file gives it back.

    Raises
    ------
    InputError
        When it would not come back from one: empty, a comment, more than one line, or long.

    """
    name = head.strip()
    tidy = name.isprintable() or not {unicodedata.category(char) for char in name} & _NO_NAME
    if not name or name.startswith("#") or not tidy or len(name) > LONGEST_NAME:
        raise InputError(
            f"saw {head[: LONGEST_NAME + 1]!r} as the name of the head",
            hint=f"give a --head of 1 to {LONGEST_NAME} characters in one line, no # first.",
        )
    return name


def make_keeper(keep: Path | None, head: str, *, resume: bool) -> SheetKeeper:
    """Make or find the readings file of a head.

    Raises
    ------
    InputError
        When there is nothing to resume.
    StoreError
        When the file cannot be used.

    """
    path = keep if keep is not None else Path(f"{file_name(head)}.csv")
    if resume and not exists(path):
        raise InputError(
            f"{path}: there is no such file to go on with",
            hint="leave --resume out to begin, or name the file with --keep.",
        )
    return SheetKeeper(path, resume=resume)


def check_resumed(job: Job) -> None:
    """Refuse to go on with readings of another head or kind, or with ones that contradict.

    Raises
    ------
    InputError
        When the file holds such readings.

    """
    for row in job.keeper.rows:
        if row.head != job.head or row.kind != job.kind.name:
            raise InputError(
                f"{job.keeper.path}: holds head {row.head!r} of kind {row.kind!r}, and not "
                f"head {job.head!r} of kind {job.kind.name!r}",
                hint="give --head and --kind as they were, or keep the new readings elsewhere.",
            )
    job.results()


def file_name(head: str) -> str:
    """File name for a head's name, with nothing in it that a file system could stumble on."""
    return re.sub(r"[^\w-]+", "_", head).strip("_")[:60] or "head"
