"""The limits by which flexing is judged, each with its reason.

All of them are this tool's own: no published limit was found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

USUAL_COUNTS: Final = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 10.0)
"""Leading digits of the ends of displays; of a meter that nobody named, any may be its own."""

FEWEST_COUNTS: Final = 1000.0
"""No display ends below."""


@dataclass(frozen=True, slots=True)
class FlexRule:
    """How much is a change, how long is long, how little is too little.

    Parameters
    ----------
    floor_steps, floor_ohm, floor_fraction
        A change up to the largest of so many last digits, so many ohm and this fraction of
        the level is nobody's fault: displays flicker by a digit or two; leads and clips that
        are pulled change by some tenths of an ohm (they have 0.1 to 0.2 ohm themselves,
        published in meter manuals); the field of the mains and of the earth moves the
        reading of a large coil.
    sigmas
        So many standard deviations of the meter's own scatter are flicker too.
    most_fraction
        A meter that flickers by more of the level than this cannot tell a steady joint.
    follow_s
        Time in which the level follows a slow drift: a hand warms a head by some kelvin in
        minutes (0.39 % a kelvin), and a joint changes within a reading.
    drift_fraction
        A drift of more than this is no warmth of a hand (2.5 K).
    one_way
        Share of all ups and downs that must be left over as one way in a creep.
    smooth
        Largest share of a creep that may happen from one reading to the next.
    gap_s
        A pause of so long is none of the time that was watched.
    long_open_s
        OL of so long may be lifted clips: a person is asked.
    lifted_s
        OL of so long, and nobody answers: it ends.
    least_rate_hz
        Readings a second below which a drop-out is too easily missed: 5 (common practice, no
        source), less what a meter's clock may be off.
    least_s, least_readings
        Less than this was not watched for long enough to be called steady.
    few_blips
        So many single readings off the level are no damaged frames.
    near_end_share
        From this share of the range on, an autoranging meter may change it by itself.

    """

    floor_steps: float = 5.0
    floor_ohm: float = 0.5
    floor_fraction: float = 0.002
    sigmas: float = 6.0
    most_fraction: float = 0.05
    follow_s: float = 2.0
    drift_fraction: float = 0.01
    one_way: float = 0.5
    smooth: float = 0.25
    gap_s: float = 2.5
    long_open_s: float = 3.0
    lifted_s: float = 8.0
    least_rate_hz: float = 4.5
    least_s: float = 8.0
    least_readings: int = 40
    few_blips: int = 3
    near_end_share: float = 0.9

    def floor_ohm_at(self, level_ohm: float, step_ohm: float) -> float:
        """Change in ohm that any meter may show on a steady joint."""
        return max(
            self.floor_steps * step_ohm, self.floor_ohm, self.floor_fraction * abs(level_ohm)
        )

    def share_of_range(
        self, level_ohm: float, step_ohm: float, end_ohm: float | None
    ) -> float | None:
        """How far up its range a level lies, 1 at the end; None where nothing is told.

        Where the end of the range is not told, that of the usual display which is next to it.
        """
        if end_ohm is not None and math.isfinite(end_ohm) and end_ohm > 0:
            return abs(level_ohm) / end_ohm
        counts = abs(level_ohm) / step_ohm if step_ohm else 0.0
        if counts < self.near_end_share * FEWEST_COUNTS:
            return None
        leading = counts / 10.0 ** math.floor(math.log10(counts))
        return min((leading / end for end in USUAL_COUNTS), key=lambda share: abs(share - 1))
