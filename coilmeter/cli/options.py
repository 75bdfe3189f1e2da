"""Options that several commands share."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

import typer

ABOUT_HEAD: Final = "About the head"
ABOUT_METER: Final = "About the meter"
ABOUT_OUTPUT: Final = "About the output"


class Shape(StrEnum):
    """Shape of the results."""

    TABLE = "table"
    MARKDOWN = "markdown"
    CSV = "csv"
    JSON = "json"
    HTML = "html"


Head = Annotated[
    str,
    typer.Option("--head", help="Name of the head.", rich_help_panel=ABOUT_HEAD),
]
Coils = Annotated[
    str | None,
    typer.Option(
        "--coils",
        metavar="NUMBER",
        help="Number of coils, 1 to 16, where the kind is not known.",
        rich_help_panel=ABOUT_HEAD,
    ),
]
LivePort = Annotated[
    str,
    typer.Option(
        "--port",
        help="Where the meter is: a device name, or socket://HOST:PORT.",
        rich_help_panel=ABOUT_METER,
    ),
]
Count = Annotated[
    int | None,
    typer.Option(
        "--count",
        min=1,
        help="End after so many readings.",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
Resume = Annotated[
    bool,
    typer.Option(
        "--resume",
        help="Go on with a readings file that was left half-way.",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
Files = Annotated[
    list[str],
    typer.Argument(
        help="Readings files (CSV), patterns such as 'bin/*.csv', or - for standard input."
    ),
]
Kind = Annotated[
    str,
    typer.Option(
        "--kind", help="Head kind where the readings name none.", rich_help_panel=ABOUT_HEAD
    ),
]
Band = Annotated[
    str,
    typer.Option("--band", help="Judge every coil by this band.", rich_help_panel=ABOUT_HEAD),
]
Temperature = Annotated[
    str,
    typer.Option(
        "--temperature",
        help="Temperature of the head in degC: 23, or '23 +/- 2'. [default: 20 +/- 5]",
        rich_help_panel=ABOUT_HEAD,
    ),
]
Meter = Annotated[
    str,
    typer.Option(
        "--meter", help="Meter whose stated accuracy counts.", rich_help_panel=ABOUT_METER
    ),
]
Lead = Annotated[
    str,
    typer.Option(
        "--lead",
        help="What the leads add: '0.2 ohm', '0.2 +/- 0.05 ohm', 'nulled' or 'four-wire'.",
        rich_help_panel=ABOUT_METER,
    ),
]
Port = Annotated[
    str,
    typer.Option(
        "--port",
        help="Where the meter is: a device name, or socket://HOST:PORT. Without it, readings "
        "are typed.",
        rich_help_panel=ABOUT_METER,
    ),
]
FormatName = Annotated[
    str,
    typer.Option(
        "--format",
        help="What the meter sends, by name; --format ? lists the names.",
        rich_help_panel=ABOUT_METER,
    ),
]
Baud = Annotated[
    int | None,
    typer.Option(
        "--baud",
        help="Bits per second, where not the usual of the format.",
        rich_help_panel=ABOUT_METER,
    ),
]
Dtr = Annotated[
    bool | None,
    typer.Option(
        "--dtr/--no-dtr",
        help="Control line DTR on or off, which powers some cables. Without it, that of the "
        "format, and the other ways are tried while nothing comes.",
        rich_help_panel=ABOUT_METER,
    ),
]
Rts = Annotated[
    bool | None,
    typer.Option(
        "--rts/--no-rts",
        help="Control line RTS, likewise.",
        rich_help_panel=ABOUT_METER,
    ),
]
Wait = Annotated[
    str,
    typer.Option(
        "--wait",
        help="How long to wait for a meter that is unplugged: 30s, 10m, 0s, ever. Without "
        "it, for ever where there is a keyboard, else 10m.",
        rich_help_panel=ABOUT_METER,
    ),
]
FourWire = Annotated[
    bool,
    typer.Option(
        "--four-wire",
        help="Have a meter that is asked measure with four wires; the leads are out then.",
        rich_help_panel=ABOUT_METER,
    ),
]
Confidence = Annotated[
    float,
    typer.Option(
        "--confidence",
        help="Probability at which a verdict is spoken; above 0.5 and below 1.",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
LeakingBelow = Annotated[
    str,
    typer.Option(
        "--leaking-below", help="Isolation below this leaks.", rich_help_panel=ABOUT_HEAD
    ),
]
CatalogFile = Annotated[
    list[Path] | None,
    typer.Option(
        "--catalog",
        help="TOML file with bands, meters and kinds of your own; may be given again.",
        envvar="COILMETER_CATALOG",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
As = Annotated[
    Shape,
    typer.Option("--as", help="Shape of the results.", rich_help_panel=ABOUT_OUTPUT),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", help="Write the results to this file.", rich_help_panel=ABOUT_OUTPUT),
]
Speak = Annotated[
    bool,
    typer.Option(
        "--speak",
        help="Say aloud what the screen shows, by the system's own speech program.",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
AcFiles = Annotated[
    list[Path] | None,
    typer.Option(
        "--impedance",
        help="File of AC volts of the same heads: inductance and Q; may be given again.",
        rich_help_panel=ABOUT_HEAD,
    ),
]
AcReferences = Annotated[
    list[Path] | None,
    typer.Option(
        "--reference",
        help="File of AC volts of coils of the same kind that are known to be good.",
        rich_help_panel=ABOUT_HEAD,
    ),
]
ChainCase = Annotated[
    str,
    typer.Option(
        "--case",
        help="A case of 'coilmeter chain' that the head was suspected in: its chain is drawn "
        "on a sheet of its own.",
        rich_help_panel=ABOUT_HEAD,
    ),
]
ChainCases = Annotated[
    Path | None,
    typer.Option(
        "--keep",
        help="File of the cases, in place of the usual one.",
        rich_help_panel=ABOUT_HEAD,
    ),
]
Budget = Annotated[
    bool,
    typer.Option(
        "--budget",
        help="Show where the uncertainty of each coil comes from.",
        rich_help_panel=ABOUT_OUTPUT,
    ),
]
