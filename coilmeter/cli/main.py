"""Put the commands together, run one, and turn every error into a message and exit code."""

from __future__ import annotations

import functools
import importlib
import inspect
import io
import os
import pkgutil
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Annotated, Any, Final

import typer

from coilmeter.cli import commands
from coilmeter.errors import CoilmeterError

STOPPED: Final = 130
"""Exit code after Ctrl-C, as shells have it."""

TERMINATED: Final = 143
"""Exit code after SIGTERM, as shells have it."""


class Terminated(KeyboardInterrupt):
    """The system told the program to end; whoever tidies up after Ctrl-C does so here too."""


def make_app() -> typer.Typer:
    """Gather the commands: each module of `coilmeter.cli.commands` holds one, of its name."""
    app = typer.Typer(
        name="coilmeter",
        help="Tells, before anything is unscrewed, whether a tape head is electrically sound.",
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        add_completion=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_common)
    for module in pkgutil.iter_modules(commands.__path__):
        found = importlib.import_module(f"{commands.__name__}.{module.name}").command
        app.command(module.name, help=_paragraphs(found))(_guarded(found))
    return app


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    arguments
        Words of the command line without the program's name; None for those of the process.

    """
    for stream in (sys.stdout, sys.stderr):
        # A terminal that knows ASCII only shows a code in the place of a letter, and no error.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        with _terminable():
            make_app()(args=arguments, prog_name="coilmeter")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    return 0


@contextmanager
def _terminable() -> Iterator[None]:
    """Have SIGTERM end a command as Ctrl-C does: terminal restored, last words said.

    Only in the main thread, where alone Python allows it, and only where nobody has the
    signal ignored.
    """
    told = False

    def terminate(number: int, _: object) -> None:
        nonlocal told
        told = True
        # Told twice, the tidying up is not to be cut short.
        signal.signal(number, signal.SIG_IGN)
        raise Terminated

    usual = signal.getsignal(signal.SIGTERM)
    in_main_thread = threading.current_thread() is threading.main_thread()
    if not in_main_thread or usual is None or usual is signal.SIG_IGN:
        yield
        return
    signal.signal(signal.SIGTERM, terminate)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, usual)
        if told:
            # Wherever it came: typer makes an exit code of its own of a stop outside a command.
            raise SystemExit(TERMINATED)


def _guarded(command: Callable[..., None]) -> Callable[..., None]:
    """Wrap a command so that every error becomes one message and its exit code."""

    @functools.wraps(command)
    def run(*args: Any, **kwargs: Any) -> None:
        try:
            command(*args, **kwargs)
        except CoilmeterError as error:
            _say(str(error))
            raise typer.Exit(error.exit_code) from error
        except KeyboardInterrupt as stop:
            _say("stopped.")
            code = TERMINATED if isinstance(stop, Terminated) else STOPPED
            raise typer.Exit(code) from None
        except BrokenPipeError:
            # The reader of a pipe has gone (a pager, head): no fault of the results.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise typer.Exit(0) from None

    return run


def _paragraphs(command: Callable[..., None]) -> str:
    """Docstring of a command with each paragraph on one line, to be wrapped to the screen."""
    paragraphs = (inspect.getdoc(command) or "").split("\n\n")
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)


def _say(text: str) -> None:
    sys.stderr.write(f"coilmeter: {text}\n")


def _show_version(wanted: bool) -> None:  # noqa: FBT001 - the shape typer calls
    if wanted:
        from importlib import metadata

        sys.stdout.write(f"coilmeter {metadata.version('coilmeter')}\n")
        raise typer.Exit


def _common(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and end."
        ),
    ] = False,
) -> None:
    """Tell, before anything is unscrewed, whether a tape head is electrically sound."""
