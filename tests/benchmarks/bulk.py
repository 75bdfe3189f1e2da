"""Judging 100 000 heads of four coils: against pint scalars, and against plain csv and json."""

from __future__ import annotations

import csv
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Final

import numpy as np
import numpy.typing as npt
from ratios import report, seconds

from coilmeter.catalog import load_catalog
from coilmeter.compute.budget import Circumstances, budget
from coilmeter.compute.judge import judge_rows
from coilmeter.compute.matching import Shared, deviations, match_zones
from coilmeter.compute.settings import Settings
from coilmeter.compute.verdict import zones_of_value
from coilmeter.sources.sheet import read_sheet
from coilmeter.units import Quantity, ohms

HEADS: Final = 100_000
COILS: Final = 4
SCALAR_HEADS: Final = 200
COLUMNS: Final = ("head", "kind", "coil", "reading", "temperature", "lead")
LIMITS: Final = ohms(np.array(load_catalog().bands["rp-cassette"].limits_ohm))


def write_rows(path: Path, heads: int) -> None:
    """Write readings of so many heads, one coil in fifty open."""
    chance = random.Random(11)  # noqa: S311 - invented readings
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(COLUMNS)
        for number in range(heads):
            base = chance.uniform(150, 250)
            for coil in range(1, COILS + 1):
                text = f"{base * chance.gauss(1, 0.02):.1f} ohm"
                text = "OL 40 Mohm" if chance.random() < 0.02 else text
                table.writerow((f"H{number}", "four-channel-rp", coil, text, "21", "0.2 ohm"))


def how(like: float | npt.NDArray[np.float64]) -> Circumstances:
    """Circumstances of a hand-held meter, of one value each or of arrays shaped as `like`."""

    def same(value: float) -> float | npt.NDArray[np.float64]:
        return value if isinstance(like, float) else np.full(np.shape(like), value)

    return Circumstances(
        fraction=same(0.008),
        floor=ohms(same(0.5)),
        rounding=ohms(same(0.0)),
        leads=ohms(same(0.2)),
        u_leads=ohms(same(0.29)),
        temperature_degc=same(21.0),
        u_temperature_k=same(0.58),
        scatter=ohms(same(0.0)),
    )


def in_arrays(values: npt.NDArray[np.float64]) -> None:
    """Judge and match coils of shape (heads, coils) in one pass."""
    found = budget(ohms(values), how(values))
    zones_of_value(found.resistance_20c, found.u, LIMITS)
    match(found.parts, found.resistance_20c)


def one_by_one(values: npt.NDArray[np.float64]) -> None:
    """Judge each coil as a pint scalar, then match each head."""
    for head in values:
        found = [budget(ohms(float(value)), how(float(value))) for value in head]
        for each in found:
            zones_of_value(each.resistance_20c, each.u, LIMITS)
        parts = {name: column([each.parts[name] for each in found]) for name in found[0].parts}
        match(parts, column([each.resistance_20c for each in found]))


def match(parts: dict[str, Quantity], resistance: Quantity) -> None:
    """Match siblings along the last axis."""
    group = np.zeros(np.shape(resistance.magnitude), int)
    shared = [Shared(parts[name], group) for name in ("gain", "leads", "temperature")]
    match_zones(deviations(resistance, parts["floor"], shared), 0.05, 0.15)


def column(values: list[Quantity]) -> Quantity:
    """Gather scalars into one quantity with an array."""
    return ohms(np.array([value.m_as("ohm") for value in values]))


def main() -> int:
    """Print the ratios; 1 when a limit is missed."""
    values = np.random.default_rng(11).normal(200.0, 4.0, (HEADS, COILS))
    few = values[:SCALAR_HEADS]
    scalar = seconds(lambda: one_by_one(few)) / few.size
    bulk = min(seconds(lambda: in_arrays(values)) for _ in range(3)) / values.size
    kept = report(
        "a coil on pint scalars / a coil in arrays", scalar / bulk, 100, at_least=True
    )

    catalog = load_catalog()
    settings = Settings(
        bands=catalog.bands,
        meters=catalog.meters,
        kinds=catalog.kinds,
        meter="handheld-4000",
    )
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder) / "bulk.csv", Path(folder) / "bulk.json"
        peaks = []
        for heads in (HEADS // 4, HEADS):
            write_rows(path, heads)
            judge = ["-m", "coilmeter", "judge", str(path), "--meter", "handheld-4000"]
            command = [sys.executable, *judge, "--as", "json", "--out", str(out)]
            whole = seconds(lambda: subprocess.run(command, check=False))  # noqa: B023 - run at once
            peaks.append(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)
        with out.open(encoding="utf-8") as file:
            document = json.load(file)

        def plain() -> None:
            with path.open(encoding="utf-8", newline="") as file:
                list(csv.DictReader(file))
            with (Path(folder) / "again.json").open("w", encoding="utf-8") as file:
                json.dump(document, file)

        simplest = seconds(plain)
        rows = read_sheet(path).rows
        start = time.perf_counter()
        count = sum(len(head.coils) for head in judge_rows(rows, settings))
        names = (time.perf_counter() - start) / count
    print(f"a coil in arrays {bulk * 1e6:.2f} us; with names and reasons {names * 1e6:.0f} us")
    print(f"whole command {whole:.1f} s; peak memory {peaks[0]:.0f} and {peaks[1]:.0f} MiB")
    kept &= report("judge, CSV to JSON / csv.DictReader + json.dump", whole / simplest, 4)
    kept &= report("peak memory, four times the rows", peaks[1] / peaks[0], 4)
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
