"""The shipped chains: every cell against a copy of its own, weights, costs, labels, keys."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import csv
import re
import tomllib
from typing import Final

import pytest
from chain_helpers import shipped_chains

from coilmeter.catalog import reference_folder
from coilmeter.catalog.chain_maps import SHIPPED_CHAINS
from coilmeter.values.chains import Cell

NAMES: Final = {
    "playback": {
        "coil open": "coil-open",
        "shorted turns": "shorted-turns",
        "coil-case leak": "coil-case",
        "coil-coil bridge": "coil-coil",
        "head pin / joint": "pin-joint",
        "cable / plug": "cable-plug",
        "play/record switch": "mode-switch",
        "coupling capacitor open": "coupling-open",
        "coupling capacitor leaky": "coupling-leaky",
        "preamp dead": "preamp",
        "equaliser / output stage": "output-stage",
        "dirt, pad, roller, no contact": "contact",
        "height / azimuth": "height-azimuth",
        "worn / open gap": "worn-gap",
        "magnetised head": "magnetised",
    },
    "record": {
        "record coil open": "coil-open",
        "shorted turns": "shorted-turns",
        "cable / plug": "cable-plug",
        "play/record switch": "mode-switch",
        "record amplifier dead": "record-amp",
        "record coupling capacitor": "coupling-open",
        "bias oscillator / supply": "bias-oscillator",
        "bias feed, one track": "bias-feed",
        "bias trap detuned": "bias-trap",
        "track-arm / enable": "track-enable",
        "contact, pad, dirt, azimuth": "contact",
        "worn head": "worn-head",
    },
    "erase": {
        "erase coil open": "coil-open",
        "erase coil shorted turns": "shorted-turns",
        "cable / plug": "cable-plug",
        "oscillator / supply": "oscillator",
        "per-track erase enable": "track-enable",
        "low erase current": "low-current",
        "contact / height / dirt": "contact",
        "tape or track format": "tape-format",
    },
}
"""What the tables call a link, and the short name it has."""

MINUTES: Final = {
    letter: int(minutes)
    for letter, minutes in re.findall(
        r"(\w) (\d+)",
        "U 1, M 3, L 1, A 8, B 3, C 4, D 4, E 8, F 8, G 4, H 5, J 5, K 6, P 5, Q 5, R 10, S 6, "
        "T 6, V 6, W 5, Y 3, N 4",
    )
}
"""Minutes of each test, head fitted: from memory, not verified."""

FAULTS: Final = pytest.mark.parametrize("fault", sorted(NAMES))


def table(fault: str) -> list[tuple[str, str, str]]:
    """Cells of the copy: link as the table calls it, letter of the test, mark."""
    path = reference_folder() / f"chain_{fault}.csv"
    lines = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    cells = []
    for row in csv.DictReader(lines):
        for column, mark in row.items():
            if column == "link":
                continue
            if column == "A/B":
                first, second = (".", "X") if mark == "X(B)" else (mark, mark)
                cells += [(row["link"], "A", first), (row["link"], "B", second)]
            else:
                cells.append((row["link"], column.rstrip("*"), mark))
    return cells


@FAULTS
def test_every_cell_is_carried_over(fault: str) -> None:
    """Each cell of the table is what the test of that letter sees of that link.

    The tables are derived and common practice, no source.
    """
    chain = shipped_chains()[fault]
    expected = {(NAMES[fault][row], letter): mark for row, letter, mark in table(fault)}

    actual = {
        (link.name, test.letter): str(test.cell(link.name))
        for link in chain.links
        for test in chain.tests
        if test.letter
    }
    assert expected == actual
    assert set(NAMES[fault].values()) == {link.name for link in chain.links}


def test_there_are_as_many_cells_as_the_tables_have() -> None:
    """Fifteen links by 15 tests, twelve by 12, eight by 10, A and B apart."""
    sizes = {fault: len(table(fault)) for fault in NAMES}

    assert {"playback": 15 * 15, "record": 12 * 12, "erase": 8 * 10} == sizes


@FAULTS
def test_costs_are_the_stated_ones(fault: str) -> None:
    """Minutes with the head fitted; ohms at a loose head take 2 (from memory, not verified)."""
    lettered = [test for test in shipped_chains()[fault].tests if test.letter]

    assert {test.letter: MINUTES[test.letter] for test in lettered} == {
        test.letter: test.minutes for test in lettered
    }
    loose = {test.letter: test.minutes_loose for test in lettered} | {"A": 2}
    assert 2 == shipped_chains()[fault].test("A").minutes_loose
    assert loose == {test.letter: test.cost(loose=True) for test in lettered}


def test_weights_of_playback_are_the_stated_ones() -> None:
    """Contact 25, capacitors 15, switch 12 and so on, the rest 15 (from memory)."""
    weights = {link.name: link.weight for link in shipped_chains()["playback"].links}

    named = {
        "contact": 25,
        "mode-switch": 12,
        "pin-joint": 10,
        "cable-plug": 8,
        "preamp": 8,
        "coil-open": 7,
    }
    assert named == {name: weights[name] for name in named}
    assert 15 == weights["coupling-open"] + weights["coupling-leaky"]
    rest = set(weights) - set(named) - {"coupling-open", "coupling-leaky"}
    assert 15 == sum(weights[name] for name in rest)


@FAULTS
def test_weights_elsewhere_follow_playback(fault: str) -> None:
    """What both chains have weighs the same; what is left over shares 15."""
    weights = {link.name: link.weight for link in shipped_chains()[fault].links}
    same = {"contact": 25, "cable-plug": 8, "coil-open": 7, "mode-switch": 12}

    assert {k: v for k, v in same.items() if k in weights} == {
        name: weights[name] for name in same if name in weights
    }
    if fault != "playback":
        main = {*same, "coupling-open", "record-amp"}
        assert 15 == sum(weight for name, weight in weights.items() if name not in main)


def test_what_is_shared_by_all_tracks() -> None:
    """Oscillators are, coils and their feeds are not (derived: topology)."""
    common = {
        (fault, link.name): link.common
        for fault, chain in shipped_chains().items()
        for link in chain.links
    }

    always = {("record", "bias-oscillator"), ("erase", "oscillator"), ("erase", "tape-format")}
    assert always == {key for key, share in common.items() if share == 1}
    never = [
        ("playback", "coil-open"),
        ("playback", "pin-joint"),
        ("record", "bias-feed"),
        ("erase", "coil-open"),
        ("erase", "track-enable"),
    ]
    assert [0.0] * len(never) == [common[key] for key in never]


def test_every_test_tells_how_it_is_made() -> None:
    """What to connect and expect, what pass and fail mean; cautions where work can hurt."""
    for chain in shipped_chains().values():
        for test in chain.tests:
            how = test.howto
            texts = (how.connect, how.expect, how.passed, how.failed)
            assert all(len(each) > len("The track erases") - 1 for each in texts)
            assert test.question.endswith("?")
            if "live" in test.needs:
                assert any("under power" in caution for caution in how.cautions)
            if test.name.startswith("ohms") or test.name == "board-side":
                assert any("live circuit" in caution for caution in how.cautions)
            if test.name.startswith("tone-at"):
                assert any("Volume down" in caution for caution in how.cautions)
            if test.name in {"oscillator", "current", "record-audio"}:
                assert any("30 V rms" in caution for caution in how.cautions)


def test_every_figure_has_a_label() -> None:
    """Levels, weights and minutes say how they are known."""
    labels = r"(pub|prac|rep|mem|der|own)\b"

    for chain in shipped_chains().values():
        bases = [link.basis for link in chain.links] + [test.basis for test in chain.tests]
        levels = [level for test in chain.tests for level in test.howto.levels]
        assert [] == [text for text in [*bases, *levels] if not re.match(labels, text)]


def test_every_key_is_resolved() -> None:
    """A published source is named under its key where documents are named, and only there."""
    provenance = (reference_folder() / "PROVENANCE.md").read_text("utf-8")
    for name in SHIPPED_CHAINS:
        text = (reference_folder() / name).read_text("utf-8")
        keys = set(re.findall(r"\b[JPS]\d+\b", text))

        assert set() == {key for key in keys if f"\n| {key} |" not in provenance}


def test_shipped_files_hold_nothing_twice() -> None:
    """What one shipped file says, the other does not say over."""
    tables = [
        tomllib.loads((reference_folder() / name).read_text("utf-8"))["chain"]
        for name in SHIPPED_CHAINS
    ]

    assert set() == set(tables[0]) & set(tables[1])


def test_a_cell_of_a_test_that_sees_nothing_of_a_link_is_blind() -> None:
    """A name that the chain does not have is blind as well."""
    assert Cell.BLIND == shipped_chains()["erase"].test("Y").cell("nowhere")
