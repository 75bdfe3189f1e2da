"""A whole simulated bench to practise on, and what can be switched while it runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final, Self

from coilmeter.errors import InputError
from coilmeter.sources.clock import Clock
from coilmeter.sources.outlets import Outlet
from coilmeter.sources.simulated import SimulatedBench
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.sources.simulated_joint import DROP_OUT_S, Board, LooseJoint
from coilmeter.sources.simulated_meter import SimulatedMeter
from coilmeter.sources.simulated_network import Node
from coilmeter.sources.simulated_person import Attendant
from coilmeter.sources.simulated_script import Move
from coilmeter.sources.simulated_tone import ToneBench, load_with
from coilmeter.sources.simulated_wire import SimulatedWire
from coilmeter.units import format_ohm
from coilmeter.values import Meter
from coilmeter.wire.contract import Format

LEAD_OHM: Final = 0.2
"""Both leads together (pub: J5, J6 in PROVENANCE.md: 0.1 to 0.2 ohm)."""

NOISE_COUNTS: Final = 0.3
"""Scatter of the last digit (invented)."""


@dataclass
class Station:
    """Head, hands, meter and wire together; a thread of its own moves the hands.

    Use it as a context manager: the hands obey between entry and exit.

    Parameters
    ----------
    head
        The head on the bench.
    model
        The meter.
    wire_format
        What it sends.
    clock
        The bench clock.
    rate_hz
        Readings a second.
    asleep
        Whether its data output is off at first.
    seed
        Of all that is random.
    outlet
        The port, where there is one: for `unplug`.
    routine
        Makes the moves of a whole walk over the head, where one is known.
    tone
        Source and series resistor; None for the usual ones.

    Raises
    ------
    InputError
        When the format cannot carry what the meter can show, or the rate is not positive.

    """

    head: SimulatedHead
    model: Meter
    wire_format: Format
    clock: Clock
    rate_hz: float = 10.0
    asleep: bool = False
    seed: int = 0
    outlet: Outlet | None = None
    routine: Callable[[], Sequence[Move]] | None = None
    tone: ToneBench | None = None
    hands: Hands = field(init=False)
    meter: SimulatedMeter = field(init=False)
    bench: SimulatedBench = field(init=False)
    wire: SimulatedWire = field(init=False)
    attendant: Attendant = field(init=False)

    def __post_init__(self) -> None:
        self.hands = Hands(self.head, self.clock, seed=self.seed)
        if self.tone is not None:
            self.hands.tone = self.tone
        load_with(self.hands.tone, self.model)
        self.meter = SimulatedMeter(
            self.model, noise_counts=NOISE_COUNTS, lead_ohm=LEAD_OHM, seed=self.seed
        )
        self.bench = SimulatedBench(
            self.meter, self.hands, self.wire_format, rate_hz=self.rate_hz
        )
        self.wire = SimulatedWire(self.bench, asleep=self.asleep, seed=self.seed)
        self.attendant = Attendant(self.hands)

    def __enter__(self) -> Self:
        self.attendant.__enter__()
        return self

    def __exit__(self, *what: object) -> None:
        self.attendant.__exit__(None, None, None)

    def move(self, *moves: Move) -> None:
        """Have the hands make these moves, in place of what is left of the moves before."""
        self.attendant.order(moves)

    def perform(self) -> None:
        """Have the hands walk over the whole head, from the beginning."""
        if self.routine is not None:
            self.move(*self.routine())

    def break_coil(self, coil: str, at: float) -> None:
        """Part the wire of a coil."""
        self.hands.head = self.hands.head.with_open(coil, at)

    def short_turns(self, coil: str, share: float) -> None:
        """Short a share of the turns of a coil."""
        self.hands.head = self.hands.head.with_shorted_turns(coil, share)

    def wear(self, gap_left: float, coil: str | None = None) -> None:
        """Wear the front gap of a coil, or of all, to a share of its depth when new."""
        head = self.hands.head
        for name in head.coils if coil is None else (coil,):
            head = head.with_core(name, gap_left=gap_left)
        self.hands.head = head

    def leak(self, a: Node, b: Node, ohm: float) -> None:
        """Connect two places of the head that should not be."""
        self.hands.head = self.hands.head.with_leak(a, b, ohm)

    def rewind(self, coil: str, ohm: float) -> None:
        """Give a coil another resistance at 20 degC."""
        self.hands.head = self.hands.head.with_resistance(coil, ohm)

    def warm(self, degc: float) -> None:
        """Bring the copper to a temperature."""
        self.hands.head = self.hands.head.at_temperature(degc)

    def loosen(self, coil: str, share: float, drop_out_s: float = DROP_OUT_S) -> None:
        """Make the joint of a coil open at random, from now on.

        Raises
        ------
        InputError
            When share or time cannot be.

        """
        # Two loose joints must not open together, and the same seed must open alike.
        seed = self.seed + 1 + list(self.head.coils).index(coil)
        joint = LooseJoint(share, drop_out_s=drop_out_s, since_s=self.clock.now(), seed=seed)
        self.hands.joints = {**self.hands.joints, coil: joint}

    def connect_board(self, board: Board | None) -> None:
        """Leave a board connected, or take it off."""
        self.hands.board = board

    def mend(self, coil: str | None = None) -> None:
        """Take what is broken, shorted, leaking, worn or loose of a coil away, or of all."""
        self.hands.head = self.hands.head.mended(coil)
        self.hands.joints = {
            name: joint
            for name, joint in self.hands.joints.items()
            if coil is not None and name != coil
        }
        if coil is None:
            self.hands.board = None

    def port(self) -> Outlet:
        """Give the port.

        Raises
        ------
        InputError
            When it has none.

        """
        if self.outlet is None:
            raise InputError("this bench has no port")
        return self.outlet

    def faults(self) -> Sequence[str]:
        """Say what is wrong with the head on the bench, a line each."""
        head = self.hands.head
        lines = [f"coil {coil}: broken at {at:g} of its wire" for coil, at in head.breaks]
        lines += [
            f"coil {coil}: gap worn to {core.gap_left:.0%}"
            for coil, core in head.cores.items()
            if core.gap_left < 1
        ]
        lines += [f"{_place(a)} to {_place(b)}: {format_ohm(ohm)}" for a, b, ohm in head.leaks]
        lines += [
            f"coil {coil}: a joint that is open {joint.share:.0%} of the time, "
            f"{joint.drop_out_s:g} s on average"
            for coil, joint in self.hands.joints.items()
        ]
        board = self.hands.board
        if board is not None:
            lines.append(
                f"a board of {format_ohm(board.ohm)}: readings creep with {board.time_s:g} s"
            )
        return lines


def _place(node: Node) -> str:
    return node if isinstance(node, str) else f"coil {node[0]} at {node[1]:g}"
