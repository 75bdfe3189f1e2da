"""The pin field as the user describes it: how many pins, how they lie, and whether a case."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from coilmeter.errors import InputError
from coilmeter.values import CASE, HeadKind
from coilmeter.values.pinmaps import FEWEST_PINS, MOST_PINS, PinField

NO_PIN: Final = "."
ROW_END: Final = "/"
_NAME: Final = re.compile(r"\w[\w.+]{0,11}")
_PER_ROW: Final = 2
"""Pins of a head commonly lie in two columns (common practice, no source)."""

_FEW: Final = 3
"""So many pins or fewer are taken to lie in one row."""


def described_field(pins: str, rows: str, layout: str, *, case: bool) -> PinField:
    """Make the field that options describe.

    Parameters
    ----------
    pins
        How many there are, or their names; empty where `layout` names them.
    rows
        How many rows they lie in, as text; empty for pairs, one below the other.
    layout
        Their names as they lie, rows parted by ``/``; ``.`` is a place without a pin.
    case
        Whether there is a case to measure against.

    Raises
    ------
    InputError
        Saying what was seen, and what would have been understood.

    """
    if layout:
        if pins or rows:
            raise InputError(
                "--layout with --pins or --rows",
                hint="the layout names the pins and their rows: leave the others out.",
            )
        return _checked("--layout", _laid_out(layout), case=case)
    if not pins:
        raise InputError(
            "which pins has the head?",
            hint="--pins 8 --rows 4, or --layout '1 2 / 3 4 / 5 6 / 7 8' as they lie.",
        )
    names = _names(pins)
    return _checked("--pins", in_rows(names, _count_of_rows(rows, len(names))), case=case)


def field_of(names: Sequence[str], rows: str = "", *, case: bool) -> PinField:
    """Lay out pins that a file or a head kind names."""
    laid = in_rows(names, _count_of_rows(rows, len(names)))
    return _checked("the pins", laid, case=case)


def field_of_kind(kind: HeadKind) -> PinField:
    """Lay out the pins of a head kind: a row a coil, where no two coils share a pin."""
    pins = list(dict.fromkeys(pin for coil in kind.coils for pin in coil.pins))
    if len(pins) == _PER_ROW * len(kind.coils):
        return PinField(tuple(coil.pins for coil in kind.coils), kind.case)
    return PinField((tuple(pins),), kind.case)


def in_rows(names: Sequence[str], count: int) -> list[list[str]]:
    """Lay pins out row by row, the last row filled up with places without a pin."""
    across = -(-len(names) // count)
    rows = [list(names[start : start + across]) for start in range(0, len(names), across)]
    rows[-1] += [""] * (across - len(rows[-1]))
    return rows


def pair_of(text: str, option: str, field: PinField) -> tuple[str, str]:
    """Read two pins, such as ``3-6``.

    Raises
    ------
    InputError
        When it is not two pins of the field.

    """
    pins = [pin for pin in re.split(r"\s*[-,:\s]\s*", text.strip()) if pin]
    if len(pins) != _PER_ROW or len(set(pins)) != _PER_ROW or not set(pins) <= {*field.pins}:
        raise InputError(
            f"{option}: saw {text!r}, expected two of the pins {', '.join(field.pins)}",
            hint=f"{option} {field.pins[0]}-{field.pins[1]}, for example.",
        )
    return field.pair(pins[0], pins[1])


def _names(text: str) -> list[str]:
    names = [name for name in re.split(r"[,\s]+", text.strip()) if name]
    if len(names) == 1 and names[0].isascii() and names[0].isdigit():
        count = int(names[0][:9])
        if not FEWEST_PINS <= count <= MOST_PINS:
            raise InputError(
                f"--pins: saw {text!r}, expected a number from {FEWEST_PINS} to {MOST_PINS}",
                hint="the case is not counted; map a head with more pins in parts.",
            )
        return [str(number) for number in range(1, count + 1)]
    return names


def _count_of_rows(text: str, pins: int) -> int:
    if not text:
        return 1 if pins <= _FEW or pins % _PER_ROW else pins // _PER_ROW
    numbers = {str(number): number for number in range(1, pins + 1)}
    if text.strip() not in numbers:
        raise InputError(
            f"--rows: saw {text!r}, expected a whole number from 1 to {pins}",
            hint="pins that lie in no rows are described with --layout.",
        )
    return numbers[text.strip()]


def _laid_out(text: str) -> list[list[str]]:
    rows = [
        ["" if name == NO_PIN else name for name in re.split(r"[,\s]+", row.strip()) if name]
        for row in text.split(ROW_END)
    ]
    across = max(map(len, rows), default=0)
    return [row + [""] * (across - len(row)) for row in rows]


def _checked(option: str, rows: Sequence[Sequence[str]], *, case: bool) -> PinField:
    """Refuse names that are none, or twice, and too few or too many pins."""
    field = PinField(tuple(tuple(row) for row in rows), case)
    pins = field.pins
    for name in pins:
        if not _NAME.fullmatch(name) or name.lower() == CASE:
            raise InputError(
                f"{option}: saw {name[:20]!r} as the name of a pin",
                hint="a name has 1 to 12 letters and digits, no blank or dash, and is not "
                f"'{CASE}', which is named by itself.",
            )
    twice = sorted({name for name in pins if pins.count(name) > 1})
    if twice:
        raise InputError(
            f"{option}: saw {', '.join(twice)} twice", hint="each pin has a name of its own."
        )
    if not FEWEST_PINS <= len(pins) <= MOST_PINS:
        raise InputError(
            f"{option}: saw {len(pins)} pins, expected {FEWEST_PINS} to {MOST_PINS}",
            hint="the case is not counted; map a head with more pins in parts.",
        )
    return field
