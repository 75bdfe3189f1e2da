"""What becomes of a flexing: a row in the readings file, a result, a picture."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from coilmeter.cli.flexing_words import MEANINGS
from coilmeter.cli.logging_files import WholeFile
from coilmeter.cli.options import Shape
from coilmeter.cli.results import columns_of, put_chunks, put_listing
from coilmeter.cli.saying import cut_line, say
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.flex import OPEN_OHM
from coilmeter.compute.flex_rule import FlexRule
from coilmeter.compute.flex_scan import Meaning
from coilmeter.compute.settle import Settled
from coilmeter.errors import InputError, UnknownNameError
from coilmeter.report.flex_rows import flex_listing, flex_title
from coilmeter.report.listing import listing_text
from coilmeter.report.safe import escaped, harmless
from coilmeter.report.widths import sentence
from coilmeter.sources.keeper import SheetKeeper, exists
from coilmeter.sources.sheet import read_sheet
from coilmeter.units import parse_reading
from coilmeter.values import Band, CoilSpec, FlexResult, HeadKind, Purpose, ReadingRow
from coilmeter.walks.evidence import value_text
from coilmeter.walks.flexing import Flexing

PLOTS: Final = ("svg", "png")


@dataclass(frozen=True, slots=True)
class Subject:
    """The coil that is flexed.

    Parameters
    ----------
    head, coil
        Their names; the coil is empty where nobody said.
    kind, spec
        The kind of the head, and the coil of it; None where not known.
    band
        What is expected of the coil; None where not known.
    table
        The meter.

    """

    head: str
    coil: str
    kind: HeadKind | None
    spec: CoilSpec | None
    band: Band | None
    table: MeterTable

    @property
    def name(self) -> str:
        """The coil in words."""
        return f"coil {self.coil} of head {self.head}" if self.coil else "a coil"

    @property
    def where(self) -> str:
        """The two points to clip, in words."""
        if self.spec is None:
            return f"the two ends of coil {self.coil}" if self.coil else "the two ends"
        first, second = self.spec.pins
        return f"pin {first} and pin {second}"

    @property
    def open_ohm(self) -> float:
        """A value above this is as good as open."""
        return OPEN_OHM if self.band is None else self.band.limits_ohm[-1]


@dataclass(frozen=True, slots=True)
class Outputs:
    """Shape of the result, its file (None for standard output), and that of the picture."""

    shape: Shape
    out: Path | None = None
    plot: Path | None = None

    def check(self) -> None:
        """Refuse a picture of no known shape.

        Raises
        ------
        InputError
            Saying which there are.

        """
        if self.plot is not None and self.plot.suffix[1:].lower() not in PLOTS:
            raise InputError(
                f"--plot: saw {str(self.plot)!r}, expected a name that ends in .svg or .png"
            )


class Shelf:
    """The readings file in which the evidence is kept; held from the beginning to the end.

    Parameters
    ----------
    path
        The file; made when there is something to keep.
    head
        The head that it must be about.

    """

    def __init__(self, path: Path, head: str) -> None:
        self.path = path
        self._head = head
        self._keeper: SheetKeeper | None = None

    def kind(self, named: str) -> str:
        """Kind of the head: that which was named, else the one in the file; empty for none.

        Raises
        ------
        InputError
            When the file cannot be read, or holds the head as one of another kind.

        """
        rows = read_sheet(self.path).rows if exists(self.path) else []
        kinds = {row.kind for row in rows if row.head == self._head and row.kind}
        if named and kinds - {named}:
            raise InputError(
                f"{self.path}: holds head {self._head!r} as kind {min(kinds)!r}, and not "
                f"{named!r}",
                hint="give --kind as it was, or leave it out.",
            )
        return named or next(iter(kinds), "")

    def __enter__(self) -> Self:
        if exists(self.path):
            self._keeper = self._opened()
            try:
                self._check(self._keeper.rows)
            except InputError:
                self._keeper.close()
                raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._keeper is not None:
            self._keeper.close()
            self._keeper = None

    def keep(self, subject: Subject, walk: Flexing, result: FlexResult, source: Path) -> None:
        """Have the evidence on disk.

        Raises
        ------
        StoreError
            When it cannot be kept.

        """
        if self._keeper is None:
            self._keeper = self._opened()
        self._keeper.keep(_row(subject, walk, result, source))

    def _opened(self) -> SheetKeeper:
        keeper = SheetKeeper(self.path, resume=True)
        if keeper.cut:
            say(cut_line(keeper.cut, keeper.beside, "repeat it"))
        return keeper

    def where(self) -> str:
        """Say where it is kept."""
        return f"The flexing is kept in {self.path}: judge the head with coilmeter judge."

    def _check(self, rows: list[ReadingRow]) -> None:
        others = {row.head for row in rows} - {self._head, ""}
        if others:
            raise InputError(
                f"{self.path}: holds head {min(others)!r}, and not {self._head!r}",
                hint="give --head as it was, or keep the flexing elsewhere (--keep).",
            )


def put_result(
    subject: Subject, walk: Flexing, result: FlexResult, outputs: Outputs, source: Path
) -> None:
    """Write the result in its shape, and the picture."""
    spec, kind = subject.spec, subject.kind
    listing = flex_listing(
        result,
        about=[
            ("head", subject.head if subject.coil else None),
            ("kind", None if kind is None else kind.name),
            ("coil", subject.coil or None),
            ("pins", None if spec is None else "-".join(spec.pins)),
            ("meter", subject.table.meter.name),
            ("source", str(source)),
        ],
        meaning=MEANINGS[result.evidence.stability],
        step_ohm=_step_ohm(walk),
    )
    if outputs.shape in {Shape.TABLE, Shape.MARKDOWN}:
        markdown = outputs.shape is Shape.MARKDOWN
        word, _, reason = flex_title(result, f"{subject.name}, {subject.where}").partition("\n")
        columns = columns_of(outputs.out)
        if markdown:
            title = f"## {escaped(word)}\n\n{escaped(reason)}"
        elif columns is None:
            title = f"{harmless(word)}\n{reason}"
        else:
            title = "\n".join(sentence(line, columns) for line in (word, *reason.split("\n")))
        table = listing_text(listing, markdown=markdown, columns=columns)
        put_chunks([f"{title}\n\n", table], outputs.out)
    else:
        put_listing(listing, outputs.shape, outputs.out)
    if outputs.plot is not None:
        _draw(walk, f"{result.evidence.stability}: {subject.name}", outputs.plot)


def _draw(walk: Flexing, title: str, path: Path) -> None:
    from coilmeter.report.plots_flex import FlexPicture

    flexed = walk.flexed()
    if flexed is None or walk.time.begun_at is None:
        return
    rule = FlexRule()
    points = [*flexed.at_rest, *flexed.scanner.points]
    spans: dict[Meaning, list[tuple[float, float]]] = {}
    for run in flexed.scanner.runs:
        spans.setdefault(run.meaning(rule), []).append((run.since, run.until))
    picture = FlexPicture(
        at=[point.at for point in points],
        ohm=[
            point.ohm if point.ohm <= flexed.scanner.open_ohm else math.inf for point in points
        ],
        moved_from=walk.time.begun_at,
        level_ohm=flexed.rest.level_ohm,
        limit_ohm=flexed.scanner.jump_limit_ohm,
        dropouts=[*spans.get(Meaning.DROPOUT, []), *spans.get(Meaning.DOUBTFUL, [])],
        left_out=[*spans.get(Meaning.LIFTED, []), *spans.get(Meaning.UNEXPLAINED, [])],
        changes=[
            begun
            for meaning in (Meaning.JUMP, Meaning.BLIP)
            for begun, _ in spans.get(meaning, [])
        ],
    )
    with WholeFile(path) as file:
        file.write_bytes(picture.draw(path.suffix[1:].lower(), title))


def _row(subject: Subject, walk: Flexing, result: FlexResult, source: Path) -> ReadingRow:
    figures, finest = result.evidence.figures, walk.finest
    text = "OL"
    if figures.median_ohm is not None and finest is not None:
        text = value_text(Settled(figures.median_ohm, 0.0, (finest,)))
    return ReadingRow(
        path="",
        line=0,
        head=subject.head,
        reading=parse_reading(text),
        kind="" if subject.kind is None else subject.kind.name,
        coil=subject.coil,
        pins=None if subject.spec is None else subject.spec.pins,
        purpose=Purpose.FREE,
        meter=subject.table.meter.name,
        note=f"flexed: {source.name}",
        count=figures.readings or 1,
        scatter_ohm=figures.scatter_ohm or 0.0,
        flex=result.evidence,
    )


def _step_ohm(walk: Flexing) -> float:
    finest = walk.finest
    return 0.0 if finest is None else finest.resolution or 0.0


def spec_of(kind: HeadKind | None, coil: str) -> CoilSpec | None:
    """Find a coil of a kind by its name.

    Raises
    ------
    UnknownNameError
        When the kind has no such coil.

    """
    if kind is None or not coil:
        return None
    specs = {spec.name: spec for spec in kind.coils}
    if coil not in specs:
        raise UnknownNameError(f"coil of {kind.name!r}", coil, list(specs))
    return specs[coil]
