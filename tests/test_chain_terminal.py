"""A case at a real terminal, worked by someone who has read no documentation."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

import pytest
from test_terminal import Terminal, real_terminal
from walk_processes import eventually

from coilmeter.sources.chain_cases import Journal

pytestmark = pytest.mark.skipif(
    shutil.which("tmux") is None, reason="a real terminal needs tmux, which is not installed"
)

TRUTH: Final = {
    "Does a tape known to be good play": "no",
    "does this track hiss like the others": "yes",
    "Face clean and even": "yes",
    "does the fault follow": "stays",
    "the same as on a good track, in both positions": "no",
    "Recorded here on this track": "yes",
    "put into the board at the plug": "no",
    "past the capacitor: does it come out": "yes",
    "none across the head's lead": "yes",
    "small coil that carries a tone": "no",
    "At the head's own pins": "yes",
    "At the plug of the head's lead": "yes",
}
"""What a machine with a bad play/record switch answers, by words of the question."""


def prompted(terminal: Terminal) -> tuple[str, str]:
    """Wait for a prompt without an answer; give it, and all that stands on the screen."""
    found: list[str] = []

    def look() -> bool:
        found[:] = [line for line in terminal.shown() if line.strip()]
        return bool(found) and found[-1].rstrip().endswith(">")

    eventually(look, "a prompt")
    return found[-1].strip(), " ".join(" ".join(found).split())


def answer(screen: str) -> str:
    """Find the machine's answer to the last question on the screen."""
    last = screen[screen.rindex("] ") :]
    return next(reply for words, reply in TRUTH.items() if words in last)


def type_in(terminal: Terminal, text: str) -> None:
    """Type a line, and wait until the screen shows it."""
    before = terminal.shown()
    if text:
        terminal.press("-l", text)
    terminal.press("Enter")
    eventually(lambda: terminal.shown() != before, "what was typed")


def test_a_bad_switch_is_found_by_answering_alone(tmp_path: Path) -> None:
    """Plain questions, one at a time, lead to the switch within eight tests."""
    keep = tmp_path / "cases.jsonl"
    replies = {"which>": "1", "track>": "3", "others>": "all", "repaired>": "", "works>": "yes"}
    asked: list[str] = []
    with real_terminal(tmp_path, "chain", "--keep", str(keep)) as terminal:
        while not asked or asked[-1] != "works>":
            prompt, screen = prompted(terminal)
            asked.append(prompt)
            type_in(
                terminal, replies.get(prompt) or ("" if prompt in replies else answer(screen))
            )
        terminal.wait_for("ended 0")

    assert ["which>", "track>", "others>"] == asked[:3]
    assert ["repaired>", "works>"] == asked[-2:]
    assert asked.count("answer>") <= 8
    assert ("mode-switch",) == Journal(keep).cases["playback-3"].links
