"""The search for a broken link: time of a step, start of the prompt, and simulated repairs."""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from ratios import medians, python, report, seconds

sys.path.insert(0, str(Path(__file__).parent.parent))
# As the command itself does, before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from chain_simulation import Figures, Workshop, fixed_orders

from coilmeter.catalog.chain_maps import load_chains
from coilmeter.compute.chain_diagnosis import Bench, diagnose
from coilmeter.compute.chain_model import Model, complaint
from coilmeter.values.chains import ChainMap, Seen

REPAIRS: Final = 2000
ROUNDS: Final = 21
LONGEST_MS: Final = 200.0
STARTS: Final = 1.7


def steps(chain: ChainMap) -> Iterator[float]:
    """Give the seconds of each step of a case in which every test says its first outcome."""
    model = Model(chain)
    seen = [complaint("3"), *(complaint(track, works=True) for track in "124")]
    while True:
        taken = seconds(lambda: diagnose(model, list(seen), "3", Bench()))
        yield taken
        found = diagnose(model, list(seen), "3", Bench())
        if not found.tests:
            return
        test = found.tests[0].test
        seen.append(Seen(test.name, next(iter(test.meanings)), "3"))


def line(name: str, found: Figures) -> str:
    """Write the figures of one order of tests as a row of a table."""
    return (
        f"| {name} | {100 * found.right:.1f} % | {100 * found.wrong:.1f} % | "
        f"{100 * found.undecided:.1f} % ({100 * found.first_right:.1f} %) | "
        f"{100 * found.within_an_hour:.1f} % | "
        f"{found.test_minutes:.1f} | {found.wasted_minutes:.1f} | {found.minutes:.1f} |"
    )


def repairs(chain: ChainMap) -> bool:
    """Print what came of the repairs of one chain; whether the tool beats every order."""
    shop = Workshop(chain)
    faults = shop.drawn(REPAIRS, seed=1)
    tool = shop.repaired(faults, seed=2)
    print(f"\n{chain.name}: {REPAIRS} repairs")
    print(
        "| order | right | wrong | undecided (first right) | in an hour | minutes: tests |"
        " wasted | together |"
    )
    print(line("the tool", tool))
    kept = True
    for name, order in fixed_orders(chain).items():
        other = shop.repaired(faults, seed=2, order=order)
        print(line(name, other))
        kept &= tool.test_minutes < other.test_minutes and tool.minutes < other.minutes
        kept &= tool.within_an_hour > other.within_an_hour
    return kept


def main() -> int:
    """Print all figures; 1 when a limit is missed."""
    chains = load_chains()
    playback = chains["playback"]
    taken = [1000 * each for _ in range(5) for each in steps(playback)]
    print(f"{len(playback.links)} links, {len(playback.tests)} tests, four tracks")
    kept = report("median of a step in ms", statistics.median(taken), LONGEST_MS)
    print(f"longest step in ms {max(taken):.0f}")
    with tempfile.TemporaryDirectory() as folder:
        # Without input, the prompt ends at its first question.
        keep = str(Path(folder) / "cases.jsonl")
        imports, started = medians(
            [
                python("-c", "import pint, numpy, typer, tabulate"),
                python("-m", "coilmeter", "chain", "--keep", keep),
            ],
            ROUNDS,
        )
    kept &= report("first question / import of its libraries", started / imports, STARTS)
    for chain in chains.values():
        kept &= repairs(chain)
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
