"""A simulated port that is unplugged and plugged in again, under the eyes of a client."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import os
import socket
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import serial
from simulated_checks import needs_pty

from coilmeter.errors import InputError, PortBusyError, PortLostError, PortMissingError
from coilmeter.sources.clock import Clock, FastClock, RealClock
from coilmeter.sources.outlet_pty import PtyOutlet
from coilmeter.sources.outlets import Outlet, SocketOutlet
from coilmeter.sources.port import MeterStream, TimedReading
from coilmeter.sources.servers import serve
from coilmeter.wire import find

LINE = b"184.2 ohm\r\n"


@dataclass
class Meter:
    """Sends a line over and over, answers what it is asked, and counts who came."""

    clock: Clock = field(default_factory=lambda: FastClock(10.0))
    rate_hz: float = 10.0
    openings: int = 0
    heard: bytes = b""

    def opened(self) -> None:
        """Count."""
        self.openings += 1

    def hear(self, data: bytes) -> None:
        """Remember."""
        self.heard += data

    def frame(self) -> bytes:
        """Answer, or send the line."""
        heard, self.heard = self.heard, b""
        return heard.swapcase() if heard else LINE


both = pytest.mark.parametrize("kind", [SocketOutlet, pytest.param(PtyOutlet, marks=needs_pty)])


def read_until(port: serial.SerialBase, wanted: bytes) -> bool:
    """Read until something has come, of 4000 bytes at most."""
    got = b""
    while wanted not in got and len(got) < 4000:
        got += port.read(1)
    return wanted in got


def poll_on(stream: MeterStream) -> None:
    """Poll until an error comes."""
    while True:
        stream.poll()


def open_files() -> list[str]:
    """Name the open files of this process."""
    return sorted(each.name for each in Path("/dev/fd").iterdir())


@both
def test_what_a_client_writes_is_heard_and_answered(kind: type[Outlet]) -> None:
    """A question reaches the meter, and its answer comes back between its lines."""
    with (
        serve(Meter(), outlet := kind()),
        closing(serial.serial_for_url(outlet.where, timeout=20)) as port,
    ):
        port.write(b"read?")

        assert read_until(port, b"READ?")


@both
def test_each_opening_is_told(kind: type[Outlet]) -> None:
    """Whoever opens the port is noticed, each time."""
    meter = Meter()
    with serve(meter, outlet := kind()):
        for _ in range(3):
            with closing(serial.serial_for_url(outlet.where, timeout=20)) as port:
                read_until(port, LINE)

    assert 3 == meter.openings
    assert 3 == outlet.arrivals


@both
def test_unplugged_and_plugged_in_again(kind: type[Outlet]) -> None:
    """A live source loses the port, finds none meanwhile, and reads again after it."""
    meter, form = Meter(RealClock(), 50.0), find("plain")
    with serve(meter, outlet := kind()):
        with MeterStream(outlet.where, form, RealClock()) as stream:
            while not any(isinstance(item, TimedReading) for item in stream.poll()):
                pass
            outlet.unplug()
            with pytest.raises(PortLostError):
                poll_on(stream)
        plugged = [outlet.plugged]
        with pytest.raises(PortMissingError), MeterStream(outlet.where, form, RealClock()):
            pass
        outlet.plug()
        plugged.append(outlet.plugged)
        with MeterStream(outlet.where, form, RealClock()) as stream:
            while not any(isinstance(item, TimedReading) for item in stream.poll()):
                pass

    assert [False, True] == plugged
    assert not outlet.plugged


def test_a_socket_keeps_its_port() -> None:
    """Plugged in again it listens where it did before."""
    outlet = SocketOutlet()
    outlet.plug()
    before = outlet.where
    outlet.unplug()
    outlet.plug()
    after = outlet.where
    outlet.unplug()

    assert before == after


def test_a_socket_that_was_taken_meanwhile() -> None:
    """Where another program has the port by then, that is told, and it can be tried again."""
    outlet = SocketOutlet()
    outlet.plug()
    port = int(outlet.where.rsplit(":", 1)[1])
    outlet.unplug()
    with socket.create_server(("127.0.0.1", port)):
        with pytest.raises(PortBusyError, match=f"port {port}"):
            outlet.plug()
        plugged = outlet.plugged
    outlet.plug()
    again = outlet.plugged
    outlet.unplug()

    assert [False, True] == [plugged, again]


@both
def test_plugging_twice_changes_nothing(kind: type[Outlet]) -> None:
    """What is plugged in stays, and what is not cannot be unplugged, heard or written to."""
    outlet = kind()
    outlet.unplug()
    silent = outlet.listen()
    outlet.offer(LINE)
    outlet.plug()
    where = outlet.where
    outlet.plug()
    same = outlet.where
    outlet.unplug()

    assert silent is None
    assert where == same


@needs_pty
def test_a_link_leads_to_the_device_while_it_is_there(tmp_path: Path) -> None:
    """The name stays the same, whatever the device is called; it goes with the device."""
    link = tmp_path / "bench"
    outlet = PtyOutlet(link)
    outlet.plug()
    first, where = link.readlink(), outlet.where
    there = link.exists()
    outlet.unplug()
    gone = not os.path.lexists(link)
    outlet.plug()
    again = link.exists()
    outlet.unplug()

    assert str(link) == where
    assert first.is_absolute()
    assert [True, True, True] == [there, gone, again]
    assert [] == list(tmp_path.iterdir())


@needs_pty
def test_a_link_of_a_simulator_that_was_killed_is_replaced(tmp_path: Path) -> None:
    """A link that leads nowhere is in nobody's way."""
    link = tmp_path / "bench"
    link.symlink_to(tmp_path / "gone")
    outlet = PtyOutlet(link)
    outlet.plug()
    there = link.exists()
    outlet.unplug()

    assert there


@needs_pty
@pytest.mark.parametrize("what", ["file", "folder", "link"])
def test_a_link_takes_the_place_of_nothing_else(tmp_path: Path, what: str) -> None:
    """A file, a folder or the link of another simulator stays, and no device is left open."""
    link = tmp_path / "bench"
    if what == "file":
        link.write_text("readings")
    elif what == "folder":
        link.mkdir()
    else:
        link.symlink_to(os.devnull)
    before = open_files()
    outlet = PtyOutlet(link)

    with pytest.raises(InputError, match="something of that name"):
        outlet.plug()

    assert before == open_files()
    assert link.exists()
    assert not outlet.plugged


@needs_pty
def test_a_link_in_no_folder(tmp_path: Path) -> None:
    """Where no link can be made, the reason is told."""
    with pytest.raises(InputError, match="a link cannot be made"):
        PtyOutlet(tmp_path / "nowhere" / "bench").plug()


@needs_pty
def test_a_link_that_somebody_changed_is_left_alone(tmp_path: Path) -> None:
    """On unplugging only the link of this simulator is taken away."""
    link = tmp_path / "bench"
    outlet = PtyOutlet(link)
    outlet.plug()
    link.unlink()
    link.symlink_to(os.devnull)
    outlet.unplug()

    assert Path(os.devnull) == link.readlink()


@needs_pty
def test_a_system_that_reports_no_openings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without such reports what is written is heard all the same."""
    import termios  # noqa: PLC0415 - not on every system

    monkeypatch.delattr(termios, "TIOCPKT")
    meter = Meter()
    with (
        serve(meter, outlet := PtyOutlet()),
        closing(serial.serial_for_url(outlet.where, timeout=20)) as port,
    ):
        port.write(b"read?")
        answered = read_until(port, b"READ?")

    assert answered
    assert 0 == meter.openings


@needs_pty
def test_a_system_that_refuses_to_report_openings(monkeypatch: pytest.MonkeyPatch) -> None:
    """A refusal of the system is taken as an answer too."""
    import termios  # noqa: PLC0415 - not on every system

    monkeypatch.setattr(termios, "TIOCPKT", 0x7FFF)
    outlet = PtyOutlet()
    outlet.plug()
    heard = outlet.listen()
    outlet.unplug()

    assert b"" == heard


def test_an_impossible_port_number() -> None:
    """A number that no port has is told like a port that is taken."""
    with pytest.raises(PortBusyError, match="port 70000"):
        SocketOutlet(70_000).plug()
