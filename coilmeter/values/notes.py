"""Notes of a row that say what a value does not show, as they stand in a readings file."""

from __future__ import annotations

from typing import Final

BLINKED: Final = "dropped out while clipped"
CREPT: Final = "crept before it stood still"
UNMOVED: Final = "clips not seen to move"
"""Of an OL on a coil, taken right behind another OL: it may be that of the points before."""
