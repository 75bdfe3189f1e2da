"""`coilmeter pins` run in a test: a list of a sound head, and a person who reads the meter."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

from helpers import Ran, cli

from coilmeter.sources.simulated_head import SimulatedHead

HEADER = "head,pins,reading,range\n"
SOUND = f"""{HEADER}S-1,1-2,OL,40 Mohm
S-1,1-3,OL,40 Mohm
S-1,1-4,184.2,400 ohm
S-1,2-3,185.1,400 ohm
S-1,3-4,OL,40 Mohm
S-1,2-case,OL,40 Mohm
S-1,1-case,OL,40 Mohm
"""
METER = "--meter handheld-4000 --lead 0.2 --temperature 20"


def pins(line: str, *answers: str, config: Path | None = None) -> Ran:
    """Run the command, with answers that are typed, and the user's own folder."""
    typed = "".join(f"{answer}\n" for answer in answers).encode()
    return cli("pins", *shlex.split(line), stdin=typed, config=config or Path("config"))


def document(ran: Ran) -> dict[str, Any]:
    """Read the JSON document of a run."""
    return dict(json.loads(ran.out))


def answered(bench: SimulatedHead, line: str, config: Path | None = None) -> Ran:
    """Run it typed, with someone who reads the meter for each pair that is asked for."""
    answers: list[str] = []
    while True:
        kept = next(Path().glob("*-pins.csv"), None)
        if kept is not None:
            kept.unlink()
        ran = pins(line, *answers, config=config)
        asked = [row for row in ran.err.split("\n") if row.startswith("[")]
        if len(asked) == len(answers):
            return ran
        a, b = asked[len(answers)].partition("] ")[2].partition(":")[0].split("-")
        ohm = bench.resistance_between(a, b)
        answers.append("OL 40 Mohm" if ohm > 40e6 else f"{ohm + 0.2:.1f}")
