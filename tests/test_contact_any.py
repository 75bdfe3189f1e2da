"""Any stream of readings at all: what a walk may never do."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st
from walk_helpers import (
    OL,
    VOLTS,
    ListKeeper,
    bad_resistances,
    ohms_of,
    overload,
    steps_of,
    walk_over,
)

from coilmeter.values import Flag, Reading, numbered_kind
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.events import Taken

TIP = ohms_of(0.2)


COIL = ohms_of(171.3)


def on_display(counts: int, decimals: int, *flags: Flag) -> Reading:
    """Make a reading that a display can show."""
    resolution = 10.0**-decimals
    return ohms_of(round(counts * resolution, max(decimals, 0)), resolution, *flags)


READINGS = st.one_of(
    st.just(OL),
    st.just(TIP),
    st.just(COIL),
    st.just(VOLTS),
    st.just(ohms_of(171.3, 0.1, Flag.HOLD)),
    st.just(ohms_of(171.3, None)),
    st.sampled_from(bad_resistances()),
    st.builds(overload, st.one_of(st.none(), st.floats(200.0, 1e9))),
    st.builds(on_display, st.integers(-9999, 9999), st.sampled_from([2, 1, 0, -3, -60])),
    st.builds(on_display, st.integers(1700, 1720), st.just(1), st.sampled_from(list(Flag))),
)


STREAMS = st.lists(
    st.tuples(st.sampled_from([0.0, 0.1, 0.2, 0.5, 1.0, 3.0]), READINGS, st.integers(1, 30)),
    max_size=25,
)


KEYS = st.lists(
    st.sampled_from(["", "", "", "o", "k", "s", "b", "r"]), min_size=25, max_size=25
)


@settings(max_examples=300, deadline=None)
@given(STREAMS, KEYS)
def test_any_stream_at_all(stream: list[tuple[float, Reading, int]], keys: list[str]) -> None:
    """Never an exception, never two values for one contact, and a value lies in its run."""
    keeper = ListKeeper()
    walk = walk_over(steps_of(numbered_kind(3), lead_null=True, isolation=True), keeper)
    commands = {
        "o": walk.confirm_open,
        "k": walk.keep_it,
        "s": walk.skip,
        "b": walk.back,
        "r": walk.redo,
    }
    walk.start()
    at = 0.0
    lifted_since: float | None = 0.0
    since_lift: list[Reading] = []
    for (gap, reading, times), key in zip(stream, keys, strict=False):
        for _ in range(times):
            at += gap
            lifted = lifted_since is not None and at - lifted_since >= ContactRule().lift_s
            since_lift.append(reading)
            events = walk.feed(at, reading)
            taken = [event.row for event in events if isinstance(event, Taken)]
            lifted_since = (lifted_since or at) if reading.overload else None

            assert len(taken) <= 1
            for row in taken:
                if row.proof:
                    continue
                values = [
                    one.value
                    for one in since_lift[-row.count :]
                    if one.value is not None and math.isfinite(one.value)
                ]
                value = row.reading.ohm

                assert row.count == len(values)
                assert value is not None
                assert min(values) <= value <= max(values)
                assert not lifted
        if key:
            commands[key]()

    assert len(keeper.rows) == len({id(row) for row in keeper.rows})


@settings(max_examples=200, deadline=None)
@given(STREAMS)
def test_two_values_have_a_lift_between_them(stream: list[tuple[float, Reading, int]]) -> None:
    """Without a second of OL after a value, no other value is taken."""
    walk = walk_over(steps_of(numbered_kind(3), isolation=True))
    walk.start()
    at, open_since, lifted = 0.0, math.inf, True
    for gap, reading, times in stream:
        for _ in range(times):
            at += gap
            open_since = min(open_since, at) if reading.overload else math.inf
            lifted = lifted or at - open_since >= ContactRule().lift_s
            events = walk.feed(at, reading)
            taken = [event.row for event in events if isinstance(event, Taken)]
            for row in taken:
                if not row.proof:
                    assert lifted
                    lifted = False
