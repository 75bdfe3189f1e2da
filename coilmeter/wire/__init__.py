"""Bytes to readings and back: one module a format, found by discovery.

A module of this package that holds an object named ``FORMAT`` is a wire format; there is no
list to add it to.  Importing this package imports no format until one is asked for.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from coilmeter.errors import UnknownNameError

if TYPE_CHECKING:
    from coilmeter.wire.contract import Format

__all__ = ["find", "formats"]


@cache
def formats() -> Mapping[str, Format]:
    """All wire formats, by name, in the order of their names."""
    found = {name: _load(name) for name in sorted(_module_names())}
    return MappingProxyType({name: form for name, form in found.items() if form is not None})


def find(name: str) -> Format:
    """Look one format up by its name, importing no other.

    Raises
    ------
    UnknownNameError
        When no module of this package defines it; the error lists those that are known.

    """
    form = _load(name) if name in _module_names() else None
    if form is None:
        raise UnknownNameError("meter format", name, tuple(formats()))
    return form


@cache
def _module_names() -> frozenset[str]:
    return frozenset(module.name for module in pkgutil.iter_modules(__path__))


def _load(name: str) -> Format | None:
    """Import a module; its format, or None for a module that is not one."""
    form: Format | None = getattr(importlib.import_module(f"{__name__}.{name}"), "FORMAT", None)
    return form
