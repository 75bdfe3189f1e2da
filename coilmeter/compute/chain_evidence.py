"""What judged heads say of a chain, as outcomes of its tests.

One line of a table here says what each verdict means; another sort of evidence is one more
line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coilmeter.values import (
    CoilResult,
    Condition,
    HeadResult,
    Isolation,
    IsolationResult,
    Role,
    Stability,
)
from coilmeter.values.chains import ChainMap, Outcome, Seen
from coilmeter.values.impedances import HeadImpedance, Sign


class Place(StrEnum):
    """Where the coils were read."""

    HEAD = "head"
    PLUG = "plug"


OHMS: Final = MappingProxyType({Place.HEAD: "ohms-at-head", Place.PLUG: "ohms-at-plug"})
FLEXING: Final = "flex-lead"
ISOLATION: Final = "isolation"
INDUCTANCE: Final = "inductance"
"""Tests that judged heads answer, by name."""

OF_CONDITION: Final[Mapping[Condition, Outcome]] = MappingProxyType(
    {
        Condition.INTACT: Outcome.PASS,
        Condition.OPEN: Outcome.FAIL,
        Condition.HIGH: Outcome.FAIL,
        Condition.LOW: Outcome.FAIL,
        Condition.SHORTED: Outcome.FAIL,
        Condition.UNSTABLE: Outcome.FAIL,
    }
)
OF_STABILITY: Final[Mapping[Stability, Outcome]] = MappingProxyType(
    {
        Stability.STEADY: Outcome.PASS,
        Stability.NOISY: Outcome.FAIL,
        Stability.INTERMITTENT: Outcome.FAIL,
    }
)
OF_SIGN: Final[Mapping[Sign, Outcome]] = MappingProxyType(
    {
        Sign.NONE: Outcome.PASS,
        Sign.SHORTED: Outcome.FAIL,
        Sign.WEAR: Outcome.FAIL,
        Sign.DIFFERS: Outcome.FAIL,
    }
)
"""What is not in these tables decides nothing, and says nothing of a chain."""

ROLES: Final[Mapping[str, frozenset[Role]]] = MappingProxyType(
    {
        "playback": frozenset({Role.RECORD_PLAYBACK, Role.PLAYBACK, Role.UNKNOWN}),
        "record": frozenset({Role.RECORD_PLAYBACK, Role.RECORD, Role.UNKNOWN}),
        "erase": frozenset({Role.ERASE, Role.UNKNOWN}),
    }
)
"""Coils that belong to each chain; to a chain of the user's own, all of them."""


def of_heads(
    chain: ChainMap,
    heads: Iterable[HeadResult],
    track: str,
    *,
    place: Place = Place.HEAD,
    coil: str = "",
) -> list[Seen]:
    """Give what judged heads say of the tracks of a chain.

    Parameters
    ----------
    chain
        The map.
    heads
        Judged heads.
    track
        The track in question.
    place
        Where the coils were read.
    coil
        The coil of that track; empty where it bears the track's name.  All other coils are
        tracks of their names.  A head with one coil that fits has that of the track.

    """
    found = []
    for head in heads:
        fitting = [each for each in head.coils if _fits(each.role, chain.name)]
        tracks = _tracks([each.coil for each in fitting], track, coil)
        found += [
            Seen(test, outcome, tracks[each.coil], f"head {head.head}, coil {each.coil}")
            for each in fitting
            if each.coil in tracks
            for test, outcome in _of_coil(each, head.isolation, place)
        ]
    known = {test.name for test in chain.tests}
    return [each for each in found if each.name in known]


def of_impedance(
    chain: ChainMap, heads: Iterable[HeadImpedance], track: str, *, coil: str = ""
) -> list[Seen]:
    """Give what inductance and Q alone say; parameters are those of `of_heads`."""
    if INDUCTANCE not in {test.name for test in chain.tests}:
        return []
    found = []
    for head in heads:
        fitting = [name for name in head.coils if _fits(head.roles.get(name), chain.name)]
        tracks = _tracks(fitting, track, coil)
        found += [
            Seen(INDUCTANCE, OF_SIGN[sign], tracks[name], f"head {head.head}, coil {name}")
            for name in fitting
            if name in tracks and (sign := head.coils[name].sign) in OF_SIGN
        ]
    return found


def _tracks(names: Sequence[str], track: str, coil: str) -> dict[str, str]:
    """Give the track of each coil of a head, as far as it has one."""
    if coil in names:
        return {name: name for name in names if name != track} | {coil: track}
    if len(names) == 1 and not coil:
        return {names[0]: track}
    return {name: name for name in names if not coil or name != track}


def _fits(role: Role | None, chain: str) -> bool:
    return role is None or chain not in ROLES or role in ROLES[chain]


def _of_coil(
    coil: CoilResult, paths: Iterable[IsolationResult], place: Place
) -> Iterator[tuple[str, Outcome]]:
    flexed = None if coil.flex is None else OF_STABILITY.get(coil.flex.stability)
    if flexed is not None:
        yield FLEXING, flexed
    if coil.impedance is not None and coil.impedance.sign in OF_SIGN:
        yield INDUCTANCE, OF_SIGN[coil.impedance.sign]
    loose = coil.verdict is Condition.UNSTABLE and flexed is Outcome.FAIL
    if coil.verdict in OF_CONDITION and not loose:
        yield OHMS[place], OF_CONDITION[coil.verdict]
    own = [path for path in paths if coil.coil in {path.start, path.end}]
    if any(path.faulty for path in own):
        yield ISOLATION, Outcome.FAIL
    elif own and all(path.verdict is Isolation.ISOLATED for path in own):
        yield ISOLATION, Outcome.PASS
