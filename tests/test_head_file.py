"""A head described in a TOML file: what it becomes, and every mistake of it in one message."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
from pathlib import Path

import pytest
from helpers import shipped

from coilmeter.catalog.head_file import HeadDescription, load_head, place_of, sound_coils
from coilmeter.errors import InputError, MistakesError
from coilmeter.sources.simulated_made import described_head, sound_head, usual_meter
from coilmeter.values import CASE
from coilmeter.wire import find, formats


def loaded(folder: Path, text: str) -> HeadDescription:
    """Read the text of a head file."""
    path = folder / "head.toml"
    path.write_text(text, encoding="utf-8")
    return load_head(path, shipped())


def mistakes(folder: Path, text: str) -> dict[str, str]:
    """Collect the mistakes of a head file: key path to what was expected."""
    with pytest.raises(MistakesError) as caught:
        loaded(folder, text)
    assert "nothing was simulated" in str(caught.value)
    return {mistake.place: mistake.expected for mistake in caught.value.mistakes}


def test_a_kind_with_what_is_wrong_with_it(tmp_path: Path) -> None:
    """Coils that are named differ from the kind, the others are sound; faults come with it."""
    text = """
    kind = "two-channel-rp"
    temperature = "30 degC"
    [coils.2]
    resistance = "186 ohm"
    open_at = 0.25
    shorted_turns = 0.1
    [[leaks]]
    between = ["coil 1", "CASE"]
    resistance = "220 kohm"
    """
    description = loaded(tmp_path, text)
    head = described_head(description)

    assert description.kind == shipped().kind("two-channel-rp")
    assert ("3", "4", 186.0) == description.coils["2"]
    assert (
        sound_coils(shipped().kind("two-channel-rp"), shipped().bands)["1"]
        == (description.coils["1"])
    )
    assert ((("1", 0.5), CASE, 220e3),) == description.leaks
    assert (("2", 0.25),) == description.breaks
    assert (("2", 0.1),) == description.shorted
    assert 30.0 == description.temperature_degc
    assert math.inf == head.resistance_between("3", "4")
    assert 220e3 == pytest.approx(head.resistance_between("1", CASE), rel=1e-3)


def test_a_head_without_a_kind(tmp_path: Path) -> None:
    """Every coil names its pins; a common pin is named twice; a tap is a pin along the wire.

    The resistances are those of an erase coil with a tap (P1 in PROVENANCE.md: 32.4 ohm in
    all, 16.3 ohm to the tap).
    """
    text = """
    case = false
    [coils.E]
    pins = ["1", "R"]
    resistance = "32.4 ohm"
    taps = { T = 0.503 }
    [coils.2]
    pins = ["2", "R"]
    resistance = "184 ohm"
    """
    head = described_head(loaded(tmp_path, text))

    assert ("1", "R", "2", "T") == head.pins
    assert 32.4 == pytest.approx(head.resistance_between("1", "R"))
    assert 16.3 == pytest.approx(head.resistance_between("1", "T"), abs=0.01)
    assert 16.1 == pytest.approx(head.resistance_between("T", "R"), abs=0.01)
    assert 32.4 + 184.0 == pytest.approx(head.resistance_between("1", "2"))
    assert not head.case


@pytest.mark.parametrize(
    "kind", ["one-erase", "four-channel-rp-common", "two-channel-rp-no-case"]
)
def test_a_kind_alone(tmp_path: Path, kind: str) -> None:
    """It is a sound head of the kind: each coil in the middle of its band."""
    head = described_head(loaded(tmp_path, f'kind = "{kind}"'))
    known = shipped().kind(kind)

    assert sound_head(known, shipped().bands) == head
    assert known.case == head.case
    for coil in known.coils:
        _, low, high, _ = shipped().band(coil.band).limits_ohm
        ohm = head.resistance_between(*coil.pins)
        assert 0.98 < ohm / math.sqrt(low * high) < 1.02


def test_every_mistake_of_a_file_at_once(tmp_path: Path) -> None:
    """Wrong types, wrong numbers and unknown keys come together, each with its key path."""
    found = mistakes(
        tmp_path,
        """
        temperature = "warm"
        colour = "grey"
        [coils.1]
        pins = ["1"]
        resistance = 184
        open_at = 2.0
        [coils."2 b"]
        pins = ["3", "4"]
        resistance = "1 V"
        taps = { T = 1.0 }
        [[leaks]]
        between = ["1"]
        """,
    )

    assert {
        "temperature",
        "colour",
        "coils.1.pins",
        "coils.1.resistance",
        "coils.1.open_at",
        "coils.2 b.[key]",
        "coils.2 b.resistance",
        "coils.2 b.taps.T",
        "leaks.0.between",
        "leaks.0.resistance",
    } == set(found)


def test_what_does_not_fit_together_at_once(tmp_path: Path) -> None:
    """What only the whole file shows is collected as well."""
    found = mistakes(
        tmp_path,
        """
        case = false
        [coils.1]
        resistance = "0 ohm"
        [coils.2]
        pins = ["2", "2"]
        [coils.3]
        pins = ["3", "Case"]
        resistance = "10 ohm"
        taps = { 2 = 0.5, 9 = 0.5 }
        [coils.4]
        pins = ["4", "5"]
        resistance = "10 ohm"
        taps = { 9 = 0.5 }
        [[leaks]]
        between = ["17", "coil 8"]
        resistance = "1 ohm"
        [[leaks]]
        between = ["case", "coil 4 at 1.5"]
        resistance = "1 ohm"
        """,
    )

    assert {
        "coils.1.pins",
        "coils.1.resistance",
        "coils.2.pins",
        "coils.2.resistance",
        "coils.3.pins",
        "coils.3.taps.2",
        "coils.3.taps.9",
        "coils.4.taps.9",
        "leaks.0.between.0",
        "leaks.0.between.1",
        "leaks.1.between.0",
        "leaks.1.between.1",
    } == set(found)


@pytest.mark.parametrize(
    ("text", "place", "expected"),
    [
        ("", "coils", "a kind, or a table for each coil"),
        ('kind = "nine-channel"', "kind", "four-channel-rp"),
        ('kind = "one-erase"\n[coils.7]\n', "coils.7", "one of E"),
        ("temperature = true", "temperature", "a temperature such as '22 degC'"),
        ("temperature = 400", "temperature", "a temperature such as '22 degC'"),
    ],
)
def test_single_mistakes(tmp_path: Path, text: str, place: str, expected: str) -> None:
    """Each names what would have been right."""
    assert expected in mistakes(tmp_path, text)[place]


def test_a_temperature_may_be_a_number(tmp_path: Path) -> None:
    """A number is in degree Celsius."""
    assert 22.5 == loaded(tmp_path, 'kind = "one-erase"\ntemperature = 22.5').temperature_degc


def test_a_file_that_is_none(tmp_path: Path) -> None:
    """Not TOML, or not there."""
    with pytest.raises(InputError, match="not a TOML file"):
        loaded(tmp_path, "kind: four")
    with pytest.raises(InputError, match="cannot be read"):
        load_head(tmp_path / "none.toml", shipped())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("7", "7"),
        ("Case", CASE),
        ("coil 2", ("2", 0.5)),
        ("coil E1 at 0.25", ("E1", 0.25)),
        ("coil 2 at .9", ("2", 0.9)),
        ("coil 2 at", "coil 2 at"),
    ],
)
def test_places(text: str, expected: str | tuple[str, float]) -> None:
    """A pin, the case, or a place along a coil."""
    assert expected == place_of(text)


@pytest.mark.parametrize("form", sorted(formats()))
def test_every_format_has_a_usual_meter(form: str) -> None:
    """There is a shipped meter to simulate for each; the 22 000-count one for block14."""
    name = usual_meter(find(form), shipped().meters).name

    assert {"block14": "handheld-22000"}.get(form, "handheld-4000") == name


def test_a_format_for_no_usual_meter() -> None:
    """One that carries none of them is told so."""

    class Nothing:
        """A format that carries nothing."""

        name = "nothing"

        def encode(self, display: object) -> bytes:
            """Refuse."""
            raise ValueError(display)

    with pytest.raises(InputError, match="carries none of the usual meters"):
        usual_meter(Nothing(), shipped().meters)  # type: ignore[arg-type]
