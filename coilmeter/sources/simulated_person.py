"""Someone at the simulated bench who does what is asked, when it is asked."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Sequence

from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_script import Move
from coilmeter.sources.simulated_thread import SLICE_S, BenchThread


class Attendant(BenchThread):
    """Moves the hands by orders that come while the bench runs.

    Unlike a `Performer`, whose script is fixed, an attendant is told what to do next by
    whoever listens to a walk.  An order replaces what is left of the one before.

    Parameters
    ----------
    hands
        The hands to move.

    """

    def __init__(self, hands: Hands) -> None:
        super().__init__("coilmeter-attendant", hands.clock)
        self._hands = hands
        self._moves: deque[Move] = deque()
        self._changed = threading.Condition()
        self._order = 0
        self._making = False

    def order(self, moves: Sequence[Move]) -> None:
        """Have these moves made, each after its wait, from now on."""
        with self._changed:
            self._moves = deque(moves)
            self._order += 1
            self._changed.notify()

    @property
    def idle(self) -> bool:
        """Whether all moves of the latest order are made."""
        with self._changed:
            return not self._moves and not self._making

    def work(self) -> None:
        """Make the moves of the latest order."""
        while not self.stopping:
            with self._changed:
                if not self._moves:
                    self._changed.wait(0.02)
                    continue
                number, move = self._order, self._moves[0]
            if self._waited(move.wait_s, number):
                move.action(self._hands)
                self._making = False

    def _waited(self, wait_s: float, number: int) -> bool:
        """Wait before a move of an order; False when told otherwise in the meantime."""
        due_s = self.clock.now() + wait_s
        while not self.stopping:
            with self._changed:
                if number != self._order:
                    return False
                left_s = due_s - self.clock.now()
                if left_s <= 0:
                    self._moves.popleft()
                    self._making = True
                    return True
            self.clock.sleep(min(left_s, SLICE_S))
        return False
