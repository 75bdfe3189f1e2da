"""Shared by the benchmarks: run things in turn, compare medians, print one line each."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence


def seconds(action: Callable[[], object]) -> float:
    """Wall-clock seconds that one call takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def medians(actions: Sequence[Callable[[], object]], rounds: int) -> list[float]:
    """Median seconds of each action, run in turn so that a busy machine slows all alike."""
    taken = [[seconds(action) for action in actions] for _ in range(rounds)]
    return [statistics.median(column) for column in zip(*taken, strict=True)]


def python(*arguments: str) -> Callable[[], object]:
    """Call of this interpreter with the output thrown away."""
    return lambda: subprocess.run(
        [sys.executable, *arguments],
        check=False,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def report(what: str, measured: float, limit: float, *, at_least: bool = False) -> bool:
    """Print a ratio beside its limit; whether it is kept."""
    kept = measured >= limit if at_least else measured <= limit
    sign = ">=" if at_least else "<="
    print(f"{what:<58} {measured:9.2f}  ({sign} {limit:g}){'' if kept else '  MISSED'}")
    return kept
