"""Which USB device a port is: known again elsewhere, and never mistaken for another one."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from serial.tools import list_ports

from coilmeter.sources.port_identity import (
    UsbIdentity,
    find_again,
    identities,
    identity_of,
)

KNOWN = UsbIdentity(0x1A2B, 0x0001, "A1", "1-2")
SHARED = replace(KNOWN, shared=True)
BARE = UsbIdentity(0x1A2B, 0x0001, "", "1-2")


@pytest.mark.parametrize(
    ("known", "ports", "expected"),
    [
        (None, {}, "/dev/ttyUSB0"),
        (None, {"/dev/ttyUSB0": KNOWN}, "/dev/ttyUSB0"),
        (KNOWN, {}, None),
        (KNOWN, {"/dev/ttyUSB0": KNOWN}, "/dev/ttyUSB0"),
        (KNOWN, {"/dev/ttyUSB3": KNOWN}, "/dev/ttyUSB3"),
        (KNOWN, {"/dev/ttyUSB3": UsbIdentity(0x1A2B, 1, "A1", "2-1")}, "/dev/ttyUSB3"),
        (KNOWN, {"/dev/ttyUSB0": UsbIdentity(0x1A2B, 1, "B7", "1-2")}, None),
        (KNOWN, {"/dev/ttyUSB0": UsbIdentity(0x1A2B, 2, "A1", "1-2")}, None),
        (KNOWN, {"/dev/ttyUSB0": UsbIdentity(0x9999, 1, "A1", "1-2")}, None),
        (
            KNOWN,
            {"/dev/ttyUSB0": UsbIdentity(0x1A2B, 1, "B7", "1-2"), "/dev/ttyUSB1": KNOWN},
            "/dev/ttyUSB1",
        ),
        # two of one serial number: the socket decides, or nothing does
        (
            KNOWN,
            {"/dev/ttyUSB1": UsbIdentity(0x1A2B, 1, "A1", "2-1"), "/dev/ttyUSB2": KNOWN},
            "/dev/ttyUSB2",
        ),
        (
            KNOWN,
            {
                "/dev/ttyUSB1": UsbIdentity(0x1A2B, 1, "A1", "2-1"),
                "/dev/ttyUSB2": UsbIdentity(0x1A2B, 1, "A1", "2-2"),
            },
            None,
        ),
        # the second interface of one device is another port
        (
            UsbIdentity(0x1A2B, 1, "A1", "1-2:1.0"),
            {"/dev/ttyUSB1": UsbIdentity(0x1A2B, 1, "A1", "1-2:1.1")},
            None,
        ),
        (
            UsbIdentity(0x1A2B, 1, "A1", "1-2:1.0"),
            {"/dev/ttyUSB1": UsbIdentity(0x1A2B, 1, "A1", "1-3:1.0")},
            "/dev/ttyUSB1",
        ),
        # without a serial number only the socket tells it from its like
        (BARE, {"/dev/ttyUSB1": BARE}, "/dev/ttyUSB1"),
        (BARE, {"/dev/ttyUSB0": UsbIdentity(0x1A2B, 1, "", "1-3")}, None),
        (BARE, {"/dev/ttyUSB0": KNOWN}, None),
        # with neither only the name does
        (UsbIdentity(1, 2), {"/dev/ttyUSB0": UsbIdentity(1, 2)}, "/dev/ttyUSB0"),
        (UsbIdentity(1, 2), {"/dev/ttyUSB0": UsbIdentity(1, 3)}, None),
        (UsbIdentity(1, 2), {"/dev/ttyUSB1": UsbIdentity(1, 2)}, None),
        # a serial number that others have too says nothing
        (SHARED, {"/dev/ttyUSB1": UsbIdentity(0x1A2B, 1, "A1", "2-1")}, None),
        (SHARED, {"/dev/ttyUSB1": KNOWN}, "/dev/ttyUSB1"),
    ],
)
def test_where_a_port_is_now(
    known: UsbIdentity | None, ports: dict[str, UsbIdentity], expected: str | None
) -> None:
    """By its old name, by its device under another name, or not at all."""
    assert expected == find_again("/dev/ttyUSB0", known, ports)


def test_a_name_that_is_a_link_stays_the_name(tmp_path: Path) -> None:
    """A lasting name of the system's own leads to whatever the device is called now."""
    device, link = tmp_path / "ttyUSB7", tmp_path / "meter"
    device.touch()
    link.symlink_to(device)

    assert str(link) == find_again(str(link), KNOWN, {str(device.resolve()): KNOWN})


devices = st.builds(
    UsbIdentity,
    st.integers(1, 2),
    st.integers(1, 2),
    st.sampled_from(["", "A1", "B7"]),
    st.sampled_from(["", "1-1", "1-2", "1-2:1.0", "1-2:1.1"]),
)


@given(known=devices, ports=st.dictionaries(st.sampled_from("abcd"), devices))
def test_no_other_device_is_ever_taken(
    known: UsbIdentity, ports: dict[str, UsbIdentity]
) -> None:
    """What is found is of the same maker, product and serial number."""
    found = find_again("a", known, ports)

    if found is not None:
        same = ports[found]
        assert (known.vendor, known.product, known.serial) == (
            same.vendor,
            same.product,
            same.serial,
        )
        assert found == "a" or known.serial or known.location == same.location != ""


def plugged(**changes: object) -> SimpleNamespace:
    """Make a port as the serial library lists it."""
    usual = {"device": "/dev/ttyUSB0", "vid": 1, "pid": 2, "serial_number": None}
    return SimpleNamespace(**({"location": None} | usual | changes))


def test_what_the_system_lists(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Ports of USB devices, whatever they leave out; others have no identity."""
    device, link = tmp_path / "ttyACM0", tmp_path / "meter"
    device.touch()
    link.symlink_to(device)
    real = str(device.resolve())
    listed = [
        plugged(),
        plugged(device=real, serial_number="A1", location="1-2"),
        plugged(device="/dev/ttyS0", vid=None, pid=None),
    ]
    monkeypatch.setattr(list_ports, "comports", lambda: listed)

    assert {"/dev/ttyUSB0", real} == set(identities())
    assert UsbIdentity(1, 2) == identity_of("/dev/ttyUSB0")
    assert UsbIdentity(1, 2, "A1", "1-2") == identity_of(str(link))
    assert identity_of("/dev/ttyS0") is None
    assert identity_of("socket://127.0.0.1:9") is None


def test_a_serial_number_that_two_devices_have(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seen when the port is opened, it is not relied on; two interfaces of one are no pair."""
    listed = [
        plugged(serial_number="0001", location="1-1"),
        plugged(device="/dev/ttyUSB1", serial_number="0001", location="1-2"),
        plugged(device="/dev/ttyUSB2", serial_number="A1", location="1-3:1.0"),
        plugged(device="/dev/ttyUSB3", serial_number="A1", location="1-3:1.1"),
    ]
    monkeypatch.setattr(list_ports, "comports", lambda: listed)
    found = [identity_of(f"/dev/ttyUSB{number}") for number in range(4)]

    assert [True, True, False, False] == [each.shared for each in found if each is not None]


def test_a_device_that_goes_while_it_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the listing stumbles over then is no error of this program."""

    def stumble() -> list[object]:
        raise TypeError("int() can't convert non-string with explicit base")

    monkeypatch.setattr(list_ports, "comports", stumble)

    assert {} == identities()
