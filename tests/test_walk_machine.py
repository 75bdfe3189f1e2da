"""The walk against a model: any order of commands."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
)
from walk_helpers import ListKeeper, names, steps_of, walk_over

from coilmeter.errors import ReadingTextError
from coilmeter.values import numbered_kind
from coilmeter.walks.events import Taken


class WalkMachine(RuleBasedStateMachine):
    """Any order of commands against a model: a list of steps, and what was typed for each."""

    def __init__(self) -> None:
        super().__init__()
        self.model: dict[str, str] = {}
        self.skipped: set[str] = set()
        self.count = 0

    @initialize(coils=st.integers(1, 4), isolation=st.booleans())
    def begin(self, coils: int, isolation: bool) -> None:  # noqa: FBT001 - by name
        """Begin a walk."""
        self.keeper = ListKeeper(refuse=lambda row: row.reading.text.startswith("13"))
        steps = steps_of(numbered_kind(coils), lead_null=True, isolation=isolation)
        self.walk = walk_over(steps, self.keeper)
        self.walk.start()

    def _key(self) -> str:
        """Tell the step that waits."""
        assert self.walk.step is not None
        return self.walk.step.key

    @precondition(lambda self: not self.walk.finished)
    @rule(form=st.sampled_from(["{} ohm", "{} kohm", "OL {} ohm"]))
    def type(self, form: str) -> None:
        """Type a reading that was not typed before."""
        self.count += 1
        key, text = self._key(), form.format(self.count)
        events = self.walk.type(text)
        if text.startswith("13"):
            assert ["NotKept"] == names(events)
            assert key == self._key()
            return
        assert any(isinstance(event, Taken) for event in events)
        self.model[key] = text
        self.skipped.discard(key)

    @precondition(lambda self: not self.walk.finished)
    @rule()
    def skip(self) -> None:
        """Leave a step out."""
        key = self._key()
        self.walk.skip()
        if key not in self.model:
            self.skipped.add(key)

    @rule(command=st.sampled_from(["back", "redo"]))
    def return_(self, command: str) -> None:
        """Go back; a step that was skipped is open again."""
        getattr(self.walk, command)()
        if self.walk.step is not None:
            self.skipped.discard(self.walk.step.key)

    @precondition(lambda self: not self.walk.finished)
    @rule(text=st.sampled_from(["", "about 170", "nan", "-", "12 V"]))
    def mistype(self, text: str) -> None:
        """Type what is no reading."""
        key = self._key()
        with pytest.raises(ReadingTextError):
            self.walk.type(text)
        assert key == self._key()

    @invariant()
    def what_is_kept_was_typed_last(self) -> None:
        """Each step holds what was typed last for it, and nothing else is kept."""
        assert self.model == self.keeper.latest()
        assert set(self.model) == set(self.walk.taken)

    @invariant()
    def the_end_is_the_end(self) -> None:
        """Check that it is finished only where every step is taken or skipped."""
        every = {step.key for step in self.walk.steps}
        if self.walk.finished:
            assert every == set(self.model) | self.skipped
        assert self.skipped == self.walk.skipped


TestWalkMachine = WalkMachine.TestCase


TestWalkMachine.settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
