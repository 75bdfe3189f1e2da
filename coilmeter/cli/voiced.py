"""What all screens share that also speak: opened and closed together with their voice."""

from __future__ import annotations

from contextlib import AbstractContextManager
from types import TracebackType
from typing import Any, Generic, Self, TypeVar

from coilmeter.cli.speech import Speaker

_ScreenT = TypeVar("_ScreenT", bound=AbstractContextManager[Any])


class Voiced(Generic[_ScreenT]):
    """A screen with a voice beside it.

    Parameters
    ----------
    screen
        Shows what happens.
    speaker
        Says it; opened and closed with the screen.

    """

    def __init__(self, screen: _ScreenT, speaker: Speaker) -> None:
        self._screen = screen
        self._speaker = speaker

    def __enter__(self) -> Self:
        self._speaker.__enter__()
        self._screen.__enter__()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        # The screen first: it holds the terminal, and the last words may take a while.
        self._screen.__exit__(kind, error, trace)
        self._speaker.__exit__(kind, error, trace)
