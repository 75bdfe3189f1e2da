"""The page of all commands and options, from the command line itself."""  # noqa: INP001 - see generate.py

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from enum import Enum
from pathlib import Path
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

import typer
from typer.models import OptionInfo
from writing import NOTE, paragraphs, table

from coilmeter.cli.main import make_app

_INTRODUCTION: Final = """# Commands and options

Results go to standard output, talk to standard error.
The exit code is 0 when everything asked about is sound,
1 when something is faulty or undecided,
2 for bad input or usage, 3 for trouble with the meter or its port,
4 when a file of readings or results, or the bin, could not be read back or written,
130 after Ctrl-C and 143 after SIGTERM.
[Recipes](../howto.md#exit-codes-in-a-script) show what a script makes of them.

`-h` or `--help` behind any command shows its help."""

_HEADER: Final = ("option", "value", "default", "meaning")
_VALUES: Final = {str: "text", int: "number", float: "number", Path: "file"}


def page() -> str:
    """Write the page."""
    app = make_app()
    parts = [NOTE, _INTRODUCTION]
    if app.registered_callback is not None and app.registered_callback.callback is not None:
        parts += ["## coilmeter", *_parameters(app.registered_callback.callback)]
    parts += _commands(app, "coilmeter")
    return paragraphs(*parts)


def _commands(app: typer.Typer, name: str) -> Iterator[str]:
    """Write the commands of an app, then its groups, each with its own."""
    for info in app.registered_commands:
        if info.callback is not None:
            yield f"## {name} {info.name}"
            yield str(info.help)
            yield from _parameters(info.callback)
    for group in app.registered_groups:
        if group.typer_instance is not None:
            yield f"## {name} {group.name}"
            yield str(group.typer_instance.info.help)
            yield from _commands(group.typer_instance, f"{name} {group.name}")


def _parameters(command: Callable[..., Any]) -> Iterator[str]:
    """Write the arguments, then the options panel by panel."""
    hints = get_type_hints(command, include_extras=True)
    arguments: list[tuple[str, ...]] = []
    panels: dict[str, list[tuple[str, ...]]] = {}
    for name, parameter in inspect.signature(command).parameters.items():
        if get_origin(hints[name]) is not Annotated:
            raise TypeError(f"{name}: a parameter without typer's description")
        kind, info = get_args(hints[name])
        if isinstance(info, OptionInfo):
            panel = panels.setdefault(str(info.rich_help_panel or "Options"), [])
            panel.append(_option(kind, info, parameter.default))
        else:
            arguments.append((f"`{name.upper()}`", info.help))
    if arguments:
        yield table(("argument", "meaning"), arguments)
    for panel_name, options in panels.items():
        yield f"{panel_name}:"
        yield table(_HEADER, options)


def _option(kind: Any, info: OptionInfo, default: object) -> tuple[str, ...]:
    # In an annotation typer takes the first name for the default, until it builds the command.
    every = [str(each) for each in (info.default, *(info.param_decls or ()))]
    names = [name for each in every for name in each.split("/")]
    meaning, _, stated = (info.help or "").partition(" [default: ")
    if info.envvar:
        meaning += f" Or the environment variable `{info.envvar}`."
    return (
        ", ".join(f"`{name}`" for name in names),
        _value(kind, info),
        stated.removesuffix("]") or _default(default, names),
        meaning,
    )


def _value(kind: Any, info: OptionInfo) -> str:
    kinds = [each for each in get_args(kind) or (kind,) if each is not type(None)]
    kind = next(iter(get_args(kinds[0])), kinds[0])
    if kind is bool:
        return ""
    if issubclass(kind, Enum):
        return ", ".join(f"`{each.value}`" for each in kind)
    ends = [
        f"{end:.6f}".rstrip("0").rstrip(".") for end in (info.min, info.max) if end is not None
    ]
    return " to ".join(ends) or _VALUES[kind]


def _default(default: object, names: list[str]) -> str:
    if isinstance(default, bool):
        return f"`{names[not default]}`" if len(names) > 1 else "off"
    if default is None or default == "" or default is inspect.Parameter.empty:
        return ""
    return f"`{getattr(default, 'value', default)}`"
