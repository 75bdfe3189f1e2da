"""Ports that do not open: each reason is its own error, with what to do next."""

from __future__ import annotations

import errno
import os
import re
import socket
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
import serial

from coilmeter.errors import (
    CoilmeterError,
    InputError,
    PortBusyError,
    PortDeniedError,
    PortMissingError,
)
from coilmeter.sources import port_errors
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import MeterStream
from coilmeter.wire import find

DIGITS14 = find("digits14")

pseudo_terminals = pytest.mark.skipif(
    not hasattr(os, "openpty"), reason="this system has no pseudo-terminals"
)


@pytest.mark.parametrize("name", ["missing", "missing/ttyUSB0"])
def test_a_missing_device_is_named(name: str, tmp_path: Path) -> None:
    """A device that is not there is its own error, with the ports that are."""
    url = str(tmp_path / name)

    with pytest.raises(PortMissingError, match="there is no such port") as caught:
        MeterStream(url, DIGITS14, RealClock()).__enter__()

    assert url in str(caught.value)
    assert caught.value.exit_code == 3
    assert isinstance(caught.value.__cause__, serial.SerialException)


@pytest.mark.parametrize(
    ("ports", "expected"),
    [
        ([], "no serial port is plugged in"),
        (["/dev/ttyUSB1", "/dev/ttyUSB0"], "are: /dev/ttyUSB0, /dev/ttyUSB1."),
    ],
)
def test_the_hint_lists_the_ports_that_are_plugged_in(
    ports: list[str], expected: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Which ports there are is the next thing to know; the list is injected here."""
    found = [SimpleNamespace(device=port) for port in ports]
    monkeypatch.setattr("serial.tools.list_ports.comports", lambda: found)

    with pytest.raises(PortMissingError) as caught:
        MeterStream(str(tmp_path / "missing"), DIGITS14, RealClock()).__enter__()

    assert expected in caught.value.hint


def test_a_refused_socket_is_a_missing_port() -> None:
    """Nobody listens at an address that was just given back."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        url = f"socket://127.0.0.1:{listener.getsockname()[1]}"

    with pytest.raises(PortMissingError, match="nobody answers there") as caught:
        MeterStream(url, DIGITS14, RealClock()).__enter__()

    assert url in str(caught.value)


@pseudo_terminals
def test_a_port_that_is_open_already_is_busy() -> None:
    """A second opening is refused while the first lasts, and succeeds after it."""
    meter, ours = os.openpty()
    name = os.ttyname(ours)
    with (
        MeterStream(name, DIGITS14, RealClock()),
        pytest.raises(PortBusyError, match="another program holds the port") as caught,
    ):
        MeterStream(name, DIGITS14, RealClock()).__enter__()
    with MeterStream(name, DIGITS14, RealClock()) as again:
        reopened = again.poll()
    os.close(ours)
    os.close(meter)

    assert name in str(caught.value)
    assert reopened == []


@pytest.mark.parametrize(
    ("message", "expected"),
    [
        ("could not open port 'COM9': PermissionError(13, 'Access', None, 5)", PortBusyError),
        ("could not open port 'COM9': FileNotFoundError(2, 'No', None, 2)", PortMissingError),
        ("Cannot configure port, something went wrong.", InputError),
    ],
)
def test_errors_without_a_number_are_told_by_their_text(
    message: str, expected: type[CoilmeterError]
) -> None:
    """On Windows pyserial gives the system's answer as text only (from its source)."""
    error = port_errors.why_not_opened("COM9", serial.SerialException(message))

    assert type(error) is expected


def denied(monkeypatch: pytest.MonkeyPatch, url: str) -> PortDeniedError:
    """Open a port to which the system denies access; injected, since root is never denied."""

    def refuse(*_: object, **__: object) -> None:
        raise serial.SerialException(errno.EACCES, f"could not open port {url}")

    monkeypatch.setattr(serial, "serial_for_url", refuse)
    with pytest.raises(PortDeniedError, match="you may not open it") as caught:
        MeterStream(url, DIGITS14, RealClock()).__enter__()
    return caught.value


@pytest.mark.skipif(sys.platform == "win32", reason="this system has no groups")
@pytest.mark.parametrize(
    ("group_id", "mode", "expected"),
    [
        (20, 0o660, "(sudo usermod -aG dialout $USER)"),
        (0, 0o660, "ask for the right"),
        (20, 0o600, "ask for the right"),
        (99_999_999, 0o660, "ask for the right"),
    ],
)
def test_a_denied_port_names_the_group_to_join(
    group_id: int, mode: int, expected: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The group is told where it has the right; nobody is sent to the administrator's."""
    names = {0: "root", 20: "dialout"}
    device = SimpleNamespace(st_gid=group_id, st_mode=0o020000 | mode)
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setattr("grp.getgrgid", lambda number: SimpleNamespace(gr_name=names[number]))
    monkeypatch.setattr(Path, "stat", lambda _, **__: device)

    error = denied(monkeypatch, str(tmp_path / "ttyUSB0"))

    assert expected in error.hint


def test_a_denied_port_without_groups_says_to_ask(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Where a system has no groups, or the device cannot be looked at, no group is named."""
    url = str(tmp_path / "missing")
    looked_at = denied(monkeypatch, url)
    monkeypatch.setattr(port_errors, "grp", None)
    without_groups = denied(monkeypatch, url)

    assert "ask for the right" in looked_at.hint
    assert "ask for the right" in without_groups.hint


@pytest.mark.parametrize(
    ("url", "expected"),
    [
        ("", "empty port name"),
        ("   ", "empty port name"),
        ("socket://", "expected socket://host:port"),
        ("socket://127.0.0.1", "expected socket://host:port"),
        ("socket://127.0.0.1:0", "expected socket://host:port"),
        ("socket://127.0.0.1:99999", "expected socket://host:port"),
        ("socket://127.0.0.1:meter", "expected socket://host:port"),
        ("socket://[::1:5025", "expected socket://host:port"),
        ("carrier-pigeon://loft", "'carrier-pigeon' not known"),
        ("socket://127.0.0.1:5025?logging=loud", "expected socket://host:port"),
        ("loop://?what=this", "cannot be opened as a port"),
        ("/dev/tty\0", "embedded null byte"),
    ],
)
def test_a_name_that_is_no_port_is_bad_input(url: str, expected: str) -> None:
    """What cannot be a port is refused with the forms that are understood."""
    with pytest.raises(InputError, match=re.escape(expected)) as caught:
        MeterStream(url, DIGITS14, RealClock()).__enter__()

    assert caught.value.exit_code == 2
    assert "expected" in str(caught.value)


@pseudo_terminals
def test_a_file_or_directory_is_no_port(tmp_path: Path) -> None:
    """Something that exists and is no serial port is bad input, not a missing port."""
    file = tmp_path / "readings.csv"
    file.write_text("head\n", encoding="utf-8")

    for path in (file, tmp_path):
        with pytest.raises(InputError, match="cannot be opened as a port"):
            MeterStream(str(path), DIGITS14, RealClock()).__enter__()


@pytest.mark.parametrize("baud", [0, -9600, 4_000_001])
def test_a_rate_that_no_port_has_is_bad_input(baud: int) -> None:
    """The rate is refused before the port is touched."""
    with pytest.raises(InputError, match=f"saw {baud} baud"):
        MeterStream("loop://", DIGITS14, RealClock(), baud=baud).__enter__()
