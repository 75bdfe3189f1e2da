"""A bin file that is not as it should be: told by line and place, nothing of it imported."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from spares_files import HEADS, READING, changed, full_bin, read_in, set_in
from spares_helpers import counts, exported, put_heads

from coilmeter.errors import CoilmeterError, InputError, MistakesError
from coilmeter.spares.identity import new_id
from coilmeter.spares.importing import MOST_MISTAKES
from coilmeter.spares.store import Bin

MALFORMED: Final[dict[str, tuple[Callable[[dict[str, Any]], None], str]]] = {
    "no id": (lambda head: head.pop("id"), "head.id: saw nothing"),
    "id": (set_in("id", value="x"), "head.id: saw 'x'"),
    "unknown": (set_in("colour", value="red"), "head.colour: saw 'red', expected no such"),
    "time": (set_in("made", value="yesterday"), "head.made: saw 'yesterday'"),
    "no time": (lambda head: head.pop("made"), "head.made: saw nothing"),
    "name": (set_in("name", value=7), "head.name: saw 7"),
    "long": (set_in("name", value="n" * 101), "head.name: saw"),
    "reading": (set_in(*READING, "reading", value="lots"), "readings.0: saw 'lots'"),
    "no reading": (lambda head: head["sittings"][0]["readings"][0].pop("reading"), "nothing"),
    "purpose": (set_in(*READING, "purpose", value="fun"), "purpose: saw 'fun'"),
    "role": (set_in(*READING, "role", value="boss"), "role: saw 'boss'"),
    "raw": (set_in(*READING, "raw", value="xyz"), "raw: saw 'xyz'"),
    "proof": (set_in(*READING, "proof", value="sworn"), "proof: saw 'sworn'"),
    "range": (set_in(*READING, "range", value="wide"), "saw 'wide'"),
    "flex": (set_in(*READING, "flex", value="wobbly"), "saw 'wobbly'"),
    "when": (set_in(*READING, "time", value="noon"), "noon"),
    "count": (set_in(*READING, "count", value=-1), "count: saw -1"),
    "count of none": (set_in(*READING, "count", value=0), "count: saw 0"),
    "scatter": (set_in(*READING, "scatter_ohm", value=-0.5), "scatter_ohm: saw -0.5"),
    "number": (set_in("sittings", 0, "readings", 1, "number", value=0), "each number once"),
    "instead": (set_in(*READING, "instead", value="the other"), "instead: saw"),
    "nul": (set_in("name", value="a\0b"), "head.name: saw a NUL character"),
    "face": (set_in("notes", 0, "face", value="as new"), "face: saw 'as new'"),
    "yes": (set_in("notes", 0, "tape_tested", value="maybe"), "tape_tested: saw 'maybe'"),
    "status": (
        set_in("events", value=[{"id": new_id(), "time": "", "status": "sold"}]),
        "events.0.status: saw 'sold'",
    ),
    "photo": (
        set_in("photos", value=[{"id": new_id(), "name": "x", "sha256": "../../x"}]),
        "photos.0.sha256: saw '../../x'",
    ),
    "sittings": (set_in("sittings", value={}), "head.sittings: saw {}"),
    "proof of a meter": (
        set_in("sittings", 0, "proof", value=new_id()),
        "expected one that a line before has",
    ),
    "list": (set_in("sittings", 0, "readings", 0, value=[]), "readings.0: saw []"),
}


@pytest.mark.parametrize("what", MALFORMED)
def test_what_is_malformed_is_told_by_its_line(store: str, what: str) -> None:
    """With the path within the line; nothing of the file goes in, the good heads neither."""
    change, expected = MALFORMED[what]
    with full_bin(store) as shelf:
        lines = exported(shelf)
    lines = changed(lines, change)
    with Bin.empty() as empty:
        with pytest.raises(MistakesError) as caught:
            read_in(empty, lines)
        found = counts(empty)

    place = 1 + next(n for n, line in enumerate(lines) if line.startswith(b'{"head"'))
    assert f"heads.jsonl:{place}: " in caught.value.message
    assert expected in caught.value.message
    assert "nothing was imported" in caught.value.message
    assert 0 == sum(found.values())


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda _: [], "there is nothing in it"),
        (lambda _: [b"\n", b"  \n"], "there is nothing in it"),
        (lambda lines: lines[1:], "saw no schema"),
        (lambda _: [b'{"schema": "coilmeter-bin/7"}\n'], "newer coilmeter"),
        (lambda _: [b'{"schema": "else/1"}\n'], "spares export"),
        (lambda _: [b"coil,reading\n", b"1,171.3\n"], "spares add"),
        (lambda lines: lines[:-1], "the end of the file"),
        (lambda lines: [*lines[:-2], lines[-1]], "1 heads before it"),
        (lambda lines: [*lines, lines[1]], "one of head, proof and, last, end"),
        (lambda lines: [*lines[:2], lines[1], *lines[2:]], "each id once (line 2 has it)"),
        (lambda lines: [*lines[:1], b"\x00\xff\n", *lines[1:]], "one JSON object"),
        (lambda lines: [*lines[:1], b"[1]\n", *lines[1:]], "line: saw"),
        (lambda lines: [*lines[:1], b"[" * 5000 + b"\n", *lines[1:]], "line: saw"),
        (lambda lines: [*lines[:1], lines[1][:-20] + b"\n", *lines[2:]], "one JSON object"),
        (
            lambda lines: [lines[0], lines[1].replace(b'"171.3"', b'"199.9"')],
            "after the export",
        ),
        (lambda lines: [lines[0], b"x" * 64_000_001], "a line without an end"),
    ],
)
def test_a_file_that_is_none(
    change: Callable[[list[bytes]], list[bytes]], expected: str
) -> None:
    """Cut short, out of order, of something else: refused whole, with what to do."""
    with Bin.empty() as shelf:
        put_heads(shelf, *HEADS)
        lines = exported(shelf)
    with Bin.empty() as empty:
        with pytest.raises(InputError) as caught:
            read_in(empty, change(lines))
        found = counts(empty)

    assert expected in str(caught.value)
    assert 0 == sum(found.values())


def test_many_mistakes_end_the_reading() -> None:
    """A file of nothing but nonsense does not fill the memory with messages."""
    lines = [b'{"schema":"coilmeter-bin/1"}\n', *[b'{"x": 1}\n'] * (2 * MOST_MISTAKES)]
    with Bin.empty() as shelf, pytest.raises(MistakesError) as caught:
        read_in(shelf, lines)

    assert MOST_MISTAKES < len(caught.value.mistakes) < MOST_MISTAKES + 10


@given(st.data())
def test_a_damaged_file_is_refused_or_harmless(data: st.DataObject) -> None:
    """Any byte changed, anywhere: a message, or records that are still those of the file."""
    with Bin.empty() as shelf:
        put_heads(shelf, HEADS[0])
        whole = b"".join(exported(shelf))
    at = data.draw(st.integers(0, len(whole) - 1))
    damaged = whole[:at] + bytes([data.draw(st.integers(0, 255))]) + whole[at + 1 :]
    with Bin.empty() as empty:
        try:
            read_in(empty, damaged.splitlines(keepends=True))
        except CoilmeterError:
            return
        again = b"".join(exported(empty)[1:])

    assert whole.split(b"\n", 1)[1] == again
