"""What the tests of the judging half share."""

from __future__ import annotations

import functools
import io
import os
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final
from unittest import mock

import pytest

from coilmeter.catalog import Catalog, load_catalog
from coilmeter.cli import main
from coilmeter.compute.circumstances import MeterTable
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.settings import Settings
from coilmeter.errors import MistakesError
from coilmeter.sources.sheet import parse_sheet
from coilmeter.values import CoilResult, HeadResult, IsolationResult, ReadingRow

STATED = {"lead": "nulled", "temperature": "20 +/- 0.5"}
"""Settings under which only the meter itself is uncertain, nearly."""

TWO = {"kind": "two-channel-rp", "meter": "handheld-4000"} | STATED
"""The same for a head of two coils that was read with a meter of known accuracy."""


@functools.cache
def shipped() -> Catalog:
    """Read the shipped reference files, once."""
    return load_catalog()


def settings(**changes: Any) -> Settings:
    """Make settings over the shipped reference data, changed as told."""
    catalog = shipped()
    return replace(Settings(catalog.bands, catalog.meters, catalog.kinds), **changes)


def meter_table(name: str) -> MeterTable:
    """Look up a shipped meter as the judge does."""
    return MeterTable(shipped().meter(name))


def rows(text: str, name: str = "bench.csv") -> list[ReadingRow]:
    """Read the text of a readings file that has no mistake."""
    sheet = parse_sheet(text.encode(), name)
    if sheet.mistakes:
        raise MistakesError(sheet.mistakes)
    return sheet.rows


def judged(text: str, **changes: Any) -> list[HeadResult]:
    """Judge the text of a readings file."""
    return list(judge_rows(rows(text), settings(**changes)))


def one_head(text: str, **changes: Any) -> HeadResult:
    """Judge the text of a readings file about one head."""
    (head,) = judged(text, **changes)
    return head


def one_coil(reading: str, **changes: Any) -> CoilResult:
    """Judge one reading of one coil."""
    (coil,) = one_head(f"coil,reading\n1,{reading}\n", **changes).coils
    return coil


def one_path(reading: str, **changes: Any) -> IsolationResult:
    """Judge one reading between a coil and the case, the coil itself being sound."""
    text = f"coil,reading,purpose\n1,171.0,coil\n1,{reading},coil-to-case\n"
    (path,) = one_head(text, **changes).isolation
    return path


def mistakes_of(text: str, **changes: Any) -> list[str]:
    """Collect every mistake that a readings file is refused for, as text."""
    sheet = parse_sheet(text.encode(), "bench.csv")
    with pytest.raises(MistakesError) as caught:
        list(judge_rows(sheet.rows, settings(**changes), sheet.mistakes))
    return [str(mistake) for mistake in caught.value.mistakes]


NOWHERE: Final = Path("nowhere") / "at" / "all"


@dataclass(frozen=True)
class Ran:
    """What one run of the command line gave."""

    code: int
    out: str
    err: str


def cli(
    *words: str, stdin: bytes = b"", catalog: Path | None = None, config: Path = NOWHERE
) -> Ran:
    """Run the command line in this process, away from this user's own reference file.

    That of the test's own is in `config`.

    An exception that escapes `main` is not caught here: it would be a traceback.
    """
    out, err = io.StringIO(), io.StringIO()
    environment = {} if catalog is None else {"COILMETER_CATALOG": str(catalog)}
    with (
        mock.patch.dict(os.environ, environment),
        mock.patch("platformdirs.user_config_path", return_value=config),
        mock.patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin))),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        code = main(list(words))
    return Ran(code, out.getvalue(), err.getvalue())
