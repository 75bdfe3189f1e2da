"""``coilmeter spares note``: what somebody saw or did that no meter can tell."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from coilmeter.cli import bin_options


class Fitted(StrEnum):
    """Where a head is."""

    LOOSE = "loose"
    FITTED = "fitted"


_SAID = "What you say of the head"


def command(
    head: bin_options.Head,
    text: Annotated[str, typer.Argument(help="What you noted, in your words.")] = "",
    marking: Annotated[
        str, typer.Option("--marking", help="What is printed on it.", rich_help_panel=_SAID)
    ] = "",
    face: Annotated[
        str,
        typer.Option(
            "--face",
            help="How its face looks: 'polished', 'visible flat', 'edge that catches a "
            "fingernail' or 'gap line open under a loupe'.",
            rich_help_panel=_SAID,
        ),
    ] = "",
    fitted: Annotated[
        Fitted | None,
        typer.Option("--place", help="Where it was measured.", rich_help_panel=_SAID),
    ] = None,
    demagnetised: Annotated[
        bool | None,
        typer.Option(
            "--demagnetised/--not-demagnetised",
            help="Whether it was demagnetised after measuring.",
            rich_help_panel=_SAID,
        ),
    ] = None,
    tape_tested: Annotated[
        bool | None,
        typer.Option(
            "--tape-tested/--not-tape-tested",
            help="Whether a tape was played and recorded with it.",
            rich_help_panel=_SAID,
        ),
    ] = None,
    store: bin_options.Store = "",
) -> None:
    """Note something of a head: how its face looks, what was done with it, anything else.

    A note is added, and none is ever changed; of each thing the newest word counts.
    """
    from coilmeter.cli.reporting import check_face
    from coilmeter.cli.typed import say
    from coilmeter.report.bin_tables import code
    from coilmeter.spares.noting import NO_NOTE, note
    from coilmeter.spares.reading import find_head
    from coilmeter.values.bin import Note

    words = {None: "", True: "yes", False: "no"}
    said = Note(
        id=NO_NOTE.id,
        time=NO_NOTE.time,
        marking=marking,
        face=check_face(face, "say more in the text of the note"),
        fitted=fitted or "",
        demagnetised=words[demagnetised],
        tape_tested=words[tape_tested],
        text=text,
    )
    with bin_options.bin_to_write(store) as shelf, shelf.write() as connection:
        found = find_head(connection, head)
        note(connection, found, said)
    say(f"noted of {code(found.code)} {found.name}.")
