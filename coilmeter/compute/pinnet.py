"""Readings of pin pairs to the map of a head: its coils, what joins them, and what is open.

The way: readings of a pair are put together; points joined by a dead short become one; points
that conduct as coils do form parts; each part whose pairs have all been read is solved into
links, and taken apart into blocks where a better explanation is known than a tangle; then
comes what lies between the blocks, which a sound head isolates.  Readings that cannot all be
right are named, and nothing is guessed from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from coilmeter.compute.pinnet_blocks import Block, Form, blocks_of
from coilmeter.compute.pinnet_checks import impossible, refuted
from coilmeter.compute.pinnet_pairs import Pair, Pairs, Zone
from coilmeter.compute.pinnet_paths import paths_between
from coilmeter.compute.pinnet_shapes import group_of
from coilmeter.compute.pinnet_solve import Node, Nodes
from coilmeter.units import format_ohm
from coilmeter.values import CASE, Isolation
from coilmeter.values.pinmaps import (
    Contradiction,
    Gap,
    Missing,
    PinGroup,
    PinMap,
    PinPath,
)


def map_of(pairs: Pairs) -> PinMap:
    """Find out what readings of pairs, put together, say of a head.

    Returns
    -------
    PinMap
        What is known, what is open and which pairs decide, and what contradicts.

    """
    field = pairs.field
    contradictions = [*pairs.contradictions, *refuted(pairs)]
    nodes = Nodes(pairs)
    blocks: list[Block] = []
    for part in nodes.components():
        found, more = _of_part(nodes, part, contradictions)
        blocks += found
        contradictions += more
    order = {point: place for place, point in enumerate(field.points)}
    blocks.sort(key=lambda block: min(order[pin] for node in block.nodes for pin in node))
    groups = tuple(group_of(nodes, block) for block in blocks)
    paths = paths_between(nodes, blocks)
    return PinMap(
        field,
        groups,
        tuple(paths),
        tuple(_gaps(pairs, blocks, groups, paths)),
        tuple(contradictions),
        sum(len(pair.readings) for pair in pairs.by_pins.values()),
    )


def _of_part(
    nodes: Nodes, part: Sequence[Node], known: Sequence[Contradiction]
) -> tuple[list[Block], list[Contradiction]]:
    """Take a part apart; where readings in it contradict, nothing is told from them."""
    points = [pin for node in part for pin in node]
    guess_nothing = [Block(tuple(part), Form.CONTRADICTED)]
    if any({*pins} <= {*points} for each in known for pins in each.pairs):
        return guess_nothing, []
    try:
        found = blocks_of(nodes, part)
    except ValueError:
        return guess_nothing, [_tangled(nodes.pairs, points)]
    solved = [block.solved for block in found if block.solved is not None]
    wrong = [told for each in solved for told in impossible(nodes.pairs, each)]
    return (guess_nothing if wrong else found), wrong


def _tangled(pairs: Pairs, points: Sequence[str]) -> Contradiction:
    among = [pair for pair in pairs.by_pins.values() if set(pair.pins) <= set(points)]
    told = "; ".join(pair.readings[-1].told for pair in among)
    return Contradiction(
        tuple(pair.pins for pair in among),
        f"no network of resistors reads like this among {', '.join(points)}: {told}",
    )


def _gaps(
    pairs: Pairs,
    blocks: Sequence[Block],
    groups: Sequence[PinGroup],
    paths: Sequence[PinPath],
) -> Iterator[Gap]:
    for block in blocks:
        yield from _inner(pairs, block)
    for pair in pairs.by_pins.values():
        yield from _doubts(pair)
    for path in paths:
        if path.verdict not in {Isolation.MISSING, Isolation.UNDECIDED}:
            continue
        one, other = (groups[place] for place in path.between)
        gap = _between(pairs, one, other, path)
        if gap is not None:
            yield gap


def _inner(pairs: Pairs, block: Block) -> Iterator[Gap]:
    """Tell what is missing within a block; what contradicts is no gap."""
    if block.form is Form.CONTRADICTED:
        return
    if block.form is Form.POINT:
        yield from _shorted_coil(pairs, block)
        return
    beeps = tuple(pair.pins for pair in block.unread if pair.readings)
    rest = tuple(pair.pins for pair in block.unread if not pair.as_coil)
    names = ", ".join(pin for node in block.nodes for pin in node)
    if beeps and not rest:
        listed = ", ".join("-".join(pins) for pins in beeps)
        told = f"{listed}: known to conduct, and not how well; read it in ohms"
        yield Gap(Missing.VALUE, beeps, told)
    elif block.form is Form.UNCLEAR:
        told = (
            f"pins {names}: the readings are too uncertain to tell what lies between each two; "
            "read them on a finer range, null the leads, or use four wires"
        )
        among = combinations([pin for node in block.nodes for pin in node], 2)
        yield Gap(Missing.DOUBT, tuple(among), told)
    elif block.unread:
        told = f"pins {names} conduct to each other; what lies between each two is not known"
        yield Gap(Missing.INNER, tuple(pair.pins for pair in block.unread), told)


def _shorted_coil(pairs: Pairs, block: Block) -> Iterator[Gap]:
    """Tell where pins that read near zero, and nothing else, may be a very low coil."""
    (node,) = block.nodes
    if len(node) == 1 or CASE in node:
        return
    inner = [pair for pair in pairs.between(node, node) if pair.value is not None]
    values = [pair.value for pair in inner if pair.value is not None]
    highest = max((value.ohm + 2 * value.u_ohm for value in values), default=0.0)
    if highest > pairs.limits.short_ohm:
        told = (
            f"pins {', '.join(node)}: less than {format_ohm(highest)} between them, a shorted "
            "coil or one as low as that; null the leads or use four wires"
        )
        yield Gap(Missing.DOUBT, tuple(dict.fromkeys(pair.pins for pair in inner)), told)


def _doubts(pair: Pair) -> Iterator[Gap]:
    """Tell where one value may be of two sorts."""
    if pair.value is None or len(pair.possible) == 1:
        return
    said = pair.readings[-1].told
    if {Zone.SHORT, Zone.COIL} <= pair.possible:
        told = f"{said}: a dead short or a very low coil; null the leads or use four wires"
        yield Gap(Missing.DOUBT, (pair.pins,), told)
    elif {Zone.COIL, Zone.LEAK} <= pair.possible:
        told = f"{said}: too high for a coil, or just not; read it on another range"
        yield Gap(Missing.DOUBT, (pair.pins,), told)


def _between(pairs: Pairs, one: PinGroup, other: PinGroup, path: PinPath) -> Gap | None:
    """Tell what is open between two groups, and which pairs would decide."""
    across = pairs.between(one.pins, other.pins)
    names = f"{name_of(one)} and {name_of(other)}"
    decides = tuple(pair.pins for pair in across)
    if not any(pair.no_coil for pair in across):
        both_alone = all(len(group.pins) == 1 for group in (one, other))
        with_case = CASE in (*one.pins, *other.pins)
        what = Missing.PARTNER if both_alone and not with_case else Missing.ATTACHED
        bound = max(pair.above_ohm for pair in across)
        why = f"read only past {format_ohm(bound)}" if bound else "not read"
        return Gap(what, decides, f"{names}: {why}")
    doubtful = [pair for pair in across if pair.value is not None]
    if doubtful:
        said = doubtful[-1].readings[-1].told
        told = f"{names}: {said}; clean, dry and repeat"
        return Gap(Missing.DOUBT, tuple(pair.pins for pair in doubtful), told)
    bound = path.bound_ohm or 0.0
    told = f"{names}: no coil between them; a leak is open, read only past {format_ohm(bound)}"
    return Gap(Missing.APART, decides, told)


def name_of(group: PinGroup) -> str:
    """Name a group by its pins."""
    pins = "-".join("=".join(node) for node in group.nodes)
    if pins == CASE:
        return "the case"
    return f"pin {pins}" if len(group.pins) == 1 else f"pins {pins}"
