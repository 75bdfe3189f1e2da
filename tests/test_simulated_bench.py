"""The simulated bench end to end: what is clipped arrives through real bytes."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from itertools import islice

import pytest
import serial

from coilmeter.errors import InputError
from coilmeter.sources.clock import FastClock
from coilmeter.sources.servers import FrameSource, serve_pty, serve_socket
from coilmeter.sources.simulated import (
    Hands,
    Performer,
    SimulatedBench,
    SimulatedHead,
    SimulatedMeter,
    Touch,
    script_for,
)
from coilmeter.units import ohms
from coilmeter.values import Meter, MeterRange, Reading
from coilmeter.wire import find
from coilmeter.wire.contract import Display, Format

Server = Callable[[FrameSource], AbstractContextManager[str]]

both_ways = pytest.mark.parametrize(
    "serve",
    [
        serve_socket,
        pytest.param(
            serve_pty,
            marks=pytest.mark.skipif(
                os.name != "posix", reason="no pseudo-terminals on this system"
            ),
        ),
    ],
)


def meter() -> Meter:
    """Give a hand-held meter of 4000 counts."""
    ends = (400.0, 4e3, 40e3, 400e3, 4e6, 40e6)
    ranges = tuple(MeterRange(ohms(end), ohms(end / 4000), 0.008, ohms(0.5)) for end in ends)
    return Meter("bench", "", "invented", ranges, 0.01, 5, ohms(50.0), ohms(20.0), ohms(0.2))


HEAD = SimulatedHead(
    {"L": ("1", "2", 212.34), "R": ("3", "4", 2048.0), "E": ("5", "6", 5.2)}
).with_open("E")


def bench(format_name: str, *, lead_ohm: float = 0.2) -> SimulatedBench:
    """Give a bench of which the time runs twenty times as fast."""
    hands = Hands(HEAD, FastClock(20.0), seed=3)
    return SimulatedBench(SimulatedMeter(meter(), lead_ohm=lead_ohm), hands, find(format_name))


@contextmanager
def opened(url: str) -> Iterator[serial.SerialBase]:
    """Open a port as any program does."""
    with closing(serial.serial_for_url(url, timeout=20)) as port:
        yield port


def levels(port: serial.SerialBase, wire_format: Format) -> Iterator[float]:
    """Decode what comes: ohms, infinite for OL.  Only before the first may a torn frame be."""
    decoder = wire_format.decoder()
    begun = False
    while data := port.read(1):
        for decoded in decoder.feed(data):
            if isinstance(decoded, Reading):
                begun = True
                assert decoded.is_ohms
                yield math.inf if decoded.value is None else decoded.value
            elif begun:
                pytest.fail(f"not a frame: {decoded}")
    pytest.fail("the server went silent")


def steady(stream: Iterator[float], other_than: float) -> float:
    """Give the next value that stays for ten readings and is not `other_than`."""
    last, same = math.nan, 0
    for value in islice(stream, 5000):
        last, same = value, same + 1 if value == last else 1
        if same == 10 and value != other_than:
            return value
    pytest.fail(f"nothing but {last} came to rest")


@both_ways
@pytest.mark.parametrize("format_name", ["plain", "digits14"])
def test_bytes_decode_to_what_is_clipped(serve: Server, format_name: str) -> None:
    """What the clips touch arrives through real bytes, to the last digit of the display."""
    simulated = bench(format_name)
    expected = {("1", "2"): 212.5, ("3", "4"): 2048.0, ("5", "6"): math.inf, None: 0.2}
    seen: dict[tuple[str, str] | None, float] = {}
    latest = math.inf
    with serve(simulated) as url, opened(url) as port:
        stream = levels(port, simulated.wire_format)
        for pins in expected:
            if pins is None:
                simulated.hands.short_leads()
            else:
                simulated.hands.clip(*pins)
            latest = seen[pins] = steady(stream, latest)

    assert expected == pytest.approx(seen, abs=1e-9)
    assert simulated.started.is_set()


@both_ways
def test_a_script_drives_the_whole_run(serve: Server) -> None:
    """Hands moved by a script show up in the stream in the order of the script."""
    simulated = bench("digits14", lead_ohm=0.0)
    script = script_for(
        [Touch(("1", "2")), Touch(("5", "6"), bridge=True), Touch(("3", "4"))],
        lifted_s=4.0,
        hold_s=5.0,
        ol_hold_s=5.0,
        bridge_s=5.0,
        after_bridge_s=5.0,
    )
    expected = [math.inf, 212.3, math.inf, 0.0, math.inf, 2048.0, math.inf]
    seen: list[float] = []
    with (
        serve(simulated) as url,
        opened(url) as port,
        Performer(simulated.hands, script, cue=simulated.started),
    ):
        stream = levels(port, simulated.wire_format)
        for _ in expected:
            seen.append(steady(stream, seen[-1] if seen else math.nan))

    assert expected == pytest.approx(seen, abs=1e-9)


def test_format_that_cannot_carry_the_meter_is_told_first() -> None:
    """A range the format has no code for is refused before anything runs."""

    class Small:
        """A format of small numbers only."""

        name = "small"

        def encode(self, display: Display) -> bytes:
            """Refuse anything large."""
            if display.full_scale > 1e6:
                raise ValueError("no code for mega")
            return b"x"

    hands = Hands(HEAD, FastClock(50.0))

    with pytest.raises(InputError, match="format 'small' cannot carry the 4") as caught:
        SimulatedBench(SimulatedMeter(meter()), hands, Small())  # type: ignore[arg-type]

    assert "no code for mega" in str(caught.value)


@pytest.mark.parametrize("rate_hz", [0.0, -1.0, math.inf, math.nan])
def test_impossible_rate_is_refused(rate_hz: float) -> None:
    """A meter sends more than no frames a second."""
    hands = Hands(HEAD, FastClock(50.0))

    with pytest.raises(InputError, match="frames per second"):
        SimulatedBench(SimulatedMeter(meter()), hands, find("plain"), rate_hz=rate_hz)
