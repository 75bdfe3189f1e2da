"""The strip of the last minute, and the line of progress, on terminals and in pipes."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import math
import sys

import pytest
from rawlog_files import strip_of

from coilmeter.cli.logging_screen import (
    LastingConsole,
    PlainView,
    Progress,
    TerminalView,
    make_view,
)
from coilmeter.cli.logging_strip import Strip
from coilmeter.cli.logging_texts import number_of, parse_size, parse_span, span_text
from coilmeter.errors import InputError

PROGRESS = Progress(83.4, 1234, 2, 17_276, 9.96, "212.3 ohm")
LINE = "1:23  1234 readings  10.0/s  2 rejected  17276 bytes  212.3 ohm"


def test_the_line_of_progress() -> None:
    """Time, readings, rate, what was rejected, bytes, and the display, made harmless."""
    odd = Progress(1.0, 1, 0, 1, 1.0, "\x1b[31mred")

    assert LINE == PROGRESS.line()
    assert "1.0 s  1 reading  1.0/s  0 rejected  1 byte  ?[31mred" == odd.line()


def test_lines_in_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    """One after a second, then one every ten, whatever comes in between."""
    with PlainView() as view:
        for tenth in range(400):
            view.show(Progress(seconds=tenth / 10), Strip(), news=True)
        view.say("the end")
    lines = capsys.readouterr().err.splitlines()

    assert ["1.0 s", "10.0 s", "20.0 s", "30.0 s", "the end"] == [
        line.partition("  ")[0] for line in lines
    ]


def terminal(width: int = 80, **options: object) -> tuple[TerminalView, io.StringIO]:
    """Make a view on a terminal that can be read."""
    file = io.StringIO()
    console = LastingConsole(file=file, force_terminal=True, width=width, height=24, **options)  # type: ignore[arg-type]
    return TerminalView(console), file


def test_drawn_in_place_on_a_terminal() -> None:
    """Strip and line at once with news, once a second without, and never twice at once."""
    view, file = terminal()
    strip = strip_of(171.0, 172.0)
    drawn = []
    with view:
        for seconds, news in (
            (1.0, True),
            (1.01, True),
            (1.2, False),
            (1.5, False),
            (2.6, False),
        ):
            before = file.getvalue()
            view.show(Progress(seconds, 2, 0, 28, 8.0, "172.0 ohm"), strip, news=news)
            drawn.append(file.getvalue() != before)
        view.say("the log goes on [in] :smile: b.rawlog")

    # The news of 1.01 waits until a moment later.
    assert [True, False, True, False, True] == drawn
    assert "2 readings  8.0/s  0 rejected  28 bytes  172.0 ohm" in file.getvalue()
    assert "172 ohm" in file.getvalue()
    assert "█" in file.getvalue()
    assert "the log goes on [in] :smile: b.rawlog" in file.getvalue()


def test_a_terminal_without_block_characters() -> None:
    """Where the encoding has none, ASCII is drawn."""
    raw = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    console = LastingConsole(file=raw, force_terminal=True, width=80)
    view = TerminalView(console)

    assert not view._blocks
    assert terminal()[0]._blocks


class Gone(io.StringIO):
    """A screen that has gone away."""

    def __init__(self, error: OSError) -> None:
        super().__init__()
        self._error = error

    def write(self, _: str) -> int:
        """Fail."""
        raise self._error

    def flush(self) -> None:
        """Fail."""
        raise self._error


@pytest.mark.parametrize("error", [BrokenPipeError(), OSError(5, "Input/output error")])
def test_a_screen_that_is_gone_ends_nothing(
    monkeypatch: pytest.MonkeyPatch, error: OSError
) -> None:
    """The log is what counts: what cannot be shown is not shown."""
    monkeypatch.setattr(sys, "stderr", Gone(error))
    seen = []
    console = LastingConsole(file=Gone(error), force_terminal=True)
    for view in (PlainView(), TerminalView(console)):
        with view:
            view.show(Progress(seconds=5.0), Strip(), news=True)
            view.say("the log goes on")
            seen.append(view)

    assert 2 == len(seen)


def test_the_view_fits_where_it_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    """In place on a terminal, lines elsewhere."""

    class Tty(io.StringIO):
        """A terminal."""

        def isatty(self) -> bool:
            """Tell that it is one."""
            return True

    plain = make_view()
    monkeypatch.setattr(sys, "stderr", Tty())

    assert isinstance(plain, PlainView)
    assert isinstance(make_view(), TerminalView)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90s", 90.0),
        ("10m", 600.0),
        ("10min", 600.0),
        ("1.5 h", 5400.0),
        ("1h30m", 5400.0),
        ("1h 30m 5s", 5405.0),
        ("2d", 172_800.0),
        (" 0.5s ", 0.5),
    ],
)
def test_spans_of_time(text: str, seconds: float) -> None:
    """As a person writes them; m is minutes."""
    assert seconds == parse_span("--for", text)


@pytest.mark.parametrize(
    "text", ["", "10", "0s", "-5s", "10x", "1e3s", "inf", "400d", "s", "5 s ago", "٣s", "1,5h"]
)
def test_spans_that_are_none(text: str) -> None:
    """Refused with what was seen and what is expected."""
    with pytest.raises(InputError, match=r"--for: saw '.*expected a span of time such as 90s"):
        parse_span("--for", text)


@pytest.mark.parametrize(
    ("text", "size"), [("500kB", 500_000), ("10MB", 10_000_000), ("1.5 GB", 1_500_000_000)]
)
def test_sizes(text: str, size: int) -> None:
    """Powers of a thousand, as disks have them."""
    assert size == parse_size("--rotate", text, 4096)


@pytest.mark.parametrize("text", ["", "10", "10 MiB", "10mb", "0MB", "4kB", "-1MB", "MB"])
def test_sizes_that_are_none(text: str) -> None:
    """Refused with what was seen and what is expected."""
    with pytest.raises(InputError, match=r"--rotate: saw .* expected a size such as 500kB"):
        parse_size("--rotate", text, 4096)


def test_words_for_times_and_counts() -> None:
    """Short, and right in the singular."""
    assert ["0.0 s", "59.9 s", "1:00", "59:59", "1:00:00", "27:46:40"] == [
        span_text(seconds) for seconds in (0.0, 59.94, 60.0, 3599.9, 3600.0, 1e5)
    ]
    assert ["0 readings", "1 reading", "2 readings"] == [
        number_of(count, "reading") for count in range(3)
    ]
    assert "2 dies" == number_of(2, "die", "dies")
    assert math.isfinite(parse_span("--for", "1s"))
