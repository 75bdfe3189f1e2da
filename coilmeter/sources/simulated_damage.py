"""What a bad cable does to the bytes of a meter."""

from __future__ import annotations

from typing import Final

import numpy as np

from coilmeter.errors import InputError

_MOST_GARBAGE: Final = 6


class Damage:
    """Spoils frames at random: a bit flipped, bytes lost, bytes that nobody sent.

    Parameters
    ----------
    seed
        The same seed and the same frames are spoilt alike.

    Attributes
    ----------
    spoilt
        How many frames it has spoilt.

    """

    def __init__(self, seed: int = 0) -> None:
        self.spoilt = 0
        self._share = 0.0
        self._random = np.random.default_rng(seed)

    @property
    def share(self) -> float:
        """Share of the frames that are spoilt, 0 to 1.

        Raises
        ------
        InputError
            On assignment of anything else.

        """
        return self._share

    @share.setter
    def share(self, share: float) -> None:
        """Spoil this share from now on."""
        if not 0 <= share <= 1:
            raise InputError(f"saw a share of {share:g}, expected 0 to 1")
        self._share = share

    def pass_on(self, frame: bytes) -> bytes:
        """Give what arrives of a frame."""
        if not frame or self._random.random() >= self._share:
            return frame
        self.spoilt += 1
        at = int(self._random.integers(len(frame)))
        match int(self._random.integers(4)):
            case 0:
                flipped = frame[at] ^ 1 << int(self._random.integers(8))
                return frame[:at] + bytes([flipped]) + frame[at + 1 :]
            case 1:
                lost = int(self._random.integers(1, 3))
                return frame[:at] + frame[at + lost :]
            case 2:
                return frame[:at] + self._garbage() + frame[at:]
            case _:
                garbage = self._garbage()
                return frame[:at] + garbage + frame[at + len(garbage) :]

    def _garbage(self) -> bytes:
        return self._random.bytes(int(self._random.integers(1, _MOST_GARBAGE)))
