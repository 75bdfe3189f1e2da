"""Reference files, shipped and the user's own, to head kinds, bands and meters.

A file of the user's has the same tables as the shipped ones (``bands``, ``meters``,
``kinds``) and overrides or extends them by name.  Every mistake of a file is reported in
one message with its key path.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from pydantic import ValidationError

from coilmeter.errors import InputError, Mistake, MistakesError, UnknownNameError
from coilmeter.values import MOST_COILS, Band, HeadKind, Meter, numbered_kind, shown_kinds
from coilmeter.values.unproved import KnownMeters

if TYPE_CHECKING:
    from coilmeter.catalog.entries import ReferenceFile

SHIPPED: Final = ("bands.toml", "meters.toml", "head_kinds.toml")
_ValueT = TypeVar("_ValueT")


def reference_folder() -> Path:
    """Folder of the shipped reference files, in an installed package or in a checkout."""
    inside = Path(str(resources.files("coilmeter"))) / "reference_data"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "reference_data"


@dataclass(frozen=True, slots=True)
class Catalog:
    """Everything the reference files define, by name."""

    bands: Mapping[str, Band]
    meters: Mapping[str, Meter]
    kinds: Mapping[str, HeadKind]

    def band(self, name: str) -> Band:
        """Band of that name; raises `UnknownNameError`."""
        return _named("band", self.bands, name)

    def meter(self, name: str) -> Meter:
        """Meter of that name; raises `UnknownNameError`."""
        return _named("meter", self.meters, name)

    def kind(self, name: str) -> HeadKind:
        """Head kind of that name; raises `UnknownNameError`."""
        if name not in self.kinds:
            raise UnknownNameError("head kind", name, shown_kinds(self.kinds))
        return self.kinds[name]


def load_catalog(user_files: Iterable[Path] = ()) -> Catalog:
    """Read the shipped reference files and then the user's, later names overriding earlier.

    Raises
    ------
    MistakesError
        With every mistake of one file: the first file that has any.
    InputError
        When a file cannot be read.

    """
    bands: dict[str, Band] = {}
    meters: dict[str, Meter] = {}
    kinds: dict[str, HeadKind] = {}
    shipped = [reference_folder() / name for name in SHIPPED]
    for path in [*shipped, *user_files]:
        content = _read(path)
        bands |= {name: entry.made(name) for name, entry in content.bands.items()}
        meters |= {name: entry.made(name) for name, entry in content.meters.items()}
        kinds |= {name: entry.made(name) for name, entry in content.kinds.items()}
        if path != shipped[0]:
            _check_bands_exist(path, content, bands)
    numbered = map(numbered_kind, range(1, MOST_COILS + 1))
    return Catalog(bands, KnownMeters(meters), {kind.name: kind for kind in numbered} | kinds)


def _named(what: str, table: Mapping[str, _ValueT], name: str) -> _ValueT:
    try:
        return table[name]
    except KeyError:
        raise UnknownNameError(what, name, sorted(table)) from None


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file.

    Raises
    ------
    InputError
        When it cannot be read, or is none.

    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror or error})", hint="check the name."
        ) from error
    except UnicodeDecodeError as error:
        raise InputError(
            f"{path}: byte {error.start + 1} is not UTF-8 text", hint="save the file as UTF-8."
        ) from error
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path}: not a TOML file: {error}") from error
    except RecursionError as error:
        raise InputError(
            f"{path}: not a TOML file that can be read: tables within tables",
            hint="a reference file has four: bands, meters, kinds, chain.",
        ) from error


def _read(path: Path) -> ReferenceFile:
    # What needs the chains alone does not wait for the rest.
    from coilmeter.catalog.entries import ReferenceFile  # noqa: PLC0415 - as said

    try:
        return ReferenceFile.model_validate(read_toml(path))
    except ValidationError as error:
        raise MistakesError([mistake_of(path, fault) for fault in error.errors()]) from error


def mistake_of(path: Path, fault: Any) -> Mistake:
    """Say what pydantic found wrong in a reference file, with the key path."""
    expected = fault["msg"].removeprefix("Value error, ")
    if fault["type"] == "extra_forbidden":
        expected = "no such key"
    elif fault["type"] == "missing":
        expected = "this key, which is required"
    seen = "nothing" if fault["type"] == "missing" else repr(fault["input"])
    place = ".".join(str(part) for part in fault["loc"])
    if len(seen) > 60:  # noqa: PLR2004 - one screen line
        seen = "this table" if isinstance(fault["input"], dict) else f"{seen[:60]}..."
    return Mistake(str(path), None, place, seen, expected)


def _check_bands_exist(path: Path, content: ReferenceFile, bands: Mapping[str, Band]) -> None:
    mistakes = [
        Mistake(
            str(path),
            None,
            f"kinds.{name}.coils.{index}.band",
            repr(coil.band),
            f"a band: {', '.join(sorted(bands))}",
        )
        for name, kind in content.kinds.items()
        for index, coil in enumerate(kind.coils)
        if coil.band not in bands
    ]
    if mistakes:
        raise MistakesError(mistakes)
