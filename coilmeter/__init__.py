r"""Tells whether a magnetic tape head is electrically sound.

What another program needs is here; the command line uses the same calls::

    >>> import coilmeter
    >>> coilmeter.parse_reading("4k7").ohm
    4700.0
    >>> [reading.value for reading in coilmeter.decode("plain", b"171.3 ohm\r\n")]
    [171.3]
    >>> found = coilmeter.judge("171.3 ohm", band="rp-cassette", meter="handheld-4000")
    >>> found.verdict
    <Condition.INTACT: 'intact'>

Importing this package is cheap: each name brings in what it needs when it is first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from coilmeter.catalog import Catalog, load_catalog
    from coilmeter.compute.judge import judge_rows
    from coilmeter.compute.settings import Settings
    from coilmeter.errors import CoilmeterError
    from coilmeter.library import decode, judge
    from coilmeter.sources.sheet import parse_sheet, read_sheet
    from coilmeter.units import ReadingText, parse_reading
    from coilmeter.values import CoilResult, HeadResult, Reading, ReadingRow

_HOMES: Final = {
    "Catalog": "coilmeter.catalog",
    "CoilResult": "coilmeter.values",
    "CoilmeterError": "coilmeter.errors",
    "HeadResult": "coilmeter.values",
    "Reading": "coilmeter.values",
    "ReadingRow": "coilmeter.values",
    "ReadingText": "coilmeter.units",
    "Settings": "coilmeter.compute.settings",
    "decode": "coilmeter.library",
    "judge": "coilmeter.library",
    "judge_rows": "coilmeter.compute.judge",
    "load_catalog": "coilmeter.catalog",
    "parse_reading": "coilmeter.units",
    "parse_sheet": "coilmeter.sources.sheet",
    "read_sheet": "coilmeter.sources.sheet",
}

__all__ = [
    "Catalog",
    "CoilResult",
    "CoilmeterError",
    "HeadResult",
    "Reading",
    "ReadingRow",
    "ReadingText",
    "Settings",
    "decode",
    "judge",
    "judge_rows",
    "load_catalog",
    "parse_reading",
    "parse_sheet",
    "read_sheet",
]


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'coilmeter' has no attribute {name!r}")
    return getattr(importlib.import_module(home), name)
