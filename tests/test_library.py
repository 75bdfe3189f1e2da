"""What another program gets from the package."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

import coilmeter
from coilmeter.errors import CoilmeterError, MistakesError, ReadingTextError, UnknownNameError
from coilmeter.values import Condition, EvidenceKind, Reading
from coilmeter.wire.contract import Rejected


def test_the_examples_of_the_package_are_true() -> None:
    """The examples in the docstring give what they say."""
    found = doctest.testmod(coilmeter)

    assert found.attempted >= 5
    assert 0 == found.failed


def test_decode_bytes_of_a_format() -> None:
    """Readings and rejected stretches in the order of the bytes; a cut frame is left out."""
    first, bad, second = coilmeter.decode("plain", b"171.3 ohm\nnonsense\nOL 40 Mohm\n17")

    assert isinstance(first, Reading)
    assert isinstance(bad, Rejected)
    assert isinstance(second, Reading)
    assert (171.3, b"nonsense", True) == (first.value, bad.raw.strip(), second.overload)
    with pytest.raises(UnknownNameError, match="plane"):
        coilmeter.decode("plane", b"")


def test_judge_a_value() -> None:
    """A sound coil with its resistance, its uncertainty and where that comes from."""
    found = coilmeter.judge(
        "171.3 ohm", band="rp-cassette", meter="handheld-4000", lead="0.2 ohm", temperature="20"
    )

    assert Condition.INTACT is found.verdict
    assert EvidenceKind.VALUE is found.evidence
    assert found.resistance_20c_ohm is not None
    assert found.u_ohm is not None
    assert 171.1 == pytest.approx(found.resistance_20c_ohm)
    assert 0 < found.u_ohm < 5


@pytest.mark.parametrize(
    ("range_end", "expected"), [("40 Mohm", Condition.OPEN), ("400 ohm", Condition.UNDECIDED)]
)
def test_an_overload_means_what_its_range_says(range_end: str, expected: Condition) -> None:
    """Open on a high range; on a low one it is not known, and the next step is named."""
    found = coilmeter.judge("OL", band="rp-cassette", range_end=range_end)

    assert expected is found.verdict
    assert bool(found.next) is (expected is Condition.UNDECIDED)


def test_confidence_decides() -> None:
    """The same reading may be spoken of or not."""
    bold = coilmeter.judge("101 ohm", band="rp-cassette", confidence=0.6)
    careful = coilmeter.judge("101 ohm", band="rp-cassette", confidence=0.999)

    assert Condition.INTACT is bold.verdict
    assert Condition.UNDECIDED is careful.verdict


def test_bands_of_ones_own(tmp_path: Path) -> None:
    """A reference file of the caller's adds a band."""
    path = tmp_path / "own.toml"
    path.write_text(
        '[bands.own]\ndescription = "x"\nbasis = "x"\nshorted_below = "1 ohm"\n'
        'low = "2 ohm"\nhigh = "3 ohm"\nopen_above = "1 kohm"\n'
    )

    found = coilmeter.judge("2.5", band="own", meter="bench-6-digit", catalog_files=[path])

    assert "own" == found.band


@pytest.mark.parametrize(
    ("reading", "changes", "error"),
    [
        ("about 170", {}, ReadingTextError),
        ("171", {"band": "none"}, UnknownNameError),
        ("171", {"meter": "none"}, UnknownNameError),
        ("-50", {}, MistakesError),
        ("171", {"lead": "x"}, CoilmeterError),
        ("171", {"temperature": "warm"}, CoilmeterError),
        ("OL", {"range_end": "big"}, ReadingTextError),
    ],
)
def test_mistakes_have_their_errors(
    reading: str, changes: dict[str, str], error: type[CoilmeterError]
) -> None:
    """Each is an error of the package, with a message."""
    with pytest.raises(error) as caught:
        coilmeter.judge(reading, **{"band": "rp-cassette"} | changes)  # type: ignore[arg-type] # a table

    assert "expected" in str(caught.value) or "known here" in str(caught.value)


def test_the_same_calls_as_the_command_line(tmp_path: Path) -> None:
    """A readings file read and judged by hand gives what the command line gives."""
    path = tmp_path / "a.csv"
    path.write_text("coil,reading\n1,171\n2,OL 40 Mohm\n")
    catalog = coilmeter.load_catalog()
    settings = coilmeter.Settings(
        catalog.bands, catalog.meters, catalog.kinds, kind="two-channel-rp"
    )
    (head,) = coilmeter.judge_rows(coilmeter.read_sheet(path).rows, settings)

    assert isinstance(head, coilmeter.HeadResult)
    assert ["intact", "open"] == [str(coil.verdict) for coil in head.coils]
