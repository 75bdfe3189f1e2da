"""Verdicts on the whole bin, computed again where evidence or rules have changed since.

Verdicts are never evidence.  The table of them only saves judging a hundred thousand heads
again to list a few: a row counts while the digest of the head's evidence and the digest of
the rules in it are the present ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import Connection, and_, select

from coilmeter.spares.judging import Judged, judge_heads, verdict_row
from coilmeter.spares.reading import (
    heads_of,
    impedance_of,
    rows_of_heads,
    sittings_of,
)
from coilmeter.spares.rules import Rules, remember
from coilmeter.spares.schema import heads, impedances, verdicts
from coilmeter.spares.store import Bin
from coilmeter.spares.writing import chunks

PASS: Final = 10_000
"""So many heads are judged in one pass over arrays: more would only take more memory."""

MANY: Final = 2_000
"""From so many heads on, whoever waits is told."""

Tell = Callable[[str], None]


def silent(_: str) -> None:
    """Tell nobody."""


def refresh(shelf: Bin, rules: Rules, tell: Tell = silent) -> None:
    """Have a verdict under these rules for every head of the bin.

    Reading and judging hold no lock; the verdicts are written at the end of each pass.  A head
    that is measured meanwhile is judged the next time.

    Raises
    ------
    StoreError
        When the bin cannot be read or written.

    """
    with shelf.read() as connection:
        outdated = stale(connection, rules)
    if not outdated:
        return
    if len(outdated) >= MANY:
        tell(f"judging {len(outdated)} heads; the next time this is not needed.")
    for some in chunks(outdated, PASS):
        with shelf.read() as connection:
            rows = judged_rows(connection, some, rules)
        with shelf.write() as connection:
            _replace(connection, rows, rules)


def judged_rows(
    connection: Connection, identities: Sequence[str], rules: Rules
) -> list[dict[str, Any]]:
    """Rows of the table of verdicts for heads, judged now."""
    measured = rows_of_heads(connection, impedances, identities)
    rows = []
    for judged in judge(connection, identities, rules):
        taken = [impedance_of(row) for row in measured[judged.head.id]]
        rows.append(verdict_row(judged, taken) | {"rules": rules.digest})
    return rows


def judge(connection: Connection, identities: Sequence[str], rules: Rules) -> Iterator[Judged]:
    """Judge heads of the bin, in the order of their ids as given."""
    for some in chunks(identities, PASS):
        of_heads = heads_of(connection, some)
        taken = sittings_of(connection, of_heads)
        pairs = [
            (of_heads[identity], taken[identity]) for identity in some if identity in of_heads
        ]
        yield from judge_heads(pairs, rules.settings)


def stale(connection: Connection, rules: Rules) -> list[str]:
    """Ids of the heads without a verdict that rests on their evidence and these rules."""
    fits = and_(
        verdicts.c.head == heads.c.id,
        verdicts.c.evidence == heads.c.evidence,
        verdicts.c.rules == rules.digest,
    )
    asked = select(heads.c.id).outerjoin(verdicts, fits).where(verdicts.c.head.is_(None))
    return list(connection.execute(asked.order_by(heads.c.id)).scalars())


def _replace(connection: Connection, rows: Sequence[dict[str, Any]], rules: Rules) -> None:
    remember(connection, rules)
    for some in chunks([row["head"] for row in rows]):
        connection.execute(verdicts.delete().where(verdicts.c.head.in_(some)))
    connection.execute(verdicts.insert(), list(rows))
