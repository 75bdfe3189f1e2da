"""Simulated hands that do all that a check of a head asks for, one thing after the other."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from coilmeter.errors import InputError
from coilmeter.sources.simulated_hands import Hands
from coilmeter.sources.simulated_script import Move, Touch, script_for
from coilmeter.sources.simulated_station import Station
from coilmeter.values import Band, HeadKind
from coilmeter.walks.contact_rule import ContactRule
from coilmeter.walks.steps import CLIPS, Step, plan

_KEY_S: Final = 10.0
"""How long the clips stay where a person at the check must press a key, in seconds."""

SLOWEST_HZ: Final = 1.5
"""A tip must be seen twice and be gone within 1.5 s (`ContactRule`): no slower meter can."""

_SPARE: Final = 2.0
"""Times the least that a check needs: another machine may be busy."""


def make_routine(
    station: Station,
    kind: HeadKind,
    bands: Mapping[str, Band],
    tell: Callable[[str], None],
) -> Callable[[], Sequence[Move]]:
    """Give what makes the moves of a whole check, for the head as it is at that moment.

    The hands do not see the screen of the check: they hold each pair for as long as it
    takes, and go on.

    Parameters
    ----------
    station
        The bench.
    kind
        The kind that is checked.
    bands
        All bands, by name.
    tell
        Is told each move in words.

    Returns
    -------
    callable
        Makes the moves; raises `InputError` where the meter is too slow for a check to tell
        a tip from a short.

    Raises
    ------
    InputError
        When the head has not the pins of the kind.

    """
    steps = plan(
        kind,
        {coil.name: bands[coil.band] for coil in kind.coils},
        lead_null=not station.model.four_wire,
    )

    def routine() -> Sequence[Move]:
        touches = [_touch(station, step) for step in steps]
        period_s, rule = 1 / station.rate_hz, ContactRule()
        if station.rate_hz < SLOWEST_HZ:
            raise InputError(
                f"hands that walk, and a meter of {station.rate_hz:g} readings a second",
                hint=f"give --rate {SLOWEST_HZ:g} or more: a check cannot tell a tip from a "
                "short any slower.",
            )
        bridge_s = max(rule.tip_least_s * _SPARE, rule.tip_least * period_s)
        return tuple(
            _told(move, tell)
            for move in script_for(
                touches,
                lifted_s=rule.lift_s * 1.5 + 2 * period_s,
                ol_hold_s=rule.ask_s * 1.25 + 2 * period_s,
                bridge_s=bridge_s + station.hands.bounce_s / 2,
                after_bridge_s=rule.after_tip_s * _SPARE + 2 * period_s,
            )
        )

    for step in steps:
        _touch(station, step)
    return routine


def _touch(station: Station, step: Step) -> Touch:
    settle = ContactRule().settle
    if step.points == CLIPS:
        return Touch(None, hold_s=_hold_s(station, settle.window_s))
    pair = step.points
    ohm = station.hands.head.resistance_between(*pair)
    if ohm > _end_ohm(station):
        return Touch(pair, bridge=True)
    if ohm <= step.near_zero_ohm or step.reads_like_a_coil(ohm):
        return Touch(pair, hold_s=_KEY_S)
    slow = ohm > settle.slow_above_ohm
    return Touch(
        pair, hold_s=_hold_s(station, settle.slow_window_s if slow else settle.window_s)
    )


def _hold_s(station: Station, window_s: float) -> float:
    """Time to bounce, to fill the window of a settled reading, and to spare."""
    least = ContactRule().settle.least + 1
    return station.hands.bounce_s + max(window_s, least / station.rate_hz) * _SPARE + 0.5


def _end_ohm(station: Station) -> float:
    """End of the highest range, past which the meter shows OL."""
    return max(
        (float(each.full_scale.m_as("ohm")) for each in station.model.ranges), default=math.inf
    )


def _told(move: Move, tell: Callable[[str], None]) -> Move:
    def action(hands: Hands) -> None:
        tell(move.note)
        move.action(hands)

    return Move(move.wait_s, action, move.note)
