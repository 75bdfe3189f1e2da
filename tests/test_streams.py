"""Standard streams that are closed, full, or read by nobody: messages and exit codes stay."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import os
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Final

import pytest
from walk_processes import LONGEST_S, LineMeter, surroundings

from coilmeter.cli.saying import ask
from coilmeter.cli.streams import NoOutput, Talk, standard_streams
from coilmeter.errors import StoreError

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the words of a POSIX shell")
full_device = pytest.mark.skipif(
    not Path("/dev/full").exists(), reason="no such device on this system"
)

FAULTY: Final = "coil,reading\n1,171.3\n2,OL\n"


class Shell:
    """A shell in a folder with readings, in which the tool is run.

    Attributes
    ----------
    codes
        What each command that was told to remember its exit code ended with.

    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        (folder / "head.csv").write_text(FAULTY, encoding="utf-8")

    def run(self, words: str) -> tuple[int, str]:
        """Run the tool with redirections; its exit code, and all that was seen of it."""
        line = f"{sys.executable} -m coilmeter {words}"
        done = subprocess.run(  # noqa: S602 - the redirections are what is tested
            f"{{ {line}; echo $? > code; }}",
            shell=True,
            cwd=self._folder,
            env=surroundings(self._folder) | {"COILMETER_DATA": str(self._folder / "data")},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=LONGEST_S,
            check=False,
        )
        code = int((self._folder / "code").read_text())
        return code, done.stdout + done.stderr

    def piped(self, before: str, words: str, after: str) -> int:
        """Run the tool within a pipe; its exit code."""
        tool = f"{sys.executable} -m coilmeter {words}"
        subprocess.run(  # noqa: S602 - the pipe is what is tested
            f"{before} ( {tool}; echo $? > code ) {after}",
            shell=True,
            cwd=self._folder,
            env=surroundings(self._folder) | {"COILMETER_DATA": str(self._folder / "data")},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=LONGEST_S,
            check=False,
        )
        return int((self._folder / "code").read_text())


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    """Open a shell."""
    return Shell(tmp_path)


@full_device
@pytest.mark.parametrize("words", ["--version", "--help", "judge --help", "meter --help"])
def test_help_and_version_on_a_full_disk(shell: Shell, words: str) -> None:
    """They are results like any other: told in words, with the code of a full disk."""
    code, seen = shell.run(f"{words} > /dev/full")

    assert 4 == code
    assert "standard output cannot be written (No space left on device)" in seen
    assert "Traceback" not in seen


@full_device
@pytest.mark.parametrize("into", ["2> /dev/full", "2>&-"])
@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("judge nix.csv", 2),
        ("judge --no-such-option", 2),
        ("judge head.csv", 1),
        ("judge head.csv --out no/folder/out.txt", 4),
        ("demo", 0),
    ],
)
def test_what_cannot_be_said_changes_no_code(
    shell: Shell, words: str, expected: int, into: str
) -> None:
    """With standard error full, or closed."""
    code, seen = shell.run(f"{words} {into}")

    assert expected == code
    assert "Traceback" not in seen


LIVE: Final = (
    "check --coils 1 --lead nulled --no-bin --keep k.csv",
    "pins --pins 2 --no-case --lead nulled --keep p.csv",
    "flex --for 0",
    "log --for 1s --out k.rawlog",
    "meter watch --count 2",
    "meter prove --meter handheld-4000 --resistor '220 ohm 1%'",
    "impedance --coils 1 --resistor '1 kohm +/- 1 %' --frequency '1 kHz' --keep v.csv",
)
"""Each that listens to a meter."""


@pytest.mark.parametrize("closed", ["<&-", "2>&-", ">&-", "<&- >&- 2>&-"])
@pytest.mark.parametrize("words", LIVE, ids=[words.split(" -")[0] for words in LIVE])
def test_a_live_command_with_streams_closed(shell: Shell, words: str, closed: str) -> None:
    """A service and a launcher without a window begin so: no fault of the program's own.

    Those that would wait for another coil are told to end after a while.
    """
    with LineMeter("171.3 ohm").serving() as meter:
        port = f"--port {meter.url} --format plain --wait 1s"
        code, seen = shell.run(f"{words} {port} {closed} & sleep 2; kill -s TERM $!; wait $!")

    assert code in {0, 1, 4, 143}
    assert "fault of this program" not in seen
    assert "Traceback" not in seen


@pytest.mark.parametrize(
    ("words", "expected", "unseen"),
    [
        ("judge nix.csv", 2, 2),
        ("judge head.csv", 1, 4),
        ("demo", 0, 4),
        ("bands list", 0, 4),
        ("chain --fault playback", 1, 1),
        ("--version", 0, 4),
    ],
)
def test_other_commands_with_all_streams_closed(
    shell: Shell, words: str, expected: int, unseen: int
) -> None:
    """Where there are results that nobody can have, that is the code."""
    code, _ = shell.run(f"{words} <&- 2>&- > out.txt")
    closed, _ = shell.run(f"{words} <&- 2>&- >&-")

    assert expected == code
    assert unseen == closed


def test_no_file_gets_the_number_of_a_closed_stream(shell: Shell, tmp_path: Path) -> None:
    """What the system or a library writes to standard error is never in a readings file."""
    probe = (
        "import os, sys; from coilmeter.cli.streams import standard_streams\n"
        "with standard_streams():\n"
        "    file = open('r.csv', 'w'); number = file.fileno()\n"
        "open('n', 'w').write(str(number))\n"
    )
    (tmp_path / "probe.py").write_text(probe, encoding="utf-8")
    subprocess.run(  # noqa: S602 - the redirections are what is tested
        f"{sys.executable} probe.py <&- >&- 2>&-",
        shell=True,
        cwd=tmp_path,
        env=surroundings(tmp_path),
        timeout=LONGEST_S,
        check=True,
    )

    assert isinstance(shell, Shell)
    assert int((tmp_path / "n").read_text()) > 2


def test_a_reader_of_the_talk_that_goes_away(shell: Shell, tmp_path: Path) -> None:
    """Before anything is judged: not the code that all is sound, and nothing is typed blind."""
    code = shell.piped(
        "yes 212 |", "check --coils 4 --head q --no-bin --keep q.csv", "2>&1 | head -1"
    )

    assert 1 == code
    assert (
        not (tmp_path / "q.csv").exists()
        or len((tmp_path / "q.csv").read_text().splitlines()) < 100
    )


@pytest.mark.parametrize("reader", ["| true", "2>&1 | true"])
@pytest.mark.parametrize(
    ("words", "expected"),
    [("judge head.csv", 1), ("judge head.csv --as json", 1), ("judge nix.csv", 2)],
)
def test_a_reader_of_results_that_goes_away(
    shell: Shell, words: str, expected: int, reader: str
) -> None:
    """The exit code is the one of all results, seen or not."""
    code = shell.piped("", words, reader)

    assert expected == code


def test_results_behind_a_reader_that_goes_away(shell: Shell, tmp_path: Path) -> None:
    """The faulty head comes long after the reader has gone, and still decides."""
    sound = "".join(f"A{number},1,171.3\n" for number in range(3000))
    (tmp_path / "tray.csv").write_text(f"head,coil,reading\n{sound}", encoding="utf-8")
    code = shell.piped("", "judge tray.csv", "| head -1")

    assert 1 == code


def test_a_watch_ends_with_its_reader(shell: Shell) -> None:
    """Who has seen two readings and goes has seen readings: 0, and no waiting."""
    with LineMeter("171.3 ohm").serving() as meter:
        code = shell.piped(
            "", f"meter watch --format plain --port {meter.url} --for 30s", "| head -2"
        )

    assert 0 == code


class Failing(io.StringIO):
    """A stream that takes nothing."""

    def __init__(self, error: OSError) -> None:
        super().__init__()
        self.error = error

    def write(self, _: str) -> int:
        """Fail."""
        raise self.error

    def flush(self) -> None:
        """Fail."""
        raise self.error


@pytest.mark.parametrize(
    ("error", "gone"), [(BrokenPipeError(), True), (OSError(28, "No space left"), False)]
)
def test_talk_is_dropped(error: OSError, *, gone: bool) -> None:
    """Only a reader that has gone is known to see no question any more."""
    talk = Talk(Failing(error))
    talk.writelines(["a", "b"])
    talk.flush()
    talk.let_go()

    assert 3 == talk.write("abc")
    assert gone is talk.nobody_reads


def test_nobody_answers_what_nobody_sees(monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer could be to another question."""
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"212\n")))
    monkeypatch.setattr(sys, "stderr", Talk(Failing(BrokenPipeError())))

    assert ask("reading> ") is None


def test_the_streams_are_given_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever calls the command line from a program finds its own streams again."""
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    with standard_streams() as streams:
        inside = (
            sys.stdin.read(),
            sys.stdout.isatty(),
            sys.stderr.isatty(),
            sys.stderr.write("x"),
        )
        with pytest.raises(StoreError, match="standard output is closed"):
            sys.stdout.write("x")
        streams.hand_over()

    assert ("", False, False, 1) == inside
    assert isinstance(streams.out, NoOutput)
    assert (None, None, None) == (sys.stdin, sys.stdout, sys.stderr)


def test_results_that_cannot_be_handed_over() -> None:
    """A full disk is an error, a reader that has gone is none."""
    with redirect_stdout(Failing(OSError(28, "No space left"))), standard_streams() as streams:
        with pytest.raises(StoreError, match="No space left"):
            streams.out.writelines(["x"])
        with pytest.raises(StoreError, match="No space left"):
            streams.hand_over()
    with (
        redirect_stdout(Failing(BrokenPipeError())),
        redirect_stderr(Failing(BrokenPipeError())),
        standard_streams() as streams,
    ):
        streams.hand_over()
        with pytest.raises(BrokenPipeError):
            streams.out.flush()
