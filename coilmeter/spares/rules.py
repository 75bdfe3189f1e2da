"""What verdicts rest on besides the evidence: bands, kinds, meters, limits, and a digest.

The bands of the rules that were used stay in the bin, so that what a change of bands did can
be shown afterwards.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from hashlib import blake2b
from typing import Any, Final, TypeAlias

from sqlalchemy import Connection, select

from coilmeter.compute.settings import Settings
from coilmeter.spares.records import DIGEST_BYTES
from coilmeter.spares.schema import rules as table
from coilmeter.units import ohms
from coilmeter.values import Band
from coilmeter.values.impedance_rows import ImpedanceRow

JUDGE: Final = "3"
"""Changes with whatever changes a verdict without any rule having changed."""

ReadVolts: TypeAlias = Callable[[str], list[ImpedanceRow]]
"""Reads the document of an impedance, the file of AC volts that it came from."""

_LIMITS: Final = (
    "confidence",
    "bridged_below_ohm",
    "leaking_below_ohm",
    "isolated_above_ohm",
)


@dataclass(frozen=True, slots=True)
class Rules:
    """Settings to judge the bin by, and the digest that stands for them.

    `volts` reads the AC volts that are kept of a head; without it verdicts rest on ohms only.
    """

    settings: Settings
    digest: str
    volts: ReadVolts | None = None

    @classmethod
    def of(cls, settings: Settings, volts: ReadVolts | None = None) -> Rules:
        """Make them of settings; a kind or band for heads of their own is not among them."""
        plain = replace(settings, kind="", band="")
        told = "\n".join([JUDGE, *(["volts"] if volts else []), *_told(plain)])
        digest = blake2b(told.encode(), digest_size=DIGEST_BYTES).hexdigest()
        return cls(plain, digest, volts)


def remember(connection: Connection, rules: Rules) -> None:
    """Note that these rules are the ones in use; the time is that of the last use."""
    document = json.dumps(
        {
            "bands": {name: band.limits_ohm for name, band in rules.settings.bands.items()},
            "limits": {name: getattr(rules.settings, name) for name in _LIMITS},
        }
    )
    connection.execute(table.delete().where(table.c.digest == rules.digest))
    row = {"digest": rules.digest, "used": _now(), "document": document}
    connection.execute(table.insert(), row)


def before(connection: Connection, rules: Rules) -> Rules | None:
    """Rules that were in use before these; None where there were none.

    Kinds and meters are the present ones: the bin remembers bands and limits.
    """
    asked = (
        select(table.c.document, table.c.digest)
        .where(table.c.digest != rules.digest)
        .order_by(table.c.used.desc())
        .limit(1)
    )
    found = connection.execute(asked).first()
    if found is None:
        return None
    document = json.loads(found[0])
    bands = dict(rules.settings.bands)
    for name, limits in document["bands"].items():
        shorted_below, low, high, open_above = map(ohms, limits)
        known = bands.get(name) or Band(name, shorted_below, low, high, open_above)
        bands[name] = replace(
            known,
            shorted_below=shorted_below,
            low=low,
            high=high,
            open_above=open_above,
        )
    settings = replace(rules.settings, bands=bands, **document["limits"])
    return Rules(settings, str(found[1]), rules.volts)


def _now() -> str:
    """Give the present finely enough that no two uses are of one moment."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _told(settings: Settings) -> Iterator[str]:
    """Everything of the settings that a verdict can rest on, as text."""
    for name, band in sorted(settings.bands.items()):
        yield f"band {name} {band.limits_ohm!r}"
    for name, kind in sorted(settings.kinds.items()):
        yield f"kind {name} {_plain(kind)}"
    for name, meter in sorted(settings.meters.items()):
        yield f"meter {name} {_plain(meter)}"
    for each in (*_LIMITS, "meter", "lead", "temperature"):
        yield f"{each} {getattr(settings, each)!r}"


def _plain(value: Any) -> str:
    """Fields of an entry but for those that only people read."""
    skip = {"description", "basis"}
    return repr([getattr(value, each.name) for each in fields(value) if each.name not in skip])
