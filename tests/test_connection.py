"""How a meter is connected: what the options say together, and what is said of it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import functools
import io
import math
import shlex
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

import pytest
from cables import GONE, Cable, frame
from helpers import cli
from test_port_asking import serving
from walk_processes import Process

from coilmeter.cli import connection
from coilmeter.cli.connection import (
    UNATTENDED_WAIT_S,
    chosen_dialogue,
    chosen_lines,
    chosen_wait,
)
from coilmeter.cli.port_words import afterwards, cautions_of
from coilmeter.errors import InputError
from coilmeter.sources import port as port_module
from coilmeter.sources.clock import RealClock
from coilmeter.sources.port import MeterStream
from coilmeter.sources.sheet import read_sheet
from coilmeter.wire import find
from coilmeter.wire.contract import Display
from coilmeter.wire.responder import Responder
from coilmeter.wire.scpi import FORMAT as SCPI

DIGITS14 = find("digits14")
PLAIN = find("plain")


@pytest.mark.parametrize(
    ("dtr", "rts", "expected"),
    [
        (None, None, None),
        (True, None, (True, False)),
        (False, None, (False, False)),
        (None, True, (True, True)),
        (False, True, (False, True)),
    ],
)
def test_control_lines_by_name(
    dtr: bool | None,  # noqa: FBT001 - by the names of the parameters
    rts: bool | None,  # noqa: FBT001 - as above
    expected: tuple[bool, bool] | None,
) -> None:
    """The one that is not named is as the format has it: here DTR on and RTS off."""
    assert expected == chosen_lines(DIGITS14, "/dev/ttyUSB0", dtr=dtr, rts=rts)


def test_a_network_connection_has_no_control_lines() -> None:
    """They would be passed over without a word."""
    with pytest.raises(InputError, match="a network connection has no control lines"):
        chosen_lines(DIGITS14, "socket://bench:4001", dtr=True, rts=None)


@contextmanager
def keyboard(*, present: bool) -> Iterator[None]:
    """Have a keyboard, or none."""
    stream = io.StringIO()
    with (
        mock.patch.object(stream, "isatty", return_value=present),
        mock.patch.object(sys, "stdin", stream),
    ):
        yield


@pytest.mark.parametrize(
    ("text", "with_keyboard", "without"),
    [
        ("", math.inf, UNATTENDED_WAIT_S),
        ("ever", math.inf, math.inf),
        (" Ever ", math.inf, math.inf),
        ("0", 0.0, 0.0),
        ("0s", 0.0, 0.0),
        ("90s", 90.0, 90.0),
        ("1h30m", 5400.0, 5400.0),
    ],
)
def test_how_long_is_waited(text: str, with_keyboard: float, without: float) -> None:
    """For ever where someone can press a key, and not for ever where nobody can."""
    with keyboard(present=True):
        attended = chosen_wait(text)
    with keyboard(present=False):
        unattended = chosen_wait(text)

    assert (with_keyboard, without) == (attended, unattended)


@pytest.mark.parametrize("text", ["soon", "-1s", "10 bananas", "inf"])
def test_what_is_no_time_to_wait(text: str) -> None:
    """Refused with what was expected."""
    with pytest.raises(InputError, match="--wait: saw"):
        chosen_wait(text)


@pytest.mark.parametrize(
    ("lead", "four_wire_meter", "four"),
    [
        ("", False, False),
        ("", True, True),
        ("four-wire", False, True),
        (" 4-Wire ", False, True),
        ("0.2 ohm", True, False),
    ],
)
def test_the_leads_and_what_is_asked_agree(
    lead: str,
    four_wire_meter: bool,  # noqa: FBT001 - by the names of the parameters
    four: bool,  # noqa: FBT001 - as above
) -> None:
    """Leads said to be out of the reading are out of it only where four wires are asked for."""
    chosen = chosen_dialogue(SCPI, lead, four_wire_meter=four_wire_meter)

    assert (SCPI.four_wire if four else None) == chosen
    assert chosen_dialogue(PLAIN, lead, four_wire_meter=four_wire_meter) is None
    assert chosen_dialogue(find("prompt"), lead, four_wire_meter=four_wire_meter) is None


def test_a_null_that_the_set_up_takes_off() -> None:
    """The meter is reset first: leads said to be nulled would be in the reading after all."""
    with pytest.raises(InputError, match="the meter is reset before it is asked"):
        chosen_dialogue(SCPI, "nulled", four_wire_meter=False)
    assert chosen_dialogue(find("prompt"), "nulled", four_wire_meter=False) is None


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("--four-wire", "--four-wire: what is typed cannot be asked for four wires"),
        (
            "--port x --format plain --four-wire",
            "a meter of format plain cannot be asked for four wires",
        ),
        (
            "--port x --format prompt --four-wire",
            "a meter of format prompt cannot be asked for four wires",
        ),
        (
            "--port x --format scpi --four-wire --lead 0.2",
            "both --four-wire and --lead 0.2",
        ),
        ("--wait 10s", "--wait without --port"),
        ("--no-dtr", "--dtr without --port"),
        ("--rts", "--rts without --port"),
        ("--baud 9600", "--baud without --port"),
        (
            "--port socket://127.0.0.1:9 --format plain --rts",
            "a network connection has no control lines",
        ),
        ("--port x --format plain --wait soon", "--wait: saw 'soon'"),
        ("--port x --format scpi --lead nulled", "its null is gone then"),
    ],
)
def test_options_that_do_not_fit_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str, message: str
) -> None:
    """Said before anything is opened or written; exit 2."""
    monkeypatch.chdir(tmp_path)
    ran = cli("check", "--coils", "1", *shlex.split(words))

    assert 2 == ran.code
    assert message in ran.err
    assert "  next: " in ran.err or "--wait: saw" in ran.err
    assert [] == list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("more", "setup"),
    [("--four-wire", "CONF:FRES"), ("--lead four-wire", "CONF:FRES"), ("", "CONF:RES")],
)
def test_four_wires_are_asked_for(tmp_path: Path, more: str, setup: str) -> None:
    """Over a real socket: what is said to the meter, the lead null left out, and the record."""
    shown = [Display(0.0, 10e3, 40e6, overload=True)] * 30
    meter = Responder(SCPI, lambda: shown.pop() if shown else Display(171.3, 0.1, 400.0))

    def receive(data: bytes) -> bytes:
        time.sleep(0.05)
        return meter.receive(data)

    with serving(receive) as url:
        line = f"check --coils 1 --port {url} --format scpi {more}"
        process = Process(tmp_path, *line.split())
        process.wait_for("taken  coil 1" if more else "contact")
        process.interrupt()
        ran = process.end()
    leads = [row.lead for row in read_sheet(tmp_path / "head.csv").rows] if more else []

    assert {setup} == {line for line in meter.heard if line.startswith("CONF:")}
    assert (not more) == ("] leads: " in ran.err)
    assert (["four-wire"] if more else []) == leads


def test_what_looks_like_a_format_is_said() -> None:
    """Once, at the start: which bytes would pass for it, and that a person chose."""
    (told,) = cautions_of(find("scpi"))
    unverified, lookalikes = cautions_of(find("block14"))

    assert told.startswith(
        "! scpi was chosen by you; what looks like it cannot be told from it:"
    )
    assert "\n  - prompt: its numbers without a unit read as ohms here" in told
    assert "the format block14 is not verified" in unverified
    assert lookalikes.startswith("! block14 was chosen by you")
    assert [] == cautions_of(PLAIN)


def test_lookalikes_are_said_by_check_and_by_log(tmp_path: Path) -> None:
    """Both say it before the port is opened."""
    port = ["--port", "socket://127.0.0.1:9", "--format", "block11"]
    check = cli("check", "--coils", "1", "--keep", str(tmp_path / "a.csv"), *port)
    log = cli("log", "--out", str(tmp_path / "a.rawlog"), *port)

    for ran in (check, log):
        assert 3 == ran.code
        assert 1 == ran.err.count("! block11 was chosen by you; what looks like it")
        assert "12345 in ohms reads as -2.345 kohm here" in ran.err


def test_what_is_said_afterwards() -> None:
    """Which control lines made it talk, as options; and what was left out."""
    meter = MeterStream("loop://", DIGITS14, RealClock())
    nothing = afterwards(meter)
    meter.found_lines = (False, True)
    meter.asides = 1
    found = afterwards(meter)
    meter.found_lines = (True, False)
    meter.asides = 7
    other = afterwards(meter)

    assert [] == nothing
    assert [
        "the meter talks with DTR off and RTS on: give --no-dtr --rts, and it does so at once.",
        "1 reading of other displays than the main one: left out.",
    ] == found
    assert "give --dtr --no-rts" in other[0]
    assert "7 readings of other displays" in other[1]


def test_lines_that_were_found_are_said_at_the_end_of_a_check(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However it ends: the next one need not try them again."""
    cable = Cable()
    monkeypatch.setattr(port_module, "Link", cable.open)
    hasty = functools.partial(MeterStream, silent_after=0.4)
    monkeypatch.setattr(connection, "MeterStream", hasty)
    whole = cable.set_lines

    def set_lines(lines: tuple[bool, bool]) -> None:
        whole(lines)
        cable.arriving += [frame(171.3), GONE]

    monkeypatch.setattr(cable, "set_lines", set_lines)
    line = f"check --coils 1 --wait 0s --keep {tmp_path / 'a.csv'} --port x --format digits14"
    ran = cli(*shlex.split(line))

    assert 3 == ran.code
    assert 1 == ran.err.count("the meter talks with DTR off and RTS on: give --no-dtr --rts")
