"""Proofs of meters on disk: a file each, written whole and never changed."""

from __future__ import annotations

import dataclasses
import json
import os
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from coilmeter.errors import StoreError
from coilmeter.sources.port_identity import identity_of
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
    """Tell a port again on another day: by its USB device where it is one, else by its name."""
    if not port:
        return TYPED
    found = identity_of(port)
    if found is None:
        return port
    place = f"serial {found.serial}" if found.serial else f"at {found.location or port}"
    return f"usb {found.vendor:04x}:{found.product:04x} {place}"


def keep_proof(folder: Path, proof: MeterProof) -> Path:
    """Write a proof to a file of its own and have it on disk; its path comes back.

    Raises
    ------
    StoreError
        When it cannot be written.

    """
    text = json.dumps({"schema": SCHEMA, **dataclasses.asdict(proof)}, indent=1) + "\n"
    stamp = "".join(char for char in proof.made[:19] if char.isdigit())
    try:
        folder.mkdir(parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(".json.part", f"{stamp}-", folder)
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        path = Path(name).rename(name.removesuffix(".part"))
    except OSError as error:
        raise StoreError(
            f"{folder}: the proof could not be written ({error.strerror or error})",
            hint="make room or check the folder, and prove the meter again.",
        ) from error
    return path


def read_proofs(folder: Path) -> tuple[list[MeterProof], list[str]]:
    """Read all proofs, the oldest first, and say which files are none.

    A file that is damaged, foreign or of a later version is named and passed over.
    """
    proofs, strange = [], []
    for path in _files(folder):
        try:
            proofs.append(_proof(json.loads(path.read_text(encoding="utf-8"))))
        except (OSError, ValueError, KeyError, TypeError) as error:
            strange.append(f"{path}: no proof that can be read ({type(error).__name__})")
    return sorted(proofs, key=lambda proof: proof.made), strange


def latest_proof(folder: Path, meter: str, form: str, port: str) -> MeterProof | None:
    """Latest proof of a meter in that format at that port; None where there is none."""
    proofs, _ = read_proofs(folder)
    found = [
        proof
        for proof in proofs
        if (proof.meter, proof.form, proof.port) == (meter, form, port)
    ]
    return found[-1] if found else None


def _files(folder: Path) -> Iterator[Path]:
    try:
        yield from sorted(folder.glob("*.json"))
    except OSError:
        return


def _proof(data: Any) -> MeterProof:
    if data["schema"] != SCHEMA:
        raise ValueError(data["schema"])
    fields = {field.name: data[field.name] for field in dataclasses.fields(MeterProof)}
    datetime.fromisoformat(fields["made"])
    fields["outcome"] = Outcome(fields["outcome"])
    fields["why"] = tuple(map(str, fields["why"]))
    fields["checks"] = tuple(_check(each) for each in fields["checks"])
    return MeterProof(**fields)


def _check(data: Any) -> ResistorCheck:
    fields = {field.name: data[field.name] for field in dataclasses.fields(ResistorCheck)}
    fields["resistor"] = KnownResistor(**fields["resistor"])
    fields["taken"] = Taken(**fields["taken"])
    fields["outcome"] = Outcome(fields["outcome"])
    return ResistorCheck(**fields)
