"""The first bin: heads, their sittings and readings, and what people said of them."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0001"
down_revision: Final = None

_ID: Final = 26


def upgrade() -> None:
    """Make the tables."""
    op.create_table("bins", _id(), _text("made"), _key("bins"))
    op.create_table(
        "heads",
        _id(),
        *map(_text, ("name", "kind", "made", "checksum")),
        sa.Column("code", sa.String(8), nullable=False),
        *(sa.Column(name, sa.Text(), nullable=False) for name in ("status", "measured")),
        _text("evidence"),
        _key("heads"),
    )
    for name in ("code", "status", "measured", "name"):
        op.create_index(f"ix_heads_{name}", "heads", [name])
    op.create_table(
        "proofs", _id(), *map(_text, ("meter", "made", "document", "checksum")), _key("proofs")
    )
    op.create_table(
        "sittings",
        _id(),
        sa.Column("head", sa.String(_ID), nullable=False),
        *map(_text, ("begun", "source", "band")),
        sa.Column("proof", sa.String(_ID), nullable=True),
        _text("checksum"),
        _key("sittings"),
        _refers("sittings", "head"),
        _refers("sittings", "proof"),
    )
    op.create_index("ix_sittings_head", "sittings", ["head"])
    _readings()
    _of_heads()
    _computed()


def _readings() -> None:
    op.create_table(
        "readings",
        sa.Column("sitting", sa.String(_ID), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        *map(_text, ("reading", "purpose", "coil", "other", "role", "pin_a", "pin_b")),
        *map(_text, ("range", "meter", "lead", "temperature", "time", "note")),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("scatter_ohm", sa.Double(), nullable=False),
        *map(_text, ("proof", "raw", "flex", "instead")),
        sa.Column("line", sa.Integer(), nullable=False),
        _text("checksum"),
        sa.PrimaryKeyConstraint("sitting", "number", name="pk_readings"),
        _refers("readings", "sitting"),
        sqlite_with_rowid=False,
    )


def _of_heads() -> None:
    """Make the tables of what belongs to a head besides its readings."""
    columns: dict[str, list[sa.Column[object]]] = {
        "impedances": [
            *map(_text, ("coil", "time")),
            *map(_number, ("frequency_hz", "inductance_henry", "u_henry")),
            _text("document"),
        ],
        "notes": list(
            map(
                _text,
                ("time", "marking", "face", "fitted", "demagnetised", "tape_tested", "text"),
            )
        ),
        "photos": [
            *map(_text, ("time", "name", "sha256")),
            sa.Column("size", sa.Integer(), nullable=False),
        ],
        "events": list(map(_text, ("time", "status", "reason", "after"))),
    }
    for name, own in columns.items():
        op.create_table(
            name,
            _id(),
            sa.Column("head", sa.String(_ID), nullable=False),
            *own,
            _text("checksum"),
            _key(name),
            _refers(name, "head"),
        )
        op.create_index(f"ix_{name}_head", name, ["head"])


def _computed() -> None:
    """Make the tables that can be computed again from the others."""
    op.create_table(
        "verdicts",
        sa.Column("head", sa.String(_ID), nullable=False),
        *map(_text, ("rules", "evidence", "grade", "reason")),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in ("coils", "intact")),
        *map(_text, ("roles", "sorts", "layout")),
        *map(_number, ("low_ohm", "high_ohm", "total_ohm")),
        _text("figures"),
        sa.PrimaryKeyConstraint("head", name="pk_verdicts"),
        _refers("verdicts", "head"),
    )
    for name in ("layout", "sorts"):
        op.create_index(f"ix_verdicts_{name}_total_ohm", "verdicts", [name, "total_ohm"])
    op.create_index("ix_verdicts_grade", "verdicts", ["grade"])
    op.create_table(
        "rules",
        sa.Column("digest", sa.Text(), nullable=False),
        *map(_text, ("used", "document")),
        sa.PrimaryKeyConstraint("digest", name="pk_rules"),
    )


def _id() -> sa.Column[object]:
    return sa.Column("id", sa.String(_ID), nullable=False)


def _text(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.Text(), nullable=False)


def _number(name: str) -> sa.Column[object]:
    return sa.Column(name, sa.Double(), nullable=True)


def _key(table: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint("id", name=f"pk_{table}")


def _refers(table: str, column: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{column}s.id"], name=f"fk_{table}_{column}")
