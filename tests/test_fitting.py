"""Which formats fit what a meter sends: listed for a person, and never chosen."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

import pytest
from helpers import cli
from hypothesis import given
from hypothesis import strategies as st
from walk_processes import LineMeter

from coilmeter.sources import fitting
from coilmeter.sources.clock import FastClock
from coilmeter.sources.fitting import listen, try_format
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Display
from coilmeter.wire.dialogue import polled

TALKING: Final = sorted(name for name, form in formats().items() if polled(form) is None)
ALIKE: Final[dict[str, set[str]]] = {}
"""Formats of this project that pass for one another: none do."""

needs_pty = pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")


def stream(name: str, *, cut: int = 0, count: int = 8) -> bytes:
    """Give what a meter on a coil sends, opened in the middle of a frame and closed in one."""
    form = find(name)
    full, step = (22e1, 0.01) if name == "block14" else (400.0, 0.1)
    frames = [
        form.encode(Display(round(171.2 + number * step, 2), step, full))
        for number in range(count)
    ]
    data = b"".join(frames)
    return data[cut : len(data) - 3]


@pytest.mark.parametrize("name", TALKING)
def test_a_format_fits_its_own_bytes_and_no_other(name: str) -> None:
    """Torn at either end as they are when a port is opened at any moment."""
    data = stream(name, cut=5)
    fits = {each for each in TALKING if try_format(find(each), 9600, data)}

    assert {name} | ALIKE.get(name, set()) == fits


@given(st.binary(max_size=400))
def test_noise_raises_nothing(data: bytes) -> None:
    """Whatever comes, each format fits or does not."""
    for name in TALKING:
        fit = try_format(find(name), 2400, data)

        assert fit is None or fit.readings >= 2


class Line:
    """A serial line whose meter is set to one rate: at others there is noise.

    Parameters
    ----------
    baud
        The rate of the meter.
    data
        What it sends.

    """

    def __init__(self, baud: int, data: bytes) -> None:
        self._baud = baud
        self._data = data
        self.opened: list[int] = []
        self.closed = 0

    def open(self, url: str, baud: int, lines: tuple[bool, bool]) -> Line:
        """Open it."""
        assert url
        assert (True, False) == lines
        self.opened.append(baud)
        self._left = self._data if baud == self._baud else b"\x00\xf3\x80" * 30
        return self

    def read(self, wait_s: float) -> bytes:
        """Read a little."""
        assert wait_s > 0
        some, self._left = self._left[:11], self._left[11:]
        return some

    def close(self) -> None:
        """Give it back."""
        self.closed += 1


@pytest.fixture
def line(monkeypatch: pytest.MonkeyPatch) -> Callable[[int, bytes], Line]:
    """Put a line in the place of the port."""

    def make(baud: int, data: bytes) -> Line:
        made = Line(baud, data)
        monkeypatch.setattr(fitting, "Link", made.open)
        return made

    return make


def test_each_usual_rate_is_tried(line: Callable[[int, bytes], Line]) -> None:
    """Until one fits; the port is given back each time."""
    there = line(9600, stream("plain"))
    heard = listen("/dev/ttyUSB0", None, FastClock(300.0))

    assert ["plain"] == [fit.form.name for fit in heard.fits]
    assert [2400, 9600] == there.opened == list(heard.data)
    assert 2 == there.closed


def test_a_meter_set_to_another_rate_than_is_usual(line: Callable[[int, bytes], Line]) -> None:
    """The frame of a format that usually comes at 2400 baud is known at 9600 as well."""
    line(9600, stream("digits14"))
    (fit,) = listen("/dev/ttyUSB0", None, FastClock(300.0)).fits

    assert ("digits14", 9600) == (fit.form.name, fit.baud)
    assert "171" in fit.display


def test_a_rate_that_was_asked_for(line: Callable[[int, bytes], Line]) -> None:
    """No other is tried."""
    there = line(4800, stream("words"))
    (fit,) = listen("/dev/ttyUSB0", 4800, FastClock(300.0)).fits

    assert ("words", 4800) == (fit.form.name, fit.baud)
    assert [4800] == there.opened


@pytest.mark.usefixtures("hasty")
def test_nothing_fits(line: Callable[[int, bytes], Line]) -> None:
    """What came is shown, and what to see to."""
    line(1, b"")
    ran = cli("meter", "watch", "--port", "/dev/ttyUSB0")

    assert 2 == ran.code
    assert "90 bytes at 2400 baud (00 F3 80" in ran.err
    assert "no format fits" in ran.err
    assert "give --baud" in ran.err


@contextmanager
def quiet_terminal() -> Iterator[str]:
    """Open a port on which nothing comes."""
    meter, ours = os.openpty()
    try:
        yield os.ttyname(ours)
    finally:
        os.close(ours)
        os.close(meter)


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """Listen for a moment only."""
    monkeypatch.setattr(listen, "__defaults__", (0.2,))


@needs_pty
@pytest.mark.usefixtures("hasty")
@pytest.mark.parametrize(
    "words",
    [("check", "--coils", "1"), ("log",), ("flex",), ("meter", "prove", "--meter", "x")],
)
def test_nothing_comes(words: tuple[str, ...], request: pytest.FixtureRequest) -> None:
    """Which meters are silent by nature is said, by name."""
    if words[-1] == "x":
        words = (*words[:-1], "handheld-4000")
    request.getfixturevalue("tmp_path")
    with quiet_terminal() as name:
        ran = cli(*words, "--port", name)
    told = " ".join(ran.err.split())

    assert 2 == ran.code
    assert "No byte came in turn at 2400, 9600, 19200 baud" in told
    assert "must be asked says nothing by itself (prompt, scpi)" in told
    assert "must be woken (block11)" in told


@pytest.mark.usefixtures("hasty")
def test_a_socket_is_listened_to_once() -> None:
    """It has no rate; and what only looks right is told with its doubts."""
    with LineMeter("171.3 ohm", rate_hz=50).serving() as meter:
        ran = cli("log", "--port", meter.url)
    told = " ".join(ran.err.split())

    assert 2 == ran.code
    assert "These formats fit: plain (" in told
    assert "the last 171.3 ohm)" in told
    assert "another can fit and be wrong" in told


@pytest.mark.usefixtures("hasty")
def test_what_looks_alike_is_told(line: Callable[[int, bytes], Line]) -> None:
    """A person has to know which of them it is."""
    line(2400, stream("block11"))
    ran = cli("check", "--coils", "1", "--port", "/dev/ttyUSB0")
    told = " ".join(ran.err.split())

    assert "block11 at 2400 baud (" in told
    assert "What looks like block11 and is not: blocks of 40 000-count meters" in told


@pytest.mark.usefixtures("hasty")
def test_a_byte_map_from_memory_is_told(line: Callable[[int, bytes], Line]) -> None:
    """It may fit, and be wrong."""
    line(2400, stream("segments14"))
    ran = cli("meter", "watch", "--port", "/dev/ttyUSB0")

    assert "segments14 at 2400 baud, not verified (" in " ".join(ran.err.split())
