"""Talks with ``coilmeter chain`` at its prompt, and what came of them."""

from __future__ import annotations

from pathlib import Path

from helpers import Ran, cli

from coilmeter.sources.chain_cases import Journal

BEGIN = ("playback", "3", "all")


def talk(folder: Path, *answers: str, words: tuple[str, ...] = ()) -> Ran:
    """Answer the questions one after the other, then end the input."""
    typed = "".join(f"{answer}\n" for answer in answers)
    keep = ("--keep", str(folder / "cases.jsonl"))
    return cli("chain", *words, *keep, stdin=typed.encode())


def asked(ran: Ran) -> list[str]:
    """Names of the tests that were asked for, in order."""
    lines = [line for line in ran.err.splitlines() if line.startswith("[")]
    return [line.partition("] ")[2].partition(":")[0] for line in lines]


def seen(folder: Path) -> list[str]:
    """Read what the first case holds now."""
    case = next(iter(Journal(folder / "cases.jsonl").cases.values()))
    return [f"{each.track}:{each}" for each in case.seen]
