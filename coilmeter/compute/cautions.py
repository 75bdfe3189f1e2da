"""What a person must be told beside the verdicts on one head."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from coilmeter.compute.flexings import undecided_words
from coilmeter.compute.heads import HeadItems
from coilmeter.compute.resolve import Item
from coilmeter.compute.settings import UNSTATED, Settings
from coilmeter.units import Form, format_ohm
from coilmeter.values import (
    CoilResult,
    Condition,
    Isolation,
    IsolationResult,
    Match,
    Stability,
)
from coilmeter.values.notes import BLINKED, CREPT
from coilmeter.values.unproved import SUFFIX

TWO: Final = 2
LEADS_MATTER_BELOW_OHM: Final = 10.0
LEADS_SHOULD_BE_BELOW_OHM: Final = 1.0
"""Common practice, no source: leads and clips have 0.1 to 0.2 ohm."""

LIVE: Final = (
    "Mains plug out, reservoir capacitors checked for charge, head unplugged or one end "
    "lifted: never ohms on a live circuit. Work on an open set is for people trained to do "
    "it, by the rules where you are."
)
CURRENT: Final = (
    "Record/playback coils on a fixed range of 2 to 20 kohm; the lowest range and the beeper "
    "for erase coils only; never an insulation tester on a head."
)
BEFORE_MEASURING: Final = (LIVE, CURRENT)
"""Said before a head is measured (common practice, no source; live circuits: meter manuals)."""

DEMAGNETISE: Final = (
    "The current of an ohmmeter can magnetise the core: demagnetise the head before a tape "
    "is played."
)


def cautions_for(
    head: HeadItems,
    coils: Sequence[CoilResult],
    paths: Sequence[IsolationResult],
    settings: Settings,
) -> Iterator[str]:
    """Cautions on one head, most important first."""
    items = [*head.coils, *head.paths]
    yield from _on_the_meter(items)
    yield from _on_the_circumstances(head)
    if any(item.band.name == "any" for item in head.coils):
        yield (
            "Band 'any': 'intact' says only that a winding conducts; give the kind (--kind) "
            "or the band (--band) of the head."
        )
    if any(
        coil.siblings == TWO and coil.match in {Match.NOTICEABLE, Match.MISMATCHED}
        for coil in coils
    ):
        yield "Two siblings only differ: ohms cannot say which of the two is wrong."
    yield from _another_band(head, coils, settings)
    yield from _other_pins(head, coils, paths)
    ends = {
        coil.coil: {
            pin for path in paths if coil.coil in _sides(path) for pin in path.pins or ()
        }
        for coil in coils
        if coil.verdict is Condition.OPEN
    }
    half = [
        coil.coil
        for coil in coils
        if coil.coil in ends
        and any(
            path.verdict is Isolation.ISOLATED and coil.coil in _sides(path) for path in paths
        )
        and not (coil.pins and set(coil.pins) <= ends[coil.coil])
    ]
    if half:
        yield (
            f"Coil {', '.join(half)} is open: a path was read from one end of it; read "
            "the other end too."
        )
    if any(path.verdict is not Isolation.MISSING for path in paths) and len(head.coils) > TWO:
        yield "Isolation between coils counts for the pairs listed, and no others."
    unproved = [
        f"{item.name} to {item.other}" if item.other else f"coil {item.name}"
        for item in items
        if item.row.reading.form is Form.OVERLOAD and item.row.raw and not item.row.proof
    ]
    if unproved:
        yield (
            f"OL on {', '.join(unproved)}: nobody proved that the clips touched the "
            "pins; bridge the pins for a moment and read it again."
        )
    yield from _on_flexing(head)
    if head.coils or head.paths or head.flexings:
        yield DEMAGNETISE


def _another_band(
    head: HeadItems, coils: Sequence[CoilResult], settings: Settings
) -> Iterator[str]:
    """Where no coil is intact and all would be by another band: it may be another head."""
    values = [coil.resistance_20c_ohm for coil in coils if coil.resistance_20c_ohm is not None]
    if len(values) < TWO or any(coil.verdict is Condition.INTACT for coil in coils):
        return
    used = {item.band.name for item in head.coils}
    fitting = [
        name
        for name, band in settings.bands.items()
        if name not in used
        and name != "any"
        and all(band.limits_ohm[1] <= value <= band.limits_ohm[2] for value in values)
    ]
    if fitting:
        yield (
            f"No coil fits '{', '.join(sorted(used))}', and all would fit "
            f"'{', '.join(fitting)}': is it another kind of head?"
        )


def _other_pins(
    head: HeadItems, coils: Sequence[CoilResult], paths: Sequence[IsolationResult]
) -> Iterator[str]:
    """Where a coil is open and a path reads what a coil does: the wiring may be another."""
    if head.kind is None or not any(coil.verdict is Condition.OPEN for coil in coils):
        return
    limits = [item.band.limits_ohm for item in head.coils if item.band.name != "any"]
    like = [
        "-".join(path.pins)
        for path in paths
        if path.pins is not None
        and any(ends[1] <= (path.resistance_ohm or 0.0) <= ends[2] for ends in limits)
    ]
    if like:
        yield (
            f"Pins {', '.join(like)} read what a coil reads, and a coil is open: is the head "
            f"wired as {head.kind.name} says? coilmeter pins finds out which pins belong "
            "together."
        )
    elif len(coils) >= TWO and all(coil.verdict is Condition.OPEN for coil in coils):
        yield (
            f"All {len(coils)} coils are open, or the head is not wired as {head.kind.name} "
            "says: coilmeter pins finds out which pins belong together."
        )


def _on_flexing(head: HeadItems) -> Iterator[str]:
    """Say what was left open when a joint was moved."""
    doubts = {name: flexing.doubt for name, flexing in head.flexings.items()}
    for name, doubt in doubts.items():
        if doubt is None:
            continue
        if doubt.stability is Stability.CREEPING:
            yield (
                f"Coil {name} crept one way as it was flexed: is it still connected to the "
                "board? Unplug the head and flex it again."
            )
        else:
            yield undecided_words(name, head.flexings[name])


def _sides(path: IsolationResult) -> set[str]:
    return {path.start, path.end}


def _on_the_meter(items: Sequence[Item]) -> Iterator[str]:
    if any(item.meter.meter.name == UNSTATED for item in items):
        yield (
            "No meter named: 1 % + 5 counts is taken for its accuracy; name yours with --meter."
        )
    names = dict.fromkeys(item.meter.meter.name for item in items)
    widened = [name.removesuffix(SUFFIX) for name in names if name.endswith(SUFFIX)]
    if widened:
        yield (
            f"The accuracy of {', '.join(widened)} is not proved: 1 % + 5 counts count at "
            "least; coilmeter meter prove confirms it in two minutes."
        )
    sounds = {Form.BEEP, Form.SILENT}
    if any(
        item.row.reading.form in sounds and item.row.reading.ohm is None
        for item in items
        if not item.meter.meter.beeper_known
    ):
        yield (
            "Beepers of other meters sound below 10 to 120 ohm: 50 ohm is taken for yours; "
            "write the threshold (beep 30 ohm), or read plain ohms."
        )
    notes = " ".join(item.row.note.lower() for item in items)
    if "meter " in notes:
        # Files without such notes, and what starts up with them, do not pay for it.
        from coilmeter.compute.proof_notes import proof_lines  # noqa: PLC0415 - as said

        yield from proof_lines(
            (item.meter.meter.name, item.row.note, item.row.time) for item in items
        )
    yield from _on_the_joints(items)
    if "low battery" in notes:
        yield "The meter reported a low battery: its readings may be off; change it and repeat."


def _on_the_joints(items: Sequence[Item]) -> Iterator[str]:
    """Tell what was seen on the way to a reading, which its value does not show."""
    seen: dict[str, dict[str, None]] = {BLINKED: {}, CREPT: {}}
    for item in items:
        for note, names in seen.items():
            if note in item.row.note:
                names[f"{item.name} to {item.other}" if item.other else f"coil {item.name}"] = (
                    None
                )
    if seen[BLINKED]:
        yield (
            f"Dropped out with the clips on: {', '.join(seen[BLINKED])}. A joint may be loose, "
            "whatever the value: flex it (coilmeter flex)."
        )
    if seen[CREPT]:
        yield (
            f"Crept for seconds before it stood still: {', '.join(seen[CREPT])}. Is the head "
            "still connected to the board? Unplug it and read again."
        )


def _on_the_circumstances(head: HeadItems) -> Iterator[str]:
    if any(not item.warmth.known for item in head.coils):
        yield "Temperature not given: 20 degC +/- 5 K is taken; resistances stay as read."
    most = max((item.leads.ohm for item in head.coils), default=0.0)
    if most > LEADS_SHOULD_BE_BELOW_OHM:
        yield (
            f"Leads of {format_ohm(most)} were taken off: good ones have 0.1 to 0.2 ohm; clean "
            "the clips and null them again."
        )
    small = [
        item.name
        for item in head.coils
        if not item.leads.known and abs(item.ohm) < LEADS_MATTER_BELOW_OHM
    ]
    if small:
        yield (
            f"Leads not nulled: they add 0.1 to 0.2 ohm to coil {', '.join(small)}; "
            "null them, or use four wires."
        )
