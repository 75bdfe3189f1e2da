"""A coil of the simulated head at a tone: its core, its shorted turns, what lies across it.

What the network of resistors adds to the coil alone (leaks, other coils that share pins) lies
across its two ends.  That is exact for what is connected to the ends; a leak from a place
within the winding counts as one across the ends that draws the same direct current.
"""

from __future__ import annotations

import math
from typing import Final

from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_joint import Board

_SHORT_SIEMENS: Final = 1e6
_MOST_SHORTED: Final = 0.999
_TURN: Final = 2 * math.pi


def shorted_share(head: SimulatedHead, coil: str) -> float:
    """Share of the turns of a coil between places that are joined by nothing."""
    pin_a, pin_b, _ = head.coils[coil]
    ends = {pin_a: 0.0, pin_b: 1.0}
    spans = []
    for a, b, ohm in head.leaks:
        places = [
            ends.get(node, math.nan)
            if isinstance(node, str)
            else (node[1] if node[0] == coil else math.nan)
            for node in (a, b)
        ]
        if ohm == 0 and not any(map(math.isnan, places)):
            spans.append((min(places), max(places)))
    share, reached = 0.0, 0.0
    for low, high in sorted(spans):
        share += max(high - max(low, reached), 0.0)
        reached = max(reached, high)
    return share


def coil_siemens(
    head: SimulatedHead, coil: str, frequency_hz: float, board: Board | None = None
) -> complex:
    """Admittance between the two pins of a coil at a frequency.

    Parameters
    ----------
    head
        The head, with whatever is wrong with it.
    coil
        Name of the coil.
    frequency_hz
        The tone.
    board
        A board that is still connected: its resistance and the capacitor of its time constant.

    """
    pin_a, pin_b, ohm = head.coils[coil]
    turn = _TURN * frequency_hz
    siemens = 0j
    if board is not None:
        siemens += (1 + 1j * turn * board.time_s) / board.ohm
    network_ohm = head.resistance_between(pin_a, pin_b)
    if not network_ohm:
        return complex(_SHORT_SIEMENS)
    share = min(shorted_share(head, coil), _MOST_SHORTED)
    copper_ohm = ohm * head.copper_factor
    alone_siemens = 0.0
    if math.isfinite(copper_ohm) and coil not in {name for name, _ in head.breaks}:
        model = head.core_of(coil).coil(copper_ohm, share)
        alone_siemens = 1 / model.dc_ohm
        siemens += 1 / model.impedance_ohm(frequency_hz)
    return siemens + max(1 / network_ohm - alone_siemens, 0.0)
