"""Start-up: help against the smallest typer application, judge against its bare imports."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Final

from ratios import medians, python, report

ROUNDS: Final = 21
TWO_COMMANDS: Final = '''
import typer
app = typer.Typer()
@app.command()
def first(number: int = 1):
    """Do the first thing."""
@app.command()
def second(name: str = "x"):
    """Do the second thing."""
app()
'''
EIGHT_ROWS: Final = """head,kind,coil,purpose,reading
B-2,four-channel-rp,1,,171.3 ohm
B-2,four-channel-rp,2,,170.8 ohm
B-2,four-channel-rp,3,,OL 40 Mohm
B-2,four-channel-rp,4,,172.0 ohm
B-2,four-channel-rp,1,coil-to-case,OL 40 Mohm
B-2,four-channel-rp,2,coil-to-case,OL 40 Mohm
B-2,four-channel-rp,3,coil-to-case,silent
B-2,four-channel-rp,,lead-null,0.2 ohm
"""


def main() -> int:
    """Print both ratios; 1 when a limit is missed."""
    with tempfile.TemporaryDirectory() as folder:
        small = Path(folder) / "small.py"
        small.write_text(TWO_COMMANDS, encoding="utf-8")
        rows = Path(folder) / "rows.csv"
        rows.write_text(EIGHT_ROWS, encoding="utf-8")
        smallest, helped, imports, judged = medians(
            [
                python(str(small), "--help"),
                python("-m", "coilmeter", "--help"),
                python("-c", "import pint, numpy, typer, tabulate"),
                python("-m", "coilmeter", "judge", str(rows)),
            ],
            ROUNDS,
        )
    kept = report("coilmeter --help / two-command typer app --help", helped / smallest, 1.5)
    kept &= report("judge of 8 rows / import of its libraries", judged / imports, 1.7)
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
