"""Printed texts fit the terminal, broken between words only; a pipe gets what it ever got."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import os
import subprocess
from collections import Counter
from pathlib import Path
from unittest import mock

import pytest
from helpers import one_head, shipped
from hypothesis import given
from hypothesis import strategies as st
from simulated_checks import needs_pty
from tabulate import tabulate
from walk_processes import command, surroundings

from coilmeter.cli.results import columns_of
from coilmeter.report.band_rows import bands_listing
from coilmeter.report.listing import listing_text
from coilmeter.report.tables import text_chunks
from coilmeter.report.widths import NARROWEST, WIDTH, sentence, table

WORDS = st.text("abcdefgh-", min_size=1, max_size=11).filter(lambda word: set(word) != {"-"})
CELLS = st.lists(WORDS, max_size=8).map(" ".join)
GRIDS = st.integers(1, 9).flatmap(
    lambda count: st.lists(st.lists(CELLS, min_size=count, max_size=count), min_size=1)
)
COLUMNS = st.integers(NARROWEST, 130)


def words_of(text: str) -> Counter[str]:
    """Count the words of a printed table; its rules are none."""
    return Counter(word for word in text.split() if set(word) != {"-"})


@given(GRIDS, COLUMNS)
def test_any_table_fits_and_breaks_no_word(rows: list[list[str]], columns: int) -> None:
    """No line is wider than the terminal, and every word of every cell stands there whole."""
    headings = [f"h{number}" for number in range(len(rows[0]))]
    printed = table(headings, rows, columns)
    wanted = Counter(word for row in rows for cell in row for word in cell.split())

    assert max(map(len, printed.split("\n"))) <= columns
    assert Counter() == wanted - words_of(printed)


@given(GRIDS)
def test_a_table_for_no_terminal_is_as_wide_as_it_is(rows: list[list[str]]) -> None:
    """The library's own table, nothing wrapped."""
    headings = [f"h{number}" for number in range(len(rows[0]))]

    assert tabulate(rows, headings, disable_numparse=True) == table(headings, rows)


def test_a_table_that_fits_stays_as_it_is() -> None:
    """On a wide terminal there is nothing to wrap."""
    listing = bands_listing(shipped().bands.values())

    assert listing_text(listing) == listing_text(listing, columns=200)


def test_too_many_columns_become_blocks() -> None:
    """A line for each heading, where even single words do not fit side by side."""
    printed = table(["first", "other"] * 4, [["some words", ""] * 4, ["x", "y"] * 4], 40)

    assert printed.startswith("first  some words\nfirst  some words\n")
    assert "\n\nfirst  x\nother  y\n" in printed


@given(st.lists(WORDS, min_size=1), COLUMNS)
def test_any_sentence_fits_and_breaks_no_word(words: list[str], columns: int) -> None:
    """Wrapped at the terminal, and never past the width of a sentence."""
    text = " ".join(words)
    printed = sentence(text, columns)

    assert max(map(len, printed.split("\n"))) <= min(WIDTH, columns)
    assert words == printed.split()


@pytest.mark.parametrize("columns", [48, 80])
def test_the_tables_of_a_head_fit(columns: int) -> None:
    """Verdicts, budget, what to do next and what to mind."""
    text = "head,coil,reading,purpose\nA-1,1,171.0,coil\nA-1,2,OL 40 Mohm,coil\n"
    head = one_head(text, kind="two-channel-rp")
    printed = "".join(text_chunks([head], parts=True, columns=columns))
    told = " ".join(printed.split())

    assert max(map(len, printed.split("\n"))) <= columns
    assert all(
        " ".join(caution.split()) in told.replace(" - ", " ") for caution in head.cautions
    )


def test_markdown_is_never_wrapped() -> None:
    """It goes on to another program, wherever it is shown."""
    listing = bands_listing(shipped().bands.values())

    assert listing_text(listing, markdown=True) == listing_text(
        listing, markdown=True, columns=40
    )


def test_only_a_terminal_has_columns(tmp_path: Path) -> None:
    """Neither a file nor a pipe nor a closed output."""
    screen = mock.Mock(isatty=lambda: True)
    with (
        mock.patch("sys.stdout", screen),
        mock.patch("shutil.get_terminal_size", return_value=os.terminal_size((71, 24))),
    ):
        found = [columns_of(None), columns_of(tmp_path / "out.txt")]
    for output in (io.StringIO(), None):
        with mock.patch("sys.stdout", output):
            found.append(columns_of(None))

    assert [71, None, None, None] == found


def on_a_terminal(folder: Path, columns: int, *words: str) -> list[str]:
    """Run the command with its output on a terminal; give the lines it wrote."""
    import fcntl  # noqa: PLC0415 - not on every system
    import struct  # noqa: PLC0415 - as above
    import termios  # noqa: PLC0415 - as above

    variables = surroundings(folder)
    variables.pop("COLUMNS", None)
    ours, theirs = os.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    with subprocess.Popen(
        command(*words),
        stdin=subprocess.DEVNULL,
        stdout=theirs,
        stderr=theirs,
        env=variables,
        cwd=folder,
    ):
        os.close(theirs)
        data = b""
        try:
            while got := os.read(ours, 65536):
                data += got
        except OSError:
            pass  # so it ends on some systems
        os.close(ours)
    return data.decode().replace("\r\n", "\n").split("\n")


@needs_pty
@pytest.mark.parametrize(
    "words",
    [
        ("meter", "formats"),
        ("bands", "list"),
        ("judge", "a.csv"),
        ("chain", "--fault", "playback", "--track", "3", "--saw", "look=pass"),
        ("chain", "--how", "look"),
        ("chain", "--calc", "?"),
    ],
)
def test_commands_fit_a_terminal_of_80(tmp_path: Path, words: tuple[str, ...]) -> None:
    """What each wrote is no wider than the terminal, and has the words that a pipe gets."""
    lines = "head,kind,coil,reading\nA,two-channel-rp,1,171.0\nA,two-channel-rp,2,OL 40 Mohm\n"
    (tmp_path / "a.csv").write_text(lines, encoding="utf-8")
    piped = subprocess.run(
        command(*words),
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=surroundings(tmp_path),
        check=False,
    ).stdout
    shown = on_a_terminal(tmp_path, 80, *words)

    assert max(map(len, shown)) <= 80
    assert words_of(piped) - Counter(["|"] * 99) == words_of("\n".join(shown)) - Counter(
        ["|"] * 99
    )


@needs_pty
def test_an_error_fits_a_terminal_of_80(tmp_path: Path) -> None:
    """Wrapped between words, with the indent of its lines kept, and no name cut in two."""
    lines = "head,kind,coil,reading\nA,four-channel-rp-comon,1,171.0\nA,,1,17x.3 ohms or so\n"
    (tmp_path / "a.csv").write_text(lines, encoding="utf-8")
    shown = on_a_terminal(tmp_path, 80, "judge", "a.csv")

    assert max(map(len, shown)) <= 80
    assert "four-channel-rp-comon" in " ".join(shown).replace("'", " ").split()
    assert any(line.startswith("  next: ") for line in shown)
