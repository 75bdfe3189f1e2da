"""Worked examples from outside, as reference_data/method_cases.toml holds them."""

from __future__ import annotations

import functools
import tomllib
from typing import Any

import pytest

from coilmeter.catalog import reference_folder


@functools.cache
def cases() -> dict[str, dict[str, Any]]:
    """Read all worked examples, by id."""
    path = reference_folder() / "method_cases.toml"
    return {entry["id"]: entry for entry in tomllib.loads(path.read_text("utf-8"))["case"]}


def case(name: str) -> dict[str, Any]:
    """Look one worked example up."""
    return cases()[name]


def agrees(entry: dict[str, Any], key: str) -> object:
    """Give what the example expects under a key, within its printed digits."""
    return pytest.approx(entry["expected"][key], rel=0, abs=entry["tolerance"][key])
