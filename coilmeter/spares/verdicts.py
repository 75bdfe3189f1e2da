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
from coilmeter.spares.reading import heads_of, impedances_of, sittings_of
from coilmeter.spares.rules import Rules, remember
from coilmeter.spares.schema import heads, verdicts
from coilmeter.spares.searching import EVERY_HEAD, Wanted, evident
from coilmeter.spares.store import Bin
from coilmeter.spares.volts import with_kept_volts
from coilmeter.spares.writing import chunks

PASS: Final = 10_000
"""So many heads are judged in one pass over arrays: more would only take more memory."""

MANY: Final = 2_000
"""From so many heads on, whoever waits is told."""

Tell = Callable[[str], None]


def silent(_: str) -> None:
    """Tell nobody."""


def refresh(shelf: Bin, rules: Rules, tell: Tell = silent, among: Wanted = EVERY_HEAD) -> None:
    """Have a verdict under these rules for every head of the bin, or for some.

    Reading and judging hold no lock; the verdicts are written at the end of each pass, and
    stay when it is stopped after that.  A head that is measured meanwhile is judged the next
    time.

    Parameters
    ----------
    shelf, rules
        The bin, and what it is judged by.
    tell
        Told where there are many, pass by pass.
    among
        Which heads are asked for: of these only such are judged as can be meant by what is
        evidence, whatever their verdict turns out to be.

    Raises
    ------
    StoreError
        When the bin cannot be read or written.

    """
    with shelf.read() as connection:
        outdated = stale(connection, rules, among)
    if not outdated:
        return
    many = len(outdated) >= MANY
    if many:
        tell(
            f"judging {len(outdated)} heads that were not judged by these bands yet; stop as "
            "you like, what is done stays done."
        )
    done = 0
    for some in chunks(outdated, PASS):
        with shelf.read() as connection:
            rows = judged_rows(connection, some, rules)
        with shelf.write() as connection:
            _replace(connection, rows, rules)
        done += len(some)
        if many:
            tell(f"{done} of {len(outdated)} heads judged.")


def judged_rows(
    connection: Connection, identities: Sequence[str], rules: Rules
) -> list[dict[str, Any]]:
    """Rows of the table of verdicts for heads, judged now."""
    measured = impedances_of(connection, identities)
    rows = []
    for judged in judge(connection, identities, rules):
        taken = measured[judged.head.id]
        joined = with_kept_volts(judged, taken, rules)
        rows.append(verdict_row(joined, taken) | {"rules": rules.digest})
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


def stale(connection: Connection, rules: Rules, among: Wanted = EVERY_HEAD) -> list[str]:
    """Ids of the heads without a verdict that rests on their evidence and these rules.

    `among` leaves out heads that its evidence excludes, such as those of another kind.
    """
    fits = and_(
        verdicts.c.head == heads.c.id,
        verdicts.c.evidence == heads.c.evidence,
        verdicts.c.rules == rules.digest,
    )
    asked = (
        select(heads.c.id)
        .outerjoin(verdicts, fits)
        .where(verdicts.c.head.is_(None), *evident(among))
    )
    return list(connection.execute(asked.order_by(heads.c.id)).scalars())


def _replace(connection: Connection, rows: Sequence[dict[str, Any]], rules: Rules) -> None:
    remember(connection, rules)
    for some in chunks([row["head"] for row in rows]):
        connection.execute(verdicts.delete().where(verdicts.c.head.in_(some)))
    connection.execute(verdicts.insert(), list(rows))
