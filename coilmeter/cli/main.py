"""Put the commands together, run one, and turn every error into a message and exit code."""

from __future__ import annotations

import functools
import gc
import importlib
import inspect
import os
import pkgutil
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from types import ModuleType
from typing import Annotated, Any, Final

import typer

from coilmeter.cli import commands
from coilmeter.cli.streams import standard_streams
from coilmeter.errors import CoilmeterError, StoreError

ALL_SOUND: Final = 0
SOMETHING: Final = 1
"""Exit codes of a command that was done: all is well, and something is not."""

STOPPED: Final = 130
"""Exit code after Ctrl-C, as shells have it."""

TERMINATED: Final = 143
"""Exit code after SIGTERM, as shells have it."""


RARELY: Final = 50_000
"""New objects between two runs of the garbage collector."""

OWN_FAULT: Final = 70
"""Exit code of a fault that is nobody's but this program's (EX_SOFTWARE of sysexits)."""

TRACE: Final = "COILMETER_TRACE"


class Terminated(KeyboardInterrupt):
    """The system told the program to end; whoever tidies up after Ctrl-C does so here too."""


def make_app(only: Sequence[str] = ()) -> typer.Typer:
    """Gather the commands: each module of `coilmeter.cli.commands` holds one, of its name.

    A package there is a group of commands: its modules are found in the same way, and its
    docstring is the help of the group.  Where the words of `only` name a command, the others
    are left out: reading all their options takes longer than judging a head.
    """
    app = _group(
        name="coilmeter",
        help="Tells, before anything is unscrewed, whether a tape head is electrically sound.",
        add_completion=False,
    )
    app.callback()(_common)
    _gather(app, commands, only)
    return app


def _gather(app: typer.Typer, package: ModuleType, only: Sequence[str]) -> None:
    found = {module.name: module.ispkg for module in pkgutil.iter_modules(package.__path__)}
    wanted, rest = (only[0].replace("-", "_"), only[1:]) if only else ("", ())
    for name in [wanted] if wanted in found else found:
        module = importlib.import_module(f"{package.__name__}.{name}")
        word = name.replace("_", "-")
        if found[name]:
            group = _group(help=_paragraphs(module))
            _gather(group, module, rest)
            app.add_typer(group, name=word)
        else:
            app.command(word, help=_paragraphs(module.command))(_guarded(module.command))


def _group(**settings: Any) -> typer.Typer:
    return typer.Typer(
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
        **settings,
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    arguments
        Words of the command line without the program's name; None for those of the process.

    """
    # Importing makes many objects that stay: looking through them again and again for rubbish
    # takes a tenth of the start-up. The collector still runs, more rarely.
    gc.set_threshold(RARELY, *gc.get_threshold()[1:])
    words = sys.argv[1:] if arguments is None else list(arguments)
    with standard_streams() as streams:
        code = _run(words)
        try:
            streams.hand_over()
        except StoreError as error:
            # What ended it before is told already.
            if code in {ALL_SOUND, SOMETHING}:
                code = _told(error)
        return code


def _run(words: Sequence[str]) -> int:
    try:
        with _terminable():
            make_app(words)(args=words, prog_name="coilmeter")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except CoilmeterError as error:
        # Outside of any command: its help, or the version.
        return _told(error)
    return ALL_SOUND


def _told(error: CoilmeterError) -> int:
    _say(str(error))
    return error.exit_code


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
            raise typer.Exit(_told(error)) from error
        except KeyboardInterrupt as stop:
            _say("stopped.")
            code = TERMINATED if isinstance(stop, Terminated) else STOPPED
            raise typer.Exit(code) from None
        except BrokenPipeError:
            # The reader of standard output has gone, and what else there was is not said:
            # never the code that says that all is sound.
            raise typer.Exit(SOMETHING) from None
        except (typer.Exit, typer.Abort, typer.BadParameter):
            raise
        except Exception as error:
            if os.environ.get(TRACE):
                raise
            _say(
                f"a fault of this program itself ({type(error).__name__}: {error}).\n"
                f"  next: what was taken is on disk; run it again with {TRACE}=1 in the "
                "environment, and report what it prints."
            )
            raise typer.Exit(OWN_FAULT) from error

    return run


def _paragraphs(documented: object) -> str:
    """Docstring with each paragraph on one line, to be wrapped to the screen."""
    paragraphs = (inspect.getdoc(documented) or "").split("\n\n")
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in paragraphs)


def _say(text: str) -> None:
    from coilmeter.cli.saying import say

    say(f"coilmeter: {text}")


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
