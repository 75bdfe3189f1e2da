"""The words for what happens while pins are mapped."""

from __future__ import annotations

from coilmeter.cli.words import row_text, sentence
from coilmeter.walks.events import Begun, Event, Finished, Lift, Taken
from coilmeter.walks.pinning import PairStep


def pin_sentence(event: Event, verdict: str = "") -> str:
    """Say an event in one line; `verdict` is what a reading that was taken means so far."""
    match event:
        case Begun(step=PairStep() as step, number=number):
            clips = {0: "no clip", 1: "one clip"}.get(step.moves, "both clips")
            return f"[{number}] {step.key}: {step.where} (move {clips}): {step.reason}"
        case Begun(step=step, number=number):
            return f"[{number}] {step.key}: {step.where} (move both clips)"
        case Taken(step=step, row=row):
            meaning = f": {verdict}" if verdict else ""
            return f"taken  {step.key}  {row_text(row)}{meaning}"
        case Lift():
            return "lift the clips"
        case Finished(skipped=skipped):
            return "done: nothing more to read" + (f", {skipped} skipped" if skipped else "")
        case _:
            return sentence(event, verdict)
