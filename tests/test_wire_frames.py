"""Every published frame of every format, fed in every way; every single bit flipped."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest

from coilmeter.values import Flag, Reading
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Display, Format, Rejected

REFERENCE = Path(__file__).parent.parent / "reference_data" / "wire_frames.csv"
# words of the reference file that have no function or flag of their own here
OTHER_FUNCTIONS = {
    "rpm",
    "timestamp",
    "not_a_number",
    "error_queue",
    "current_output",
    "measurement",
}
NO_FLAGS = {"dc", "ac", "diode", "lower_display", "clock", "nan", "key_event", "compare_high"}


def reference_rows() -> list[dict[str, str]]:
    """Read the published frames; the sources stand in the header of the file."""
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


ROWS = reference_rows()
VALID = [row for row in ROWS if row["valid"] == "1"]
CORRUPT = [row for row in ROWS if row["valid"] == "0"]
FORMATS = tuple(formats().values())
each_format = pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)

# a range of the meters that send each format, where it is not 400.0 ohm, and the value read
RANGE_OF = {"block14": (123.45, 0.01, 220.0)}
USUAL = (234.5, 0.1, 400.0)


def identity(row: dict[str, str]) -> str:
    """Name a row in a test's name."""
    return f"{row['format']}-{row['hex']}"


def sent(row: dict[str, str]) -> bytes:
    """Give the bytes as a port of eight bits receives them; block11 sends each twice."""
    raw = bytes.fromhex(row["hex_wire8"] or row["hex"])
    return 2 * raw if row["format"] == "block11" else raw


def readings(form: Format, data: bytes) -> list[Reading]:
    """Feed a new decoder, and keep the readings."""
    return [answer for answer in form.decoder().feed(data) if isinstance(answer, Reading)]


def says(reading: Reading) -> tuple[object, ...]:
    """Reduce a reading to what a row states."""
    return (
        reading.function,
        reading.value,
        reading.unit,
        reading.overload,
        {str(flag) for flag in reading.flags},
    )


def stated(row: dict[str, str]) -> tuple[object, ...]:
    """Reduce a row to what a reading must say."""
    other = row["function"] in OTHER_FUNCTIONS
    return (
        "other" if other else row["function"],
        pytest.approx(float(row["value"]), rel=1e-12) if row["value"] else None,
        row["unit"] if row["unit"] != "rpm" else "",
        row["overload"] == "1",
        set(row["flags"].split()) - NO_FLAGS,
    )


def usual(form: Format, *, overload: bool = False) -> Display:
    """Give what a meter of a format shows: its usual reading, or over-range."""
    value, resolution, full_scale = RANGE_OF.get(form.name, USUAL)
    return Display(value, resolution, full_scale, overload=overload)


def test_every_format_has_its_rows() -> None:
    """The file holds the rows of each format; only our own format has none."""
    counts = {form.name: sum(row["format"] == form.name for row in ROWS) for form in FORMATS}

    assert counts == {
        "block11": 23,
        "block14": 20,
        "digits14": 23,
        "plain": 0,
        "prompt": 6,
        "scpi": 18,
        "segments14": 23,
        "stx16": 24,
        "words": 14,
    }
    assert sum(counts.values()) == len(ROWS)


@pytest.mark.parametrize("row", VALID, ids=identity)
def test_a_published_frame_decodes(row: dict[str, str]) -> None:
    """As a whole, it says what the file states, and its bytes come with it."""
    raw = sent(row)

    (found,) = readings(find(row["format"]), raw)

    assert stated(row) == says(found)
    assert raw == found.raw


@pytest.mark.parametrize("row", VALID, ids=identity)
def test_a_published_frame_decodes_byte_by_byte(row: dict[str, str]) -> None:
    """Single bytes give the same reading, with the last of them."""
    raw = sent(row)
    decoder = find(row["format"]).decoder()

    early = [answer for byte in raw[:-1] for answer in decoder.feed(bytes([byte]))]
    (found,) = decoder.feed(raw[-1:])

    assert early == []
    assert isinstance(found, Reading)
    assert stated(row) == says(found)


@pytest.mark.parametrize("row", VALID, ids=identity)
def test_a_published_frame_decodes_after_a_cut_one(row: dict[str, str]) -> None:
    """From any place of a frame on, the frames behind it are read, and nothing else is.

    Where a cut line may pass for a whole one, the format says so: a live source refuses the
    first reading after opening.
    """
    raw = sent(row)
    form = find(row["format"])
    for start in range(1, len(raw)):
        found = readings(form, raw[start:] + 2 * raw)

        assert stated(row) == says(found[-1])
        if form.facts.cut_shows:
            assert all(stated(row) == says(reading) for reading in found)


@pytest.mark.parametrize("row", VALID, ids=identity)
def test_a_published_frame_decodes_before_trailing_bytes(row: dict[str, str]) -> None:
    """What follows changes nothing: noise, or the beginning of the next frame."""
    raw = sent(row)
    for tail in (b"\x00", b"\xff\x55", raw[: len(raw) // 2]):
        (found,) = readings(find(row["format"]), raw + tail)

        assert stated(row) == says(found)


@pytest.mark.parametrize("row", CORRUPT, ids=identity)
def test_a_corrupt_frame_is_refused(row: dict[str, str]) -> None:
    """In all four feeds no reading comes of it; the second good frame behind it is read.

    The first may stand in one line with it, where the corrupt one has lost its end.
    """
    form = find(row["format"])
    good = form.encode(usual(form))
    value = usual(form).value
    raw = sent(row)
    for start in range(len(raw)):
        found = readings(form, raw[start:] + 2 * good)
        decoder = form.decoder()
        single = [
            answer
            for byte in raw[start:] + 2 * good
            for answer in decoder.feed(bytes([byte]))
            if isinstance(answer, Reading)
        ]

        assert found == single
        if start == 0 or form.facts.cut_shows:
            assert {value} == {reading.value for reading in found}
        assert found[-1].value == value


@each_format
def test_a_refusal_of_a_corrupt_frame_says_why(form: Format) -> None:
    """Each has a reason of its own words."""
    good = form.encode(usual(form))
    for row in CORRUPT:
        if row["format"] == form.name:
            answers = form.decoder().feed(sent(row) + good)

            assert any(isinstance(answer, Rejected) and answer.reason for answer in answers)


def flipped(raw: bytes, bit: int) -> bytes:
    """Flip one bit of a frame."""
    damaged = bytearray(raw)
    damaged[bit // 8] ^= 1 << bit % 8
    return bytes(damaged)


def wrong_ohms(form: Format, display: Display) -> list[int]:
    """List the bits which, flipped in a frame between two others, give a wrong resistance."""
    before, after = replace(usual(form), value=117.3), replace(usual(form), value=58.6)
    truth = {
        (None if shown.overload else shown.value, shown.overload)
        for shown in (before, display, after)
    }
    raw = form.encode(display)
    wrong = []
    for bit in range(8 * len(raw)):
        stream = form.encode(before) + flipped(raw, bit) + form.encode(after)
        found = {
            (reading.value, reading.overload)
            for reading in readings(form, stream)
            if reading.is_ohms
        }
        wrong += [bit] if found - truth else []
    return wrong


@pytest.mark.parametrize("name", ["block11", "block14"])
def test_no_single_flipped_bit_gives_another_resistance_where_there_is_parity(
    name: str,
) -> None:
    """Exhaustive: every bit of a reading, of zero, of the end of a range, of an overload."""
    form = find(name)
    _, resolution, full_scale = RANGE_OF.get(name, USUAL)
    shown = [
        usual(form),
        Display(0.0, resolution, full_scale),
        Display(full_scale, resolution, full_scale),
        Display(-full_scale, resolution, full_scale),
        usual(form, overload=True),
    ]

    assert [[] for _ in shown] == [wrong_ohms(form, display) for display in shown]


@each_format
def test_the_facts_state_how_many_flipped_bits_pass(form: Format) -> None:
    """Where a format has no redundancy its facts give the measured count, else they say so."""
    raw = form.encode(usual(form))

    passed = len(wrong_ohms(form, usual(form)))

    found = re.search(r"of the (\d+) single flipped bits.* (\d+) pass", form.facts.cannot_tell)
    if found is None:
        assert passed == 0 or form.name == "plain"
    else:
        assert (int(found[1]), int(found[2])) == (8 * len(raw), passed)


@each_format
def test_no_single_flipped_bit_makes_a_resistance_of_an_overload(form: Format) -> None:
    """An open coil never reads as a number because of one bit, whatever the format."""
    wrong = wrong_ohms(form, usual(form, overload=True))

    assert wrong == []


@each_format
def test_minus_and_over_range_are_read_back(form: Format) -> None:
    """A negative reading keeps its sign, an overload its sign where the format has one."""
    value, resolution, full_scale = RANGE_OF.get(form.name, USUAL)
    minus = frozenset({Flag.NEGATIVE})

    (negative,) = readings(form, form.encode(Display(-value, resolution, full_scale)))
    (over,) = readings(
        form, form.encode(Display(0.0, resolution, full_scale, overload=True, flags=minus))
    )

    assert -value == negative.value
    assert over.overload
    assert over.value is None
    assert Flag.NEGATIVE in over.flags


@each_format
def test_flags_that_a_format_has_no_sign_for_are_left_out(form: Format) -> None:
    """A meter that is on automatic range, or in hold, sends the same reading all the same."""
    value, resolution, full_scale = RANGE_OF.get(form.name, USUAL)
    flags = frozenset({Flag.AUTO, Flag.HOLD, Flag.LOW_BATTERY})

    (found,) = readings(form, form.encode(Display(value, resolution, full_scale, flags=flags)))

    assert value == found.value
    assert flags & form.facts.flags == found.flags
