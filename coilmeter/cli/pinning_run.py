"""The whole of mapping the pins of a head: cautions, the walk, the map, and what is saved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from coilmeter.catalog import Catalog
from coilmeter.cli.connection import Connection
from coilmeter.cli.folders import own_catalog
from coilmeter.cli.measuring import kept_line, listen, say_beforehand
from coilmeter.cli.options import Shape
from coilmeter.cli.pinning import PinJob
from coilmeter.cli.pinning_save import rows_as_mapped, save
from coilmeter.cli.pinning_typed import run_typed
from coilmeter.cli.pinning_words import pin_sentence
from coilmeter.cli.proofs import Trust
from coilmeter.cli.results import ALL_SOUND, SOMETHING, columns_of, put_chunks
from coilmeter.cli.screen import make_screen
from coilmeter.cli.typed import say
from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_kinds import agreed, fits, refutes
from coilmeter.compute.pinnet_pairs import Pairs
from coilmeter.compute.pinnet_roles import propose, settled_by
from coilmeter.compute.pinplan_kind import Expected, is_tested, silent_coils
from coilmeter.compute.settings import Settings
from coilmeter.errors import CoilmeterError, InputError
from coilmeter.report.pin_rows import map_csv, map_json, map_text
from coilmeter.report.pin_words import MappedHead
from coilmeter.values import HeadKind, Purpose, ReadingRow
from coilmeter.values.pinmaps import PinMap, PinPair
from coilmeter.walks.pinning import PinWalk, changed


@dataclass(frozen=True, slots=True)
class Say:
    """What a person says of the coils that ohms do not tell.

    Parameters
    ----------
    bands
        Band of a coil, by its letter or its two pins; of every coil under an empty name.
    broken
        Pairs of pins that are coils, though they do not conduct.

    """

    bands: Mapping[str, str] = field(default_factory=dict)
    broken: tuple[PinPair, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What becomes of a map: its shape and file, and the name to save it under."""

    shape: Shape
    out: Path | None
    save: str = ""
    replaced: bool = False


def measure_pins(
    job: PinJob,
    known: Catalog,
    told: Say,
    outcome: Outcome,
    *,
    connection: Connection | None,
    trusted: Trust,
    speak: bool,
) -> int:
    """Map the pins of a head, typed or live, and put the map out; the exit code comes back.

    Whatever ends the walk early, what was taken is on disk, and a line says where.

    Raises
    ------
    CoilmeterError
        When the meter or the store fails.

    """
    say_beforehand(trusted, job.keeper)
    walk = job.walk()
    try:
        if connection is None:
            run_typed(walk, job)
        else:
            _live(job, walk, connection, speak=speak, verified=trusted.verified)
    except (CoilmeterError, KeyboardInterrupt):
        say(_where(job, unfinished=True))
        raise
    say(_where(job, unfinished=not walk.finished))
    pairs, found = job.known()
    if not found.readings:
        say("No pair was read: nothing to map.")
        return SOMETHING
    mapped = mapped_head(
        job.head, pairs, found, known, job.settings, told, job.wishes.kind, job.keeper.rows
    )
    return put_map(mapped, outcome, job)


def map_rows(
    head: str,
    pairs: Pairs,
    rows: Sequence[ReadingRow],
    known: Catalog,
    settings: Settings,
    told: Say,
    expected: Expected | None,
    outcome: Outcome,
) -> int:
    """Map a head from readings that are written down already; the exit code comes back."""
    found = map_of(pairs)
    mapped = mapped_head(head, pairs, found, known, settings, told, expected, rows)
    return put_map(mapped, outcome, None)


def mapped_head(
    head: str,
    pairs: Pairs,
    found: PinMap,
    known: Catalog,
    settings: Settings,
    told: Say,
    expected: Expected | None,
    rows: Sequence[ReadingRow],
) -> MappedHead:
    """Put a map together with all that is said of it."""
    broken = tuple(pair for pair in told.broken if {*pair} <= {*found.floating})
    for pair in told.broken:
        if pair not in broken:
            say(f"! --open {'-'.join(pair)}: these pins conduct; left out.")
    against = () if expected is None else tuple(refutes(expected, pairs, found))
    silent = () if expected is None else tuple(silent_coils(expected, pairs, found))
    if not against:
        named = {pin for pair in broken for pin in pair}
        broken += tuple(c.pins for c in silent if c.certain and not {*c.pins} & named)
    bands = {name: band for name, band in known.bands.items() if name in settings.bands}
    proposals = propose(
        found,
        bands,
        known.kinds,
        confidence=settings.confidence,
        chosen=_chosen(found, told.bands, broken),
        broken=broken,
    )
    fitting = fits(found, proposals, known.kinds)
    proposals = settled_by(proposals, agreed(fitting))
    return MappedHead(
        head,
        found,
        proposals,
        tuple(fitting),
        "" if expected is None else expected.kind.name,
        against,
        tuple(changed(rows)),
        broken,
        tested=expected is not None and is_tested(expected, pairs),
        silent=() if against else silent,
    )


def put_map(mapped: MappedHead, outcome: Outcome, job: PinJob | None) -> int:
    """Write the map in its shape, and save it where that is asked for."""
    shape = outcome.shape
    if shape is Shape.JSON:
        text = map_json(mapped)
    elif shape is Shape.CSV:
        text = map_csv(mapped)
    elif shape is Shape.HTML:
        from coilmeter.report.pin_page import map_page

        text = map_page(mapped)
    else:
        markdown = shape is Shape.MARKDOWN
        text = map_text(mapped, markdown=markdown, columns=columns_of(outcome.out))
    put_chunks([text], outcome.out)
    code = ALL_SOUND if mapped.sound else SOMETHING
    if outcome.save and not _saved(mapped, outcome, job):
        return SOMETHING
    return code


def _saved(mapped: MappedHead, outcome: Outcome, job: PinJob | None) -> bool:
    """Save the map; say why where it cannot be."""
    path = own_catalog()
    try:
        kind = save(outcome.save, mapped, path, replaced=outcome.replaced)
    except InputError as error:
        say(f"! {error}")
        return False
    say(f"{outcome.save}: added to {path}; it is a head kind now, as any other.")
    if job is not None:
        _keep_as_mapped(job, kind)
        say(f"Judge what was read: coilmeter judge {job.keeper.path}")
    return True


def _keep_as_mapped(job: PinJob, kind: HeadKind) -> None:
    """Have the readings once more in the file, as of coils and paths of the kind."""
    for row in list(rows_as_mapped(job.keeper.rows, kind)):
        job.keeper.keep(row)


def _chosen(
    found: PinMap, bands: Mapping[str, str], broken: Sequence[PinPair]
) -> dict[PinPair, str]:
    """Band that a person named for each coil."""
    from coilmeter.report.pin_drawing import lettered

    chosen: dict[PinPair, str] = {}
    used = {""}
    for letter, link in lettered(found, broken):
        names = (letter, "-".join(link.pins), "-".join(link.pins[::-1]), "")
        name = next((name for name in names if name in bands), None)
        if name is not None:
            used.add(name)
            chosen[link.pins] = bands[name]
    for name in bands.keys() - used:
        say(f"! --band {name}={bands[name]}: there is no coil {name} in this map; left out.")
    return chosen


def _live(
    job: PinJob, walk: PinWalk, connection: Connection, *, speak: bool, verified: bool
) -> None:
    def picture() -> Sequence[str]:
        return job.picture(None if walk.pair is None else walk.pair.points)

    listen(
        job,
        walk,
        connection,
        speak=speak,
        verified=verified,
        show=lambda: make_screen(pin_sentence, picture),
    )


def _where(job: PinJob, *, unfinished: bool) -> str:
    # What was read once, and not its copies as coils and paths of the kind that was saved.
    count = sum(row.purpose is not Purpose.COIL for row in job.keeper.rows)
    return kept_line(count, job.keeper.path, unfinished=unfinished)
