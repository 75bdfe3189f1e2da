"""The names that other programs may use, pinned."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import inspect
import subprocess
import sys

import pytest

import coilmeter

NAMES = [
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
HEAVY = {"pint", "numpy", "scipy", "matplotlib", "serial", "sqlalchemy", "pydantic", "rich"}


def test_the_list_is_pinned() -> None:
    """Taking a name away breaks somebody's program: then this list says so."""
    assert NAMES == coilmeter.__all__
    assert NAMES == sorted(NAMES)
    assert set(NAMES) == set(coilmeter._HOMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_name_is_there_and_documented(name: str) -> None:
    """It comes from where the list says, and says what it is for."""
    found = getattr(coilmeter, name)

    assert found.__module__.startswith("coilmeter.")
    assert (inspect.getdoc(found) or "").strip()
    assert found.__name__ == name


def test_another_name_is_no_name() -> None:
    """A typing mistake is told as one."""
    with pytest.raises(AttributeError, match="has no attribute 'judje'"):
        _ = coilmeter.judje


def test_a_star_import_gives_them_all() -> None:
    """Every name can be had at once."""
    given: dict[str, object] = {}
    exec("from coilmeter import *", given)  # noqa: S102 - the statement under test

    assert set(NAMES) <= set(given)


@pytest.mark.parametrize("statement", ["import coilmeter", "import coilmeter.errors"])
def test_importing_is_light(statement: str) -> None:
    """None of the heavy libraries comes with it."""
    done = subprocess.run(
        [sys.executable, "-c", f"{statement}; import sys; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = {name.partition(".")[0] for name in done.stdout.split()}

    assert set() == loaded & HEAVY
