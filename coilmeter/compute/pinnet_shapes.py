"""What a block of points is recognised as, and what ohms cannot tell about it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilmeter.compute.pinnet_blocks import Block, Form
from coilmeter.compute.pinnet_solve import Node, Nodes, Solved, connected, has_case
from coilmeter.compute.pinnet_trees import (
    UNLIKE,
    direct,
    joined_text,
    listed,
    named,
    plain,
    tree,
)
from coilmeter.units import format_ohm
from coilmeter.values.pinmaps import PinGroup, PinLink, Shape


def group_of(nodes: Nodes, block: Block) -> PinGroup:
    """Recognise a block."""
    match block.form:
        case Form.POINT:
            return _point(nodes, block)
        case Form.OPEN:
            return _unfinished(nodes, block)
        case Form.TREE:
            return tree(nodes, block)
        case Form.HIDDEN:
            return _hidden(nodes, block)
        case Form.NETWORK:
            return _network(nodes, block)
        case Form.UNCLEAR | Form.CONTRADICTED:
            names = ", ".join(map(plain, block.nodes))
            told = f"{names} conduct to each other, too uncertain to tell how"
            if block.form is Form.CONTRADICTED:
                told = f"how {names} conduct is not told from readings that contradict"
            return PinGroup(block.nodes, Shape.OPEN, (), told)


def _point(nodes: Nodes, block: Block) -> PinGroup:
    (node,) = block.nodes
    if len(node) == 1:
        if has_case([node]):
            return PinGroup(block.nodes, Shape.CASE)
        return PinGroup(block.nodes, Shape.ALONE, (), f"pin {node[0]} has no partner")
    if has_case([node]):
        return PinGroup(block.nodes, Shape.JOINED, (), joined_text(node))
    highest = max(
        (
            pair.value.ohm + 2 * pair.value.u_ohm
            for pair in nodes.pairs.between(node, node)
            if pair.value is not None
        ),
        default=0.0,
    )
    told = (
        f"{named(node)} are joined by less than {format_ohm(highest)}: a shorted coil, or one "
        "wire on them all"
    )
    return PinGroup(block.nodes, Shape.JOINED, (), told)


def _unfinished(nodes: Nodes, block: Block) -> PinGroup:
    links = tuple(
        direct(nodes, a, b)
        for number, a in enumerate(block.nodes)
        for b in block.nodes[number + 1 :]
        if nodes.value(a, b) is not None
    )
    read = f" ({listed(links)})" if links else ""
    left = ", ".join("-".join(pair.pins) for pair in block.unread)
    names = ", ".join(map(plain, block.nodes))
    told = f"{names} conduct to each other{read}; how is open: {left} not read in ohms"
    return PinGroup(block.nodes, Shape.OPEN, (), told)


def _hidden(nodes: Nodes, block: Block) -> PinGroup:
    ring = _recovered(nodes, block, _solved(block))
    arms = ", ".join(
        f"{node[0]} {format_ohm(arm)}"
        for node, arm in zip(block.nodes, block.arms_ohm, strict=True)
    )
    told = (
        f"one common point that is not brought out, with {arms} to it; or links between the "
        f"pins, {listed(ring)}: ohms cannot tell which"
    )
    links = tuple(_no_coil(link) for link in ring)
    return PinGroup(block.nodes, Shape.HIDDEN, links, told)


def _network(nodes: Nodes, block: Block) -> PinGroup:
    """Tell coils that are bridged at their pins from what is nothing simpler."""
    solved = _solved(block)
    links = sorted(_recovered(nodes, block, solved), key=_ohm)
    bridges = _odd_one(block, links) or _far_above(block, links)
    unseen = solved.unseen_above_ohm
    if bridges:
        marked = tuple(_no_coil(link) if link in bridges else link for link in links)
        coils = [link for link in links if link not in bridges]
        told = f"{listed(coils)}, bridged by {listed(bridges)}"
        return PinGroup(block.nodes, Shape.BRIDGED, marked, told, unseen)
    told = (
        "a network that is no tree, as from bridges that read like coils; between its pins: "
        f"{listed(links)}"
    )
    return PinGroup(block.nodes, Shape.NETWORK, tuple(map(_no_coil, links)), told, unseen)


def _odd_one(block: Block, links: Sequence[PinLink]) -> list[PinLink]:
    """Give the one link too many where all others are alike and it is not; else nothing."""
    if len(links) != len(block.nodes):
        return []
    odd = []
    for link in links:
        rest = [_ohm(other) for other in links if other is not link]
        low, high = min(rest), max(rest)
        whole = len(_held_together(block, [each for each in links if each is not link])) == 1
        alike = high <= (1 + UNLIKE) * low
        unlike = not low / (1 + UNLIKE) <= _ohm(link) <= high * (1 + UNLIKE)
        if whole and alike and unlike:
            odd.append(link)
    return odd if len(odd) == 1 else []


def _far_above(block: Block, links: Sequence[PinLink]) -> list[PinLink]:
    """Give what is left beside the lowest links that hold all pins together.

    Nothing where some of it is not far above all of these: it may be a coil itself.
    """
    coils: list[PinLink] = []
    for link in links:
        before = _held_together(block, coils)
        if not any({(pin,) for pin in link.pins} <= {*part} for part in before):
            coils.append(link)
    rest = [link for link in links if link not in coils]
    highest = max(map(_ohm, coils))
    return rest if all(_ohm(link) > (1 + UNLIKE) * highest for link in rest) else []


def _held_together(block: Block, links: Sequence[PinLink]) -> list[tuple[Node, ...]]:
    """Parts of the pins of a block that links hold together."""
    ends = [((link.pins[0],), (link.pins[1],)) for link in links]
    return connected([(node[0],) for node in block.nodes], ends)


def _ohm(link: PinLink) -> float:
    return link.ohm or 0.0


def _recovered(nodes: Nodes, block: Block, solved: Solved) -> list[PinLink]:
    """Links that follow from all readings of a block together."""
    found = []
    for i, j in solved.links:
        one, other = block.nodes[i], block.nodes[j]
        siemens, u_siemens = float(solved.siemens[i, j]), float(solved.u_siemens[i, j])
        ohm, u_ohm = 1 / siemens, u_siemens / siemens**2
        value = nodes.value(one, other)
        cold = 1.0 if value is None or not value.ohm else value.ohm_20c / value.ohm
        warm = 0.0 if value is None else _of_warmth(value.ohm_20c, value.u_20c_ohm, value.u_ohm)
        u_cold = math.hypot(u_ohm * cold, warm * ohm * cold)
        found.append(PinLink((one[0], other[0]), ohm, u_ohm, ohm * cold, u_cold, is_coil=True))
    return found


def _of_warmth(ohm: float, u_cold_ohm: float, u_ohm: float) -> float:
    """Part of a relative uncertainty that only the temperature brings in."""
    if not ohm:
        return 0.0
    return math.sqrt(max(u_cold_ohm**2 - u_ohm**2, 0.0)) / abs(ohm)


def _no_coil(link: PinLink) -> PinLink:
    return PinLink(link.pins, link.ohm, link.u_ohm, reading=link.reading, is_coil=False)


def _solved(block: Block) -> Solved:
    if block.solved is None:
        message = f"a block of form {block.form} without its links"
        raise ValueError(message)
    return block.solved
