"""The shape of the tables under ``chain`` in a reference file.

Every key may be left out, because a file of the user's changes single values of what ships;
what must be there in the end is asked for when all files have been read.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

_Text = Annotated[str, Field(min_length=1, max_length=1000, pattern=r"^[^\x00-\x1f]+$")]


def _short(name: str) -> str:
    if re.fullmatch(r"[a-z][a-z0-9-]{1,30}", name) is None:
        message = "a short name of small letters, digits and dashes"
        raise ValueError(message)
    return name


_Name = Annotated[str, AfterValidator(_short)]
_Minutes = Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False)]
_Weight = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
_Chance = Annotated[float, Field(ge=0.01, le=0.9999)]
_FalseAlarm = Annotated[float, Field(ge=0.0001, le=0.5)]
"""Never certain: what was seen would otherwise be impossible, and not only improbable."""


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class MapEntry(_Entry):
    """One complaint."""

    title: _Text | None = None
    verb: _Text | None = None
    complaint: _Name | None = None
    several: Annotated[float, Field(ge=0.001, le=2)] | None = None
    doubt: _FalseAlarm | None = None
    basis: str | None = None


class LinkEntry(_Entry):
    """One link; the weight 0 takes it out."""

    title: _Text | None = None
    station: _Text | None = None
    weight: _Weight | None = None
    common: Annotated[float, Field(ge=0, le=1)] | None = None
    repair: _Text | None = None
    repair_minutes: _Minutes | None = None
    basis: str | None = None


class _Told(_Entry):
    """What a test may say otherwise in one chain."""

    question: _Text | None = None
    needs: list[_Name] | None = None
    connect: _Text | None = None
    expect: _Text | None = None
    passed: _Text | None = None
    failed: _Text | None = None
    levels: list[_Text] | None = None
    cautions: list[_Name] | None = None


class SeesEntry(_Told):
    """What a test sees in one chain: links by name, and single chances."""

    detects: list[_Name] = []
    may: list[_Name] = []
    follows: list[_Name] = []
    stays: list[_Name] = []
    chances: dict[_Name, _Chance] = {}


class TestEntry(_Told):
    """One test."""

    letter: Annotated[str, Field(pattern=r"^[A-Za-z]$")] | None = None
    title: _Text | None = None
    minutes: _Minutes | None = None
    minutes_loose: _Minutes | None = None
    detects_chance: _Chance | None = None
    may_chance: _Chance | None = None
    false_alarm: _FalseAlarm | None = None
    basis: str | None = None
    use: bool = True
    sees: dict[_Name, SeesEntry] = {}


class ChainEntry(_Entry):
    """Everything under ``chain``."""

    needs: dict[_Name, _Text] = {}
    cautions: dict[_Name, _Text] = {}
    maps: dict[_Name, MapEntry] = {}
    links: dict[_Name, dict[_Name, LinkEntry]] = {}
    tests: dict[_Name, TestEntry] = {}


class ChainFile(BaseModel):
    """A reference file of which only the tables under ``chain`` are looked at."""

    model_config = ConfigDict(extra="ignore", strict=True)

    chain: ChainEntry = ChainEntry()

    def given(self) -> dict[str, Any]:
        """Give what stands in the file and nothing else, as plain tables."""
        return self.chain.model_dump(exclude_unset=True)
