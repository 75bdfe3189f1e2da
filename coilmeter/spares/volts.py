"""AC volts kept of heads joined to their verdicts, as `judge --impedance` joins them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coilmeter.errors import InputError, MistakesError
from coilmeter.spares.judging import Judged
from coilmeter.spares.rules import Rules
from coilmeter.values.bin import ImpedanceOf
from coilmeter.values.impedance_rows import ImpedanceRow

NOT_JOINED: Final = "The AC volts kept of it say nothing of its verdict"


def with_kept_volts(judged: Judged, taken: Sequence[ImpedanceOf], rules: Rules) -> Judged:
    """Join the newest AC volts of each coil to the verdict of a head.

    Where they cannot be joined (the head has other coils now, a meter is no longer defined),
    the verdict from ohms stands, and among its cautions is why.

    Parameters
    ----------
    judged
        The head, judged from ohms.
    taken
        What was kept of its coils, oldest first.
    rules
        As it was judged by.

    """
    if judged.result is None or rules.volts is None or not taken:
        return judged
    from coilmeter.compute.impedance_heads import (  # noqa: PLC0415 - slow, and seldom needed
        with_impedance,
    )
    from coilmeter.compute.turns_group import Limits  # noqa: PLC0415 - as above

    limits = Limits(confidence=rules.settings.confidence)
    called = judged.result.head
    try:
        rows = [
            replace(row, head=called, kind="", named=True) for row in newest_rows(taken, rules)
        ]
        (joined,) = with_impedance([judged.result], rows, rules.settings, limits)
    except MistakesError as error:
        first = error.mistakes[0]
        why = f"{first.place}: saw {first.seen}, expected {first.expected}"
    except InputError as error:
        why = str(error)
    else:
        return replace(judged, result=joined)
    cautions = (*judged.result.cautions, f"{NOT_JOINED}: {why}.")
    return replace(judged, result=replace(judged.result, cautions=cautions))


def newest_rows(taken: Sequence[ImpedanceOf], rules: Rules) -> list[ImpedanceRow]:
    """Rows of AC volts of the coils, for each coil those of the file that came last.

    Those of a coil that no file made an impedance of come along, for they say that it was
    taken and could not be used.

    Raises
    ------
    InputError
        When a document cannot be read.

    """
    if rules.volts is None:
        return []
    newest = {each.coil: each.document for each in taken}
    rows = [
        (document, row)
        for document in dict.fromkeys(each.document for each in taken)
        for row in rules.volts(document)
        if not row.broken
    ]
    used = set(newest)
    newest |= {row.coil: document for document, row in rows if row.coil not in used}
    return [row for document, row in rows if newest[row.coil] == document]
