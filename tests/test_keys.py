"""Single keys, from a real pseudo-terminal."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import suppress

import pytest

from coilmeter.cli.keys import NoKeys, keyboard, plain_keys

pytestmark = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="this system has no pseudo-terminals"
)


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """Make a pseudo-terminal the standard input; give the end that types."""
    types, reads = os.openpty()
    with open(reads, closefd=False) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        yield types
    for end in (types, reads):
        with suppress(OSError):
            os.close(end)


def echoes(descriptor: int) -> tuple[bool, bool]:
    """Tell whether a terminal shows what is typed, and waits for whole lines."""
    import termios  # noqa: PLC0415 - not on every system

    local = termios.tcgetattr(descriptor)[3]
    return bool(local & termios.ECHO), bool(local & termios.ICANON)


def test_keys_are_read_as_they_are_pressed(terminal: int) -> None:
    """Without Enter, without being shown, and only once."""
    with keyboard() as keys:
        nothing = keys.pressed()
        os.write(terminal, b"sQ" + "é".encode() + b"b" * 100)
        pressed = keys.pressed()
        while len(pressed) < 103:
            pressed += keys.pressed()

        assert "" == nothing
        assert "sQé" + "b" * 100 == pressed
        assert "" == keys.pressed()


def test_the_terminal_is_given_back(terminal: int) -> None:
    """While a line is typed, at the end, and after an error."""
    descriptor = sys.stdin.fileno()
    usual = echoes(descriptor)
    with keyboard() as keys:
        taken = echoes(descriptor)
        with keys.paused():
            lent = echoes(descriptor)
        again = echoes(descriptor)
    with pytest.raises(ValueError, match="any"), keyboard():
        raise ValueError("any")

    assert (True, True) == usual
    assert (False, False) == taken
    assert usual == lent
    assert taken == again
    assert usual == echoes(descriptor)
    assert terminal > 0


def test_a_terminal_that_goes_away_presses_nothing(terminal: int) -> None:
    """The other end closed is no key and no error."""
    with keyboard() as keys:
        os.close(terminal)

        assert "" == keys.pressed()


def test_no_terminal_no_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where input comes from a file nothing is ever pressed."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("qqq"))
    with keyboard() as keys, keys.paused():
        assert isinstance(keys, NoKeys)
        assert "" == keys.pressed()


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("abc", "abc"),
        ("\x1b[A\x1b[B\x1b[C\x1b[D", ""),
        ("\x1bOPs\x1bOQ", "s"),
        ("\x1b[15~k\x1b[1;5Br", "kr"),
        ("\x1bb", ""),
        ("\x1b", ""),
        ("s\x1b[", "s"),
        ("\x1b[200~skip\x1b[201~", "skip"),
    ],
)
def test_arrow_keys_are_no_commands(typed: str, expected: str) -> None:
    """The letters of their sequences must not go back, keep or skip."""
    assert expected == plain_keys(typed)
