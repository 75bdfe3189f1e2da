"""Runs of ``coilmeter chain`` in a folder of the test: in one shot, and at the prompt."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from helpers import Ran, cli

HEAD = """head,kind,coil,reading,purpose
A-1,two-channel-rp,1,171.0,
A-1,two-channel-rp,2,OL 40 Mohm,
"""


def chain(folder: Path, *words: str, stdin: str = "") -> Ran:
    """Run the command with its cases in a folder."""
    keep = ("--keep", str(folder / "cases.jsonl"))
    return cli("chain", *words, *keep, stdin=stdin.encode())


def document(folder: Path, *words: str) -> dict[str, Any]:
    """Run it once and read the JSON document."""
    found: dict[str, Any] = json.loads(chain(folder, *words, "--as", "json").out)
    return found
