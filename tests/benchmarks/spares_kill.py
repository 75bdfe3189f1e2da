"""Two hundred kills at random moments of check and import; none may cost a reading."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Final

sys.path.insert(0, str(Path(__file__).parent.parent))

from spares_kills import heads_to_import, killed_check, killed_import

KILLS: Final = int(os.environ.get("BENCHMARK_KILLS", "200"))


def main() -> int:
    """Print what was wrong, and how often the kill came while the tool was at work."""
    lines = heads_to_import()
    first = time.time_ns() % 1_000_000
    wrong = amid = 0
    for seed in range(first, first + KILLS):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            if seed % 2:
                found = killed_check(folder, seed)
            else:
                found = killed_import(folder, seed, lines)
        amid += found.amid
        if found.wrong:
            wrong += 1
            print(f"seed {seed}: {found.wrong}")
    print(f"{KILLS} kills from seed {first}, {amid} of them amid the work: {wrong} left damage")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
