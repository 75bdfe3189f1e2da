"""Proofs of meters on disk: a file each, written whole and never changed."""

from __future__ import annotations

import dataclasses
import json
import math
import os
import tempfile
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from coilmeter.errors import StoreError
from coilmeter.sources.port_identity import identity_of
from coilmeter.sources.rawlog_file import sync_folder
from coilmeter.values.proofs import (
    KnownResistor,
    MeterProof,
    Outcome,
    ResistorCheck,
    Taken,
)

SCHEMA: Final = "coilmeter-proof/1"
TYPED: Final = "typed"


def port_key(port: str) -> str:
    """Name a port so that it is known again on another day.

    A USB device by its serial number, or without one of its own by where it is plugged in;
    any other port by its name.
    """
    if not port:
        return TYPED
    found = identity_of(port)
    if found is None:
        return port
    own = found.serial and not found.shared
    place = f"serial {found.serial}" if own else f"at {found.location or port}"
    return f"usb {found.vendor:04x}:{found.product:04x} {place}"


def keep_proof(folder: Path, proof: MeterProof) -> Path:
    """Write a proof to a file of its own and have it on disk; its path comes back.

    Raises
    ------
    StoreError
        When it cannot be written.

    """
    text = proof_document(proof)
    stamp = "".join(char for char in proof.made[:19] if char.isdigit())
    half: Path | None = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(".json.part", f"{stamp}-", folder)
        half = Path(name)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        # A part of its name is chance: no other proof is ever in the way.
        path = half.rename(name.removesuffix(".part"))
        sync_folder(path)
    except OSError as error:
        if half is not None:
            with suppress(OSError):
                half.unlink(missing_ok=True)
        raise StoreError(
            f"{folder}: the proof could not be written ({error.strerror or error})",
            hint="make room or check the folder, and prove the meter again.",
        ) from error
    return path


def proof_document(proof: MeterProof) -> str:
    """Write a proof as JSON, as its file holds it."""
    document = {"schema": SCHEMA, **dataclasses.asdict(proof)}
    return json.dumps(document, indent=1, allow_nan=False) + "\n"


def read_proofs(folder: Path) -> tuple[list[MeterProof], list[str]]:
    """Read all proofs, the oldest first, and say which files are none.

    A file that is damaged, foreign or of a later version is named and passed over; so is a
    folder that cannot be looked into.
    """
    proofs, strange = [], []
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix == ".json")
    except FileNotFoundError:
        return [], []
    except OSError as error:
        return [], [f"{folder}: {_why_not(error)}: proofs that may be in it are not known here"]
    for path in paths:
        try:
            text = path.read_text(encoding="utf-8")
            proofs.append(parse_proof(text))
        except (OSError, ValueError, RecursionError) as error:
            strange.append(f"{path}: passed over: {_why_not(error)}")
    return sorted(proofs, key=lambda proof: datetime.fromisoformat(proof.made)), strange


def parse_proof(document: str) -> MeterProof:
    """Read the document of a proof, such as a bin keeps; the reverse of `proof_document`.

    Raises
    ------
    ValueError
        When it is damaged, foreign or of a later version.

    """
    return _proof(json.loads(document, parse_constant=_no_number))


def latest_proof(folder: Path, meter: str, form: str, port: str) -> MeterProof | None:
    """Latest proof of a meter in that format at that port; None where there is none."""
    proofs, _ = read_proofs(folder)
    found = [
        proof
        for proof in proofs
        if (proof.meter, proof.form, proof.port) == (meter, form, port)
    ]
    return found[-1] if found else None


def _why_not(error: Exception) -> str:
    """Say why a file is no proof."""
    if isinstance(error, OSError):
        return f"cannot be read ({error.strerror or error})"
    if isinstance(error, UnicodeDecodeError | json.JSONDecodeError | RecursionError):
        return "damaged, or no JSON"
    return str(error)


def _no_number(text: str) -> None:
    raise ValueError(f"{text} in the place of a number")


def _proof(data: Any) -> MeterProof:
    entry = _Entry(data)
    schema = entry.get("schema", str)
    if schema != SCHEMA:
        later = schema.startswith(SCHEMA.partition("/")[0])
        raise ValueError("of a later version of this program" if later else "no proof")
    made = entry.get("made", str)
    if datetime.fromisoformat(made).tzinfo is None:
        raise ValueError(f"made {made}, without a time zone")
    return MeterProof(
        meter=entry.get("meter", str),
        form=entry.get("form", str),
        port=entry.get("port", str),
        made=made,
        null_ohm=entry.number("null_ohm"),
        u_null_ohm=entry.number("u_null_ohm"),
        null_scatter_ohm=entry.number("null_scatter_ohm"),
        thermal_ohm=entry.number_or_none("thermal_ohm"),
        open_read=entry.get("open_read", bool),
        open_range_ohm=entry.number_or_none("open_range_ohm"),
        display_agrees=entry.get("display_agrees", bool, type(None)),
        checks=tuple(map(_check, entry.get("checks", list))),
        outcome=Outcome(entry.get("outcome", str)),
        why=tuple(map(str, entry.get("why", list))),
        version=entry.get("version", str),
    )


def _check(data: Any) -> ResistorCheck:
    entry = _Entry(data)
    resistor, taken = _Entry(entry.get("resistor", dict)), _Entry(entry.get("taken", dict))
    return ResistorCheck(
        resistor=KnownResistor(
            resistor.get("text", str), resistor.number("ohm"), resistor.number("tolerance")
        ),
        taken=Taken(
            taken.number("mean_ohm"),
            taken.number("scatter_ohm"),
            taken.whole("count"),
            taken.number("step_ohm"),
            taken.get("raw", str),
        ),
        deviation_ohm=entry.number("deviation_ohm"),
        meter_ohm=entry.number("meter_ohm"),
        resistor_ohm=entry.number("resistor_ohm"),
        random_ohm=entry.number("random_ohm"),
        range_ohm=entry.number_or_none("range_ohm"),
        e_n=entry.number("e_n"),
        missed=entry.number("missed"),
        outcome=Outcome(entry.get("outcome", str)),
        why=entry.get("why", str),
    )


class _Entry:
    """A table of a file, whose values are what they should be or a `ValueError` says so."""

    def __init__(self, data: Any) -> None:
        if not isinstance(data, dict):
            raise ValueError("no proof")  # noqa: TRY004 - a file's fault, like all the others
        self._data: dict[str, Any] = data

    def get(self, name: str, *kinds: type) -> Any:
        if name not in self._data:
            raise ValueError(f"{name} is missing")
        value = self._data[name]
        if type(value) not in kinds:
            raise ValueError(f"{name} is {str(value)[:40]!r}")
        return value

    def number(self, name: str) -> float:
        return self._finite(name, self.get(name, float, int))

    def number_or_none(self, name: str) -> float | None:
        value = self.get(name, float, int, type(None))
        return None if value is None else self._finite(name, value)

    def whole(self, name: str) -> int:
        value: int = self.get(name, int)
        self._finite(name, value)
        return value

    @staticmethod
    def _finite(name: str, value: float) -> float:
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise ValueError(f"{name} is larger than any number can be here")
        return number
