"""What `coilmeter simulate` refuses, before anything is served."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import cli
from simulator_processes import KIND


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["--kind", KIND], "what does the meter send?"),
        (["--format", "plain"], "which head is on the bench?"),
        (["--format", "plain", "--kind", "nine"], "no head kind is called 'nine'"),
        (["--format", "nine", "--kind", KIND], "no meter format is called 'nine'"),
        (["--format", "plain", "--kind", KIND, "--meter", "nine"], "no meter is called 'nine'"),
        (["--format", "plain", "--kind", KIND, "--meter", "unstated"], "states no resistance"),
        (["--format", "plain", "--kind", KIND, "--head", "x.toml"], "both --kind and --head"),
        (["--format", "plain", "--head", "x.toml"], "x.toml: cannot be read"),
        (["--format", "plain", "--kind", KIND, "--pty", "--port", "5000"], "--port is for a"),
        (["--format", "plain", "--kind", KIND, "--socket", "--link", "x"], "--link is for a"),
        (["--format", "plain", "--kind", KIND, "--fault", "opne coil 1"], "did you mean open?"),
        (["--format", "plain", "--kind", KIND, "--fault", "quit"], "--fault: saw 'quit'"),
        (["--format", "plain", "--kind", KIND, "--script", "no.txt"], "no.txt: cannot be read"),
        (["--format", "plain", "--kind", KIND, "--walk", "--rate", "1"], "hands that walk"),
        (
            ["--format", "block14", "--kind", KIND, "--meter", "handheld-4000"],
            "format 'block14' cannot carry the 400 ohm range of 'handheld-4000'",
        ),
    ],
)
def test_what_cannot_be_simulated(
    words: list[str], expected: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Told in words before anything is served, with what to do next."""
    monkeypatch.chdir(tmp_path)
    ran = cli("simulate", *words)

    assert 2 == ran.code
    assert expected in ran.err
    assert "next: " in ran.err
    assert "" == ran.out


def test_a_walk_needs_the_pins_of_the_kind(tmp_path: Path) -> None:
    """A head whose file gives it other pins cannot be walked over as that kind."""
    head = tmp_path / "head.toml"
    head.write_text(f'kind = "{KIND}"\n[coils.1]\npins = ["A", "B"]\n')
    ran = cli("simulate", "--format", "plain", "--head", str(head), "--walk", "--socket")

    assert 2 == ran.code
    assert "--walk needs a head of a known kind, with its pins" in ran.err
