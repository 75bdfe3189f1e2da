"""Tables of the bin, as the newest migration leaves them.

Evidence stands in `heads`, `sittings`, `readings`, `proofs`, `impedances`, `notes`, `photos`
and `events`.  A row of these, once there, is never changed and never removed; each carries a
checksum over its fields.  The last columns of `heads` follow from the rows and are kept up
to date with them.  `verdicts` and `rules` are computed: they may be emptied at any time.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

from coilmeter.spares.identity import CODE_LENGTH, ID_LENGTH

METADATA: Final = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
    }
)


def _id(name: str = "id") -> Column[str]:
    return Column(name, String(ID_LENGTH), primary_key=True)


def _of(table: str, *, required: bool = True) -> Column[str]:
    """Refer to a record of another table, by a column called like it."""
    name = table.removesuffix("s")
    return Column(name, ForeignKey(f"{table}.id"), nullable=not required, index=required)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _number(name: str) -> Column[float]:
    return Column(name, Double, nullable=True)


bins = Table("bins", METADATA, _id(), _text("made"))
"""One row: the id of this bin, and when it was made."""

heads = Table(
    "heads",
    METADATA,
    _id(),
    _text("name"),
    _text("kind"),
    _text("made"),
    _text("checksum"),
    Column("code", String(CODE_LENGTH), nullable=False, index=True),
    Column("status", Text, nullable=False, index=True),
    Column("measured", Text, nullable=False, index=True),
    _text("evidence"),
    Index("ix_heads_name", "name"),
)
proofs = Table(
    "proofs",
    METADATA,
    _id(),
    _text("meter"),
    _text("made"),
    _text("document"),
    _text("checksum"),
)
sittings = Table(
    "sittings",
    METADATA,
    _id(),
    _of("heads"),
    _text("begun"),
    _text("source"),
    _text("band"),
    _of("proofs", required=False),
    _text("checksum"),
)
readings = Table(
    "readings",
    METADATA,
    Column("sitting", ForeignKey("sittings.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    _text("reading"),
    _text("purpose"),
    _text("coil"),
    _text("other"),
    _text("role"),
    _text("pin_a"),
    _text("pin_b"),
    _text("range"),
    _text("meter"),
    _text("lead"),
    _text("temperature"),
    _text("time"),
    _text("note"),
    Column("count", Integer, nullable=False),
    Column("scatter_ohm", Double, nullable=False),
    _text("proof"),
    _text("raw"),
    _text("flex"),
    _text("instead"),
    Column("line", Integer, nullable=False),
    _text("checksum"),
    sqlite_with_rowid=False,
)
impedances = Table(
    "impedances",
    METADATA,
    _id(),
    _of("heads"),
    _text("coil"),
    _text("time"),
    _number("frequency_hz"),
    _number("inductance_henry"),
    _number("u_henry"),
    _text("document"),
    _text("checksum"),
)
notes = Table(
    "notes",
    METADATA,
    _id(),
    _of("heads"),
    _text("time"),
    _text("marking"),
    _text("face"),
    _text("fitted"),
    _text("demagnetised"),
    _text("tape_tested"),
    _text("text"),
    _text("checksum"),
)
photos = Table(
    "photos",
    METADATA,
    _id(),
    _of("heads"),
    _text("time"),
    _text("name"),
    _text("sha256"),
    Column("size", Integer, nullable=False),
    _text("checksum"),
)
events = Table(
    "events",
    METADATA,
    _id(),
    _of("heads"),
    _text("time"),
    _text("status"),
    _text("reason"),
    _text("after"),
    _text("checksum"),
)
verdicts = Table(
    "verdicts",
    METADATA,
    Column("head", ForeignKey("heads.id"), primary_key=True),
    _text("rules"),
    _text("evidence"),
    _text("grade"),
    _text("reason"),
    Column("coils", Integer, nullable=False),
    Column("intact", Integer, nullable=False),
    _text("roles"),
    _text("sorts"),
    _text("layout"),
    _number("low_ohm"),
    _number("high_ohm"),
    _number("total_ohm"),
    _text("figures"),
    Index("ix_verdicts_layout_total_ohm", "layout", "total_ohm"),
    Index("ix_verdicts_sorts_total_ohm", "sorts", "total_ohm"),
    Index("ix_verdicts_grade", "grade"),
)
rules = Table(
    "rules",
    METADATA,
    Column("digest", Text, primary_key=True),
    _text("used"),
    _text("document"),
)

OF_HEADS: Final = (sittings, impedances, notes, photos, events)
"""Tables of evidence whose rows name their head."""

EVIDENCE: Final = (heads, proofs, *OF_HEADS[:1], readings, *OF_HEADS[1:])
"""Tables of evidence, each after those it refers to."""

DERIVED: Final = frozenset({"code", "status", "measured", "evidence", "checksum"})
"""Columns of `heads` that follow from other rows, and the checksum itself."""

FIELDS: Final = {
    table.name: tuple(
        sorted(column.name for column in table.columns if column.name not in skip)
    )
    for table, skip in (
        (heads, DERIVED),
        *((table, {"checksum"}) for table in EVIDENCE if table is not heads),
    )
}
"""Fields of a record that are evidence, by table, in alphabetical order."""
