"""How long things take at the clips."""

from __future__ import annotations

from dataclasses import dataclass, field

from coilmeter.compute.settle import SettleRule


@dataclass(frozen=True, slots=True)
class ContactRule:
    """How long things take, in seconds.

    Parameters
    ----------
    settle
        When a run of readings counts as settled.
    lift_s
        OL for so long after a capture means that the clips have been lifted, and not that a
        joint dropped out: the next reading belongs to the next step.
    back_s
        A value for so long after a shorter OL means that the clips are back on, and not that
        they bounced as they were lifted.
    drop_s
        OL for so long ends a contact that had not settled.
    ask_s
        OL for so long brings the question whether the clips touch.
    tip_s
        How long a tip is across the points at most, from its first near-zero reading to its
        last; time without a reading counts.
    tip_least, tip_least_s
        How many near-zero readings make a tip, and how far the last is from the first at
        least.
    after_tip_s
        OL for so long after the tip is the coil's own.
    moving_s
        How long a contact may go without settling before something is said.
    gap_s
        A stream silent for so long says nothing of what the clips did in between: what was
        half settled or half proved is begun again.

    """

    settle: SettleRule = field(default_factory=SettleRule)
    lift_s: float = 1.0
    back_s: float = 0.3
    drop_s: float = 0.6
    ask_s: float = 4.0
    tip_s: float = 1.5
    tip_least: int = 2
    tip_least_s: float = 0.25
    after_tip_s: float = 0.8
    moving_s: float = 6.0
    gap_s: float = 2.5
