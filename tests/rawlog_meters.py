"""Meters on loopback sockets for the tests of logging, and looks into the logs they leave."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from walk_processes import LONGEST_S, eventually

from coilmeter.sources.rawlog import Kind
from coilmeter.sources.rawlog_reader import Happened, LogReader
from coilmeter.sources.rawlog_replay import Replay
from coilmeter.wire import find

PLAIN = find("plain")


DIGITS14 = find("digits14")


Client = socket.socket


@contextmanager
def serving(work: Callable[[Client], None], log: Path) -> Iterator[str]:
    """Serve one client on a loopback socket with a thread; give the address.

    Nothing is sent until the log is there: what came before the port was open is dropped.
    """
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def take() -> None:
            client, _ = listener.accept()
            with client, suppress(OSError):
                with suppress(TimeoutError):
                    eventually(lambda: log.exists() or gone(client), "a log")
                work(client)

        thread = threading.Thread(target=take)
        thread.start()
        yield f"socket://127.0.0.1:{listener.getsockname()[1]}"
        thread.join(LONGEST_S)
    assert not thread.is_alive()


def gone(client: Client) -> bool:
    """Whether a client has hung up."""
    client.settimeout(0.01)
    try:
        return not client.recv(99)
    except TimeoutError:
        return False
    finally:
        client.settimeout(None)


def sends(*pieces: bytes, then: float = 0.0) -> Callable[[Client], None]:
    """Make a meter that sends pieces, a moment between them, then waits and goes away."""

    def work(client: Client) -> None:
        for piece in pieces:
            client.sendall(piece)
            time.sleep(0.03)
        end = time.monotonic() + then
        while time.monotonic() < end:
            client.settimeout(0.05)
            with suppress(TimeoutError):
                if not client.recv(99):
                    return

    return work


def happenings(path: Path) -> list[tuple[Kind, str]]:
    """Tell what the log says beside readings."""
    with LogReader(path) as reader:
        return [
            (event.kind, event.text) for event in reader.events() if isinstance(event, Happened)
        ]


def tally(path: Path) -> Any:
    """Replay a log and give its account."""
    replay = Replay([path])
    for _ in replay.events():
        pass
    return replay.tally


def stream_of(path: Path) -> bytes:
    """Bytes of the meter that are in a log."""
    with LogReader(path) as reader:
        return b"".join(getattr(event, "data", b"") for event in reader.events())


LINES = [f"{171 + number / 10:.1f} ohm auto\r\n".encode() for number in range(8)]
