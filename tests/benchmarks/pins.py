"""Pin maps: readings and clip moves, time of recovery and of planning, rates of errors.

``python tests/benchmarks/pins.py`` takes some minutes for the rates; ``--quick`` leaves them
out.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Final

# As the command does.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parent.parent))

from pin_meters import EIGHT, LIMITS, exactly, followed, head, mapped, paired, pairings
from pin_trials import Said, Trials
from ratios import report, seconds

from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_pairs import put_together
from coilmeter.compute.pinplan import Wishes, next_pair
from coilmeter.compute.pinplan_prior import Prior
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.values import CASE
from coilmeter.values.pinmaps import PinField

RECOVERY_S: Final = 0.050
PLANNING_S: Final = 0.100
MOST_READINGS: Final = 10.0
NEIGHBOUR_READINGS: Final = 4.0
FEW: Final = 0.01
HEADS: Final = 5000
METERS: Final = ("handheld-4000", "handheld-2000", "handheld-6000", "bench-6-digit")
SIXTEEN: Final = PinField(tuple((str(at), str(at + 1)) for at in range(1, 17, 2)))


def median_s(action: Callable[[], object], rounds: int = 15) -> float:
    """Median seconds of a call."""
    return statistics.median(seconds(action) for _ in range(rounds))


def readings_and_moves() -> bool:
    """Print what it takes to find four coils on eight pins, over all pairings."""
    bare = PinField(EIGHT.rows, case=False)
    kept = True
    for prior in Prior:
        runs = [
            followed(paired(each), bare, Wishes(prior, isolation=False))
            for each in pairings(bare.pins)
        ]
        count = statistics.mean(len(run.asked) for run in runs)
        moves = statistics.mean(run.moves for run in runs)
        print(f"{prior}: {count:.3f} readings, {moves:.3f} clip moves, over 105 pairings")
        if prior is Prior.UNIFORM:
            kept &= report("readings, nothing known", count, MOST_READINGS)
    side = [("1", "2"), ("3", "4"), ("5", "6"), ("7", "8")]
    run = followed(paired(side), bare, Wishes(isolation=False))
    kept &= report("readings, neighbours", len(run.asked), NEIGHBOUR_READINGS)
    print(f"neighbours: {run.moves} clip moves")
    print("all pairs: 28 readings, 29 clip moves at least")
    whole = followed(paired(side), EIGHT)
    print(f"with isolation and case: {len(whole.asked)} readings, {whole.moves} clip moves")
    opened = head("1-4 184", "2-8 185", "3-5 186", "6-7 183").with_open("3")
    run = followed(opened, EIGHT)
    print(f"one coil open, scrambled: {len(run.asked)} readings, {run.moves} clip moves")
    return kept


def times() -> bool:
    """Print the median times for a field of 16 pins and the case."""
    hots = {str(at): (str(at), "16", 150.0 + at) for at in range(1, 16)}
    star = SimulatedHead(hots)
    readings = [exactly(star, a, b, own_ohm=0.05) for a, b in combinations(SIXTEEN.points, 2)]
    coils = SimulatedHead(
        {str(at): (str(at), str(at + 1), 150.0 + at) for at in range(1, 17, 2)}
    )
    few = [exactly(coils, "1", "16", own_ohm=0.05), exactly(coils, "1", "2", own_ohm=0.05)]
    pairs = put_together(few, SIXTEEN, LIMITS)
    found = map_of(pairs)

    def recover() -> None:
        map_of(put_together(readings, SIXTEEN, LIMITS))

    def plan() -> None:
        again = put_together(few, SIXTEEN, LIMITS)
        next_pair(again, map_of(again), Wishes(), clipped=("1", "2"))

    kept = report("16 pins on one return, recovered / 50 ms", median_s(recover) / RECOVERY_S, 1)
    kept &= report("next pair of 16 pins / 100 ms", median_s(plan) / PLANNING_S, 1)
    only = median_s(lambda: next_pair(pairs, found, Wishes(), clipped=("1", "2")))
    print(f"of that, planning alone {1000 * only:.1f} ms")
    mapped(coils, SIXTEEN, [("1", CASE)])
    return kept


def rates() -> bool:
    """Print how often a bridge is invented and a leak missed."""
    kept = True
    for meter in METERS:
        begun = time.perf_counter()
        sound = Trials(meter, seed=11).sound(HEADS)
        leaking = Trials(meter, seed=12).leaking(HEADS)
        taken = time.perf_counter() - begun
        print(
            f"{meter}: of {HEADS} sound heads {sound[Said.FAULTY]} false, {sound[Said.OPEN]} "
            f"open; of {HEADS} with a leak {leaking[Said.SOUND]} missed, "
            f"{leaking[Said.OPEN]} open ({taken:.0f} s)"
        )
        kept &= report(f"{meter}: false bridges / 1 %", sound[Said.FAULTY] / HEADS / FEW, 1)
        kept &= report(f"{meter}: missed leaks / 1 %", leaking[Said.SOUND] / HEADS / FEW, 1)
    return kept


def main() -> int:
    """Print all figures; 1 when a limit is missed."""
    kept = readings_and_moves() & times()
    if "--quick" not in sys.argv[1:]:
        kept &= rates()
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
