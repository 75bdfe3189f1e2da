"""Coverage of stated 95 % intervals of impedances, over many simulated measurements.

Run by hand: ``python tests/benchmarks/impedance_coverage.py [COUNT]``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from impedance_coverage_runs import FIGURES, coverage

CASES = {
    "record/playback, 10 kHz, 4000 counts": ("handheld-4000", 1083 + 6283j, 10e3, 10e3, 0.01),
    "record/playback, 1 kHz, 4000 counts": ("handheld-4000", 378 + 628j, 1e3, 1e3, 0.01),
    "shorted turns, 10 kHz, 6000 counts": ("handheld-6000", 2148 + 5636j, 10e3, 10e3, 0.01),
    "record/playback, 10 kHz, bench meter": ("bench-6-digit", 1083 + 6283j, 10e3, 10e3, 0.001),
    "record/playback, 1 kHz, two ranges": ("bench-6-digit", 378 + 628j, 1e3, 1e3, 0.01),
    "erase, 10 kHz, 4000 counts": ("handheld-4000", 8.77 + 37.7j, 47.0, 10e3, 0.01),
}


def main() -> None:
    """Print the share of intervals that hold the truth."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    print(f"{count} measurements a line; expected 95 %")
    print(f"{'':40}{''.join(f'{name:>8}' for name in FIGURES)}")
    for title, (meter, z, ohm, hertz, tolerance) in CASES.items():
        found = coverage(
            np.random.default_rng(1),
            count,
            meter=meter,
            z=z,
            ohm=ohm,
            hertz=hertz,
            tolerance=tolerance,
        )
        print(f"{title:40}{''.join(f'{100 * found[name]:8.2f}' for name in FIGURES)}")


if __name__ == "__main__":
    main()
