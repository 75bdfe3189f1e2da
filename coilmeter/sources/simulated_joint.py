"""What makes a simulated head change by itself: a loose joint, and the board behind it."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Final

import numpy as np

from coilmeter.errors import InputError

DROP_OUT_S: Final = 0.3
"""How long a loose joint is open on average, where nothing else is said (invented)."""

BOARD_OHM: Final = 1e6
"""What a board puts across the clips, where nothing else is said, in ohm (invented)."""


class LooseJoint:
    """A joint that opens and closes at random, both for exponential times.

    Parameters
    ----------
    share
        Share of the time it is open, above 0 and below 1.
    drop_out_s
        How long it is open on average, in seconds.
    since_s
        Time from which on it is loose; before, it is closed.
    seed
        The same seed opens at the same times after `since_s`.

    Raises
    ------
    InputError
        When share or time cannot be.

    """

    def __init__(
        self, share: float, *, drop_out_s: float = DROP_OUT_S, since_s: float = 0.0, seed: int
    ) -> None:
        if not 0 < share < 1:
            raise InputError(f"saw a share of {share:g}, expected above 0 and below 1")
        if not 0 < drop_out_s < math.inf:
            raise InputError(f"saw drop-outs of {drop_out_s:g} s, expected more than 0 s")
        self.share = share
        self.drop_out_s = drop_out_s
        self._random = np.random.default_rng(seed)
        self._changes = [since_s]

    def is_open(self, at_s: float) -> bool:
        """Whether it is open at a time."""
        closed_s = self.drop_out_s * (1 - self.share) / self.share
        while self._changes[-1] <= at_s:
            # Of the changes, the second opens it, the third closes it, and so on.
            mean_s = closed_s if len(self._changes) % 2 else self.drop_out_s
            self._changes.append(self._changes[-1] + float(self._random.exponential(mean_s)))
        changes = bisect_right(self._changes, at_s)
        return changes > 0 and changes % 2 == 0


@dataclass(frozen=True, slots=True)
class Board:
    """A board that is still connected: a resistance across the clips, and a capacitor.

    The meter's current charges the capacitor, so that the reading grows from zero to its end
    as 1 - exp(-t/T).

    Parameters
    ----------
    time_s
        T in seconds.  Here it is the same for every pair of pins; in truth it is the
        product of the capacitance and of what is across it.
    ohm
        Resistance of the board.

    Raises
    ------
    InputError
        When either is not above zero.

    """

    time_s: float
    ohm: float = BOARD_OHM

    def __post_init__(self) -> None:
        if not (0 < self.time_s < math.inf and 0 < self.ohm < math.inf):
            raise InputError(
                f"saw a board of {self.time_s:g} s and {self.ohm:g} ohm, expected more than 0"
            )

    def seen_ohm(self, ohm: float, charged_s: float) -> float:
        """Resistance seen in place of `ohm`, so many seconds after contact."""
        if not ohm:
            return 0.0
        end_ohm = 1 / (1 / ohm + 1 / self.ohm)
        return -math.expm1(-max(charged_s, 0.0) / self.time_s) * end_ohm
