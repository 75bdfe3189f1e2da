"""What is typed at the simulator and is none of its lines: told in words, nothing changed."""

from __future__ import annotations

from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_checks import still_station

from coilmeter.cli import simulating_words
from coilmeter.cli.simulating_texts import Order
from coilmeter.cli.simulating_words import understand
from coilmeter.errors import InputError


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("opne coil 1", "did you mean open?"),
        ("xyzzy", "type help"),
        ("wait 3", "in a --script only"),
        ("clip 1", "two pins"),
        ("clip 1 9", "no pin of this head is called '9'"),
        ("lift now", "nothing more"),
        ("short coil 9", "no coil of this head is called '9'"),
        ("short coil 1 2", "above 0 to 1"),
        ("short 1 2", "coil and its name: 1, 2"),
        ("bridge 0", "more than 0 s"),
        ("bridge long", "a time in seconds"),
        ("open coil", "coil and its name"),
        ("open coil 1 0.5", "'at' and a place"),
        ("open coil 1 at 1.5", "0 to 1"),
        ("coil 1 0 ohm", "'short coil 1' shorts it"),
        ("coil 1", "a resistance such as"),
        ("flaky coil 1", "the share of the time"),
        ("flaky coil 1 1", "above 0 and below 1"),
        ("flaky coil 1 0.5 2 3", "nothing more"),
        ("leak", "a pin, case, or a coil"),
        ("leak 1 case", "a resistance such as"),
        ("leak 1 case -5 ohm", "a resistance such as"),
        ("mend coil 1 now", "nothing more"),
        ("creep", "the time of the creep"),
        ("creep 3 0 ohm", "expected more than 0"),
        ("temperature 400", "a temperature in degC"),
        ("leads OL", "a resistance such as"),
        ("walk away", "stop"),
        ("hold", "say on or off"),
        ("rel maybe", "on or off"),
        ("battery empty", "low or good"),
        ("range 5 kohm", "its ranges are"),
        ("range much", "the end of a range"),
        ("function amps", "one of: ohms, continuity, diode, dc volts, ac volts"),
        ("gain much", "percent"),
        ("noise -1", "counts"),
        ("corrupt 2", "0 to 1"),
        ("corrupt nan", "0 to 1"),
        ("sleep well", "nothing more"),
        ("plug it", "nothing more"),
        ("status please", "nothing more"),
        ("quit now", "nothing more"),
    ],
)
def test_what_is_none_is_told(line: str, expected: str) -> None:
    """Seen, expected, and how it is written; nothing on the bench has changed."""
    bench = still_station()
    with pytest.raises(InputError) as caught:
        understand(bench, line)

    assert expected in str(caught.value)
    assert bench.head == bench.hands.head
    assert None is bench.hands.board


def test_rel_without_a_reading() -> None:
    """What the moment does not allow is told when it is tried."""
    order = understand(still_station(), "rel on")

    with pytest.raises(InputError, match="no ohms"):
        order()


WORDS: Final = sorted(
    {word for phrase in simulating_words._ALL for word in phrase.usage.lower().split()}
    | {
        "1",
        "2",
        "9",
        "case",
        "coil",
        "at",
        "0.5",
        "nan",
        "1e999",
        "-3",
        "ohm",
        "kohm",
        "\x1b[2J",
    }
)


@given(st.lists(st.sampled_from(WORDS), min_size=1, max_size=6))
def test_any_words_are_an_order_or_an_input_error(words: list[str]) -> None:
    """Whatever is typed is understood or refused in words, and nothing else comes out."""
    try:
        order: Order | None = understand(still_station(), " ".join(words))
    except InputError as error:
        order = None
        assert error.message  # noqa: PT017 - either way is right
    assert order is None or callable(order)
