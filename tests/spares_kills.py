"""The tool killed at a random moment while it writes to the bin, and what is left then.

``kill -9``: no handler runs, no buffer is flushed.
"""

from __future__ import annotations

import random
import re
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from helpers import rows
from spares_helpers import counts, document, exported, measured, open_bin, sheet, spares
from walk_processes import LONGEST_S, command, surroundings

from coilmeter.errors import InputError
from coilmeter.sources.sheet import read_sheet
from coilmeter.spares.adding import Batch, add
from coilmeter.spares.reading import find_head, records_of
from coilmeter.spares.store import Bin
from coilmeter.values import ReadingRow

COILS: Final = 16
OHMS: Final = [f"{171 + coil / 10:.1f}" for coil in range(COILS)]
HEADS: Final = 400
WORK_S: Final = 1.0
"""About so long the tool is at work once it has begun."""

START_S: Final = 1.0
_TAKEN: Final = re.compile(r"^  taken  (coil \d+)  (\S+?):? ", re.MULTILINE)
_WHOLE: Final = [(f"coil {number}", ohm) for number, ohm in enumerate(OHMS, 1)]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is wrong after a kill, empty for nothing, and whether it came amid the work."""

    wrong: str
    amid: bool


def killed_check(folder: Path, seed: int) -> Outcome:
    """Kill a check at a random moment.

    Afterwards every reading that was announced as taken is in the readings file and in the
    bin, the bin verifies, and the check goes on where it was.
    """
    store = str(folder / "bin.sqlite")
    words = ("check", "--head", "K", "--coils", str(COILS), "--no-isolation")
    whole = (*words, "--lead", "nulled", "--store", store)
    talk = folder / "talk.txt"

    def has_begun() -> bool:
        return "taken" in talk.read_text()

    amid = killed(folder, seed, has_begun, whole, OHMS)
    return Outcome(_after_check(folder, whole), amid)


def _after_check(folder: Path, whole: Sequence[str]) -> str:
    store, path = str(folder / "bin.sqlite"), folder / "K.csv"
    talk = folder / "talk.txt"
    announced = _TAKEN.findall(talk.read_text())
    in_file = [_named(row) for row in _rows(path)]
    in_bin = _in_bin(store) if announced else []
    for place, found in (("file", in_file), ("bin", in_bin)):
        if announced != found[: len(announced)]:
            return f"announced {announced}, in the {place} {found}"
    if Path(store).exists() and Path(store).stat().st_size and (wrong := damage(store)):
        return wrong
    resume = ("--resume",) if path.exists() else ()
    said = to_the_end(folder, (*whole, *resume), OHMS[len(in_file) :])
    found = _in_bin(store)
    return damage(store) if found == _WHOLE else f"after going on: {found}; {said}"


def killed_import(folder: Path, seed: int, lines: Sequence[bytes]) -> Outcome:
    """Kill an import at a random moment.

    Afterwards all of the file is in the bin or nothing of it, all of it where it was
    announced, the bin verifies, and the import runs again to its end.
    """
    store, path = str(folder / "bin.sqlite"), folder / "heads.jsonl"
    path.write_bytes(b"".join(lines))
    open_bin(store).close()
    log = folder / "bin.sqlite-wal"
    words = ("spares", "import", str(path), "--store", store)
    amid = killed(folder, seed, log.exists, words, ())
    return Outcome(_after_import(folder, lines), amid)


def _after_import(folder: Path, lines: Sequence[bytes]) -> str:
    store, path = str(folder / "bin.sqlite"), folder / "heads.jsonl"
    with open_bin(store) as shelf:
        heads = counts(shelf)["heads"]
    if heads not in {0, HEADS}:
        return f"{heads} heads of {HEADS}"
    if "heads in the file" in (folder / "out.txt").read_text() and not heads:
        return "announced, and not there"
    if wrong := damage(store):
        return wrong
    spares(store, "import", str(path))
    with open_bin(store) as shelf:
        found = exported(shelf)
    return "" if list(lines[1:]) == found[1:] else "not what was exported"


def heads_to_import() -> list[bytes]:
    """Export a bin of some hundred heads."""
    with Bin.empty() as shelf:
        with shelf.write() as connection:
            for number in range(HEADS):
                name = f"N-{number}"
                taken = rows(sheet(measured(name, *[171.0] * 4, kind="four-channel-rp")))
                add(connection, Batch(name, "four-channel-rp", taken))
        return exported(shelf)


def killed(
    folder: Path,
    seed: int,
    has_begun: Callable[[], bool],
    words: Sequence[str],
    typed: Sequence[str],
) -> bool:
    """Run the tool in a folder and kill it: at any moment, or at one after it has begun.

    Whether it had begun and was still at work comes back.
    """
    given = folder / "typed.txt"
    given.write_text("".join(f"{line}\n" for line in typed))
    chance = random.Random(seed)  # noqa: S311 - a moment
    with (
        (folder / "talk.txt").open("wb") as talk,
        (folder / "out.txt").open("wb") as out,
        given.open("rb") as source,
    ):
        process = subprocess.Popen(
            command(*words),
            stdin=source,
            stdout=out,
            stderr=talk,
            cwd=folder,
            env=surroundings(folder),
        )
        if seed % 4:
            end = time.monotonic() + LONGEST_S
            while not has_begun() and process.poll() is None and time.monotonic() < end:
                time.sleep(0.002)
            time.sleep(chance.uniform(0, WORK_S) ** 2)
        else:
            time.sleep(chance.uniform(0, START_S))
        amid = has_begun() and process.poll() is None
        process.kill()
        process.wait(LONGEST_S)
    return amid


def to_the_end(folder: Path, words: Sequence[str], typed: Sequence[str]) -> str:
    """Run the tool to its end, and give what it said."""
    done = subprocess.run(
        command(*words),
        input="".join(f"{line}\n" for line in typed).encode(),
        capture_output=True,
        cwd=folder,
        env=surroundings(folder),
        timeout=LONGEST_S,
        check=False,
    )
    return done.stderr.decode()


def damage(store: str) -> str:
    """Verify a bin; give what was found, empty for nothing."""
    found = document(store, "verify", code=None)["findings"]
    return f"damaged: {found}" if found else ""


def _rows(path: Path) -> list[ReadingRow]:
    if not path.exists() or path.stat().st_size == 0:
        return []
    try:
        return read_sheet(path).rows
    except InputError as error:
        if "no reading under it" in error.message:
            return []
        raise


def _named(row: ReadingRow) -> tuple[str, str]:
    return f"coil {row.coil}", row.reading.text


def _in_bin(store: str) -> list[tuple[str, str]]:
    with open_bin(store, create=False) as shelf, shelf.read() as connection:
        record = next(records_of(connection, [find_head(connection, "K").id]))
    return [_named(row) for sitting in record.sittings for row in sitting.rows]
