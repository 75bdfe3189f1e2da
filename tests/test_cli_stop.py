"""SIGTERM: a command ends as after Ctrl-C, with an exit code of its own."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import importlib
import signal
import threading
from collections.abc import Callable, Iterator

import pytest
from helpers import cli

from coilmeter.cli import main

MODULE = importlib.import_module("coilmeter.cli.main")


@pytest.fixture(autouse=True)
def usual() -> Iterator[object]:
    """Give what SIGTERM does here, and have it do so again after a test."""
    before = signal.getsignal(signal.SIGTERM)
    yield before
    signal.signal(signal.SIGTERM, before)


def instead(monkeypatch: pytest.MonkeyPatch, command: Callable[[], None]) -> None:
    """Have `main` run something else than the commands."""
    monkeypatch.setattr(MODULE, "make_app", lambda _: lambda **_: command())


def test_afterwards_it_does_what_it_did(usual: object) -> None:
    """A program that calls `main` finds its own handler again, after an error too."""
    codes = [cli("--version").code, cli("judge", "no-such-file.csv").code]

    assert 0 == codes[0]
    assert 0 != codes[1]
    assert usual is signal.getsignal(signal.SIGTERM)


def test_another_thread_sets_no_signals(usual: object) -> None:
    """Python forbids it there; the command runs without."""
    codes: list[int] = []
    thread = threading.Thread(target=lambda: codes.append(cli("--version").code))
    thread.start()
    thread.join()

    assert [0] == codes
    assert usual is signal.getsignal(signal.SIGTERM)


def test_ignored_stays_ignored(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever started the program wanted it so."""
    done: list[str] = []

    def command() -> None:
        signal.raise_signal(signal.SIGTERM)
        done.append("to the end")

    instead(monkeypatch, command)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    code = main([])

    assert 0 == code
    assert ["to the end"] == done
    assert signal.SIG_IGN is signal.getsignal(signal.SIGTERM)


def test_told_twice_the_tidying_up_is_whole(
    monkeypatch: pytest.MonkeyPatch, usual: object
) -> None:
    """The second does not cut short what the first began."""
    done: list[str] = []

    def command() -> None:
        try:
            signal.raise_signal(signal.SIGTERM)
        finally:
            signal.raise_signal(signal.SIGTERM)
            done.append("tidy")

    instead(monkeypatch, command)
    code = main([])

    assert 143 == code
    assert ["tidy"] == done
    assert usual is signal.getsignal(signal.SIGTERM)


def test_outside_a_command_it_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command-line library makes an exit code of its own of a stop: not of this one."""

    def command() -> None:
        try:
            signal.raise_signal(signal.SIGTERM)
        except KeyboardInterrupt:
            raise SystemExit(1) from None

    instead(monkeypatch, command)

    assert 143 == main([])
