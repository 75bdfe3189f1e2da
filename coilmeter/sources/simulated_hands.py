"""The hands at the simulated bench: what the clips touch, and what they see there."""

from __future__ import annotations

import math
import threading
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from coilmeter.errors import UnknownNameError
from coilmeter.sources.clock import Clock
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_joint import Board, LooseJoint
from coilmeter.sources.simulated_tone import HUM_VOLT, ToneBench
from coilmeter.sources.simulated_tone_head import coil_siemens
from coilmeter.values.impedance_rows import ACROSS

TIP_OHM: Final = 0.03
"""Contact resistance of a metal tip across two pins, in ohm (invented, plausible)."""

BOUNCE_OHM: Final = (0.5, 500.0)
"""Smallest and largest contact resistance while a clip bounces (invented, plausible)."""


@dataclass(frozen=True, slots=True)
class _Contact:
    """What the clips do: resistance between them, and how the contact bounced at first."""

    pins: tuple[str, str] | None
    between_ohm: float
    since_s: float
    charged_from_s: float
    until_s: tuple[float, ...]
    series_ohm: tuple[float, ...]
    tip: bool = False


class Hands:
    """What the two clips are doing now.  May be used from several threads at once.

    Parameters
    ----------
    head
        The head on the bench; assign `head` to switch a fault while the meter runs.
    clock
        The bench clock.
    bounce_s
        For how long after each contact it is not clean, in seconds: open and some random
        ohms in turn.  Zero for a clean contact at once.
    tip_ohm
        Contact resistance of the metal tip, in ohm.
    seed
        Seed of the bounce; the same seed and the same moves bounce alike.

    Attributes
    ----------
    joints
        The loose joints of the head, by coil; assign another mapping to change them.
    board
        The board that the head is still connected to; None for a head by itself.
    tone
        The tone source, the series resistor and the coil between them, for AC volts.

    """

    def __init__(
        self,
        head: SimulatedHead,
        clock: Clock,
        *,
        bounce_s: float = 0.25,
        tip_ohm: float = TIP_OHM,
        seed: int = 0,
    ) -> None:
        self.clock = clock
        self.bounce_s = bounce_s
        self.tip_ohm = tip_ohm
        self.joints: Mapping[str, LooseJoint] = {}
        self.board: Board | None = None
        self.tone = ToneBench(coil=next(iter(head.coils), ""))
        self._head = head
        self._random = np.random.default_rng(seed)
        self._lock = threading.Lock()
        self._contact: _Contact | None = None

    @property
    def head(self) -> SimulatedHead:
        """The head on the bench.

        Raises
        ------
        InputError
            On assignment, when the new head has no such pins as are clipped now.

        """
        return self._head

    @head.setter
    def head(self, head: SimulatedHead) -> None:
        """Put another head under the clips where they are."""
        with self._lock:
            contact = self._contact
            if contact is not None and contact.pins is not None:
                between_ohm = head.resistance_between(*contact.pins)
                self._contact = replace(contact, between_ohm=between_ohm)
            self._head = head

    @property
    def where(self) -> str:
        """What the clips are on, in words."""
        contact, across = self._contact, self.tone.across
        if across is not None:
            return f"across the {'source' if across == 'total' else across}"
        if contact is None:
            return "in the air"
        on = "together" if contact.pins is None else " and ".join(contact.pins)
        return f"{on}, a tip across" if contact.tip else on

    def clip(self, a: str, b: str) -> None:
        """Put the clips on two pins (or a pin and ``case``); the contact bounces first.

        Raises
        ------
        InputError
            When the head has no such pin.

        """
        with self._lock:
            self._touch((a, b), self._head.resistance_between(a, b))

    def short_leads(self) -> None:
        """Put the clips together, as for a lead null; the contact bounces first."""
        with self._lock:
            self._touch(None, 0.0)

    def lift(self) -> None:
        """Take the clips, and the metal tip, away."""
        with self._lock:
            self._contact = self.tone.across = None

    def connect(self, coil: str) -> None:
        """Put another coil behind the series resistor, the leads off.

        Raises
        ------
        UnknownNameError
            When the head has none of that name.

        """
        if coil not in self._head.coils:
            raise UnknownNameError("coil of this head", coil, tuple(self._head.coils))
        with self._lock:
            self._contact = None
            self.tone.connect(coil)

    def probe(self, across: str) -> None:
        """Put the leads across ``total``, ``resistor`` or ``coil`` of the tone circuit.

        Raises
        ------
        UnknownNameError
            When it is none of these.

        """
        if across not in ACROSS:
            raise UnknownNameError("place for the leads", across, ACROSS)
        with self._lock:
            self._contact, self.tone.across = None, across

    def bridge(self, *, on: bool) -> None:
        """Lay a metal tip across the two clipped pins, or take it away.

        With the clips lifted it changes nothing: that is what tells an open coil from clips
        that do not touch.  It discharges the board, too.
        """
        with self._lock:
            if self._contact is not None:
                self._contact = replace(self._contact, tip=on, charged_from_s=self.clock.now())

    def resistance(self, now: float) -> float:
        """Give what the clips see at `now` (seconds of the bench clock), without the leads.

        Returns
        -------
        float
            In ohm; infinite when lifted, or when nothing connects the clips.

        """
        with self._lock:
            contact, head, joints, board = self._contact, self._head, self.joints, self.board
        if contact is None:
            return math.inf
        phase = bisect_right(contact.until_s, now - contact.since_s)
        series_ohm = contact.series_ohm[phase] if phase < len(contact.series_ohm) else 0.0
        between_ohm = contact.between_ohm
        parted = [coil for coil, joint in joints.items() if joint.is_open(now)]
        if parted and contact.pins is not None:
            for coil in parted:
                head = head.with_open(coil)
            between_ohm = head.resistance_between(*contact.pins)
        if contact.tip:
            between_ohm = 1 / (1 / between_ohm + 1 / self.tip_ohm) if between_ohm else 0.0
        elif board is not None and contact.pins is not None:
            between_ohm = board.seen_ohm(between_ohm, now - contact.charged_from_s)
        return series_ohm + between_ohm

    def volt(self, now: float) -> float:
        """Give the alternating voltage between the leads at `now`, roll-off included.

        Clips on the two pins of the coil that is connected are across that coil.
        """
        with self._lock:
            contact, head, joints, board = self._contact, self._head, self.joints, self.board
            tone, across = self.tone, self.tone.across
        if across is None and contact is not None:
            if contact.pins is None or contact.tip:
                return 0.0
            if set(contact.pins) == set(head.coils[tone.coil][:2]):
                across = "coil"
        if across is None or not tone.on:
            return HUM_VOLT
        for coil in (name for name, joint in joints.items() if joint.is_open(now)):
            head = head.with_open(coil)
        siemens = coil_siemens(head, tone.coil, tone.frequency_hz, board)
        return tone.volt_across(across, siemens) * tone.meter_gain

    def _touch(self, pins: tuple[str, str] | None, between_ohm: float) -> None:
        """Make contact, and draw how it will bounce: open and some ohms in turn."""
        half = int(self._random.integers(2, 5))
        cuts = np.sort(self._random.uniform(0.0, self.bounce_s, 2 * half - 1))
        ohms = np.geomspace(*BOUNCE_OHM, 1000)[self._random.integers(0, 1000, half)]
        now = self.clock.now()
        self.tone.across = None
        self._contact = _Contact(
            pins,
            between_ohm,
            now,
            now,
            (*cuts.tolist(), self.bounce_s),
            tuple(ohm for contact in ohms.tolist() for ohm in (math.inf, contact)),
        )
