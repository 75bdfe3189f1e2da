"""Every discovered wire format against the rules of `coilmeter.wire.contract`."""

from __future__ import annotations

import contextlib
import math
import pkgutil
import subprocess
import sys
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

import coilmeter.wire
from coilmeter.errors import UnknownNameError
from coilmeter.values import Flag, Function, Reading
from coilmeter.wire import find, formats
from coilmeter.wire.contract import Decoder, Display, Example, Format, Rejected

FORMATS = tuple(formats().values())
EXAMPLES = [
    pytest.param(form, example, id=f"{form.name}-{number}")
    for form in FORMATS
    for number, example in enumerate(form.examples)
    if example.valid
]
BAD_EXAMPLES = [
    pytest.param(form, example, id=f"{form.name}-{number}")
    for form in FORMATS
    for number, example in enumerate(form.examples)
    if not example.valid
]
each_format = pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.name)


def ranges(counts: int, decades: Sequence[int]) -> list[tuple[float, float]]:
    """Give (full scale, last digit) of a meter of so many counts, by decades of the latter."""
    return [(float(f"{counts}e{decade}"), float(f"1e{decade}")) for decade in decades]


# ranges of hand-held meters of 2000, 4000 and 6000 counts: 200 ohm ... 60 Mohm
HAND_HELD_RANGES = [
    entry for counts in (2000, 4000, 6000) for entry in ranges(counts, range(-1, 5))
]
# The blocks tell full scale, so that they carry the ranges of one kind of meter only; a bench
# meter has ranges from 100 ohm to 100 Mohm that go past their end by a fifth.
RANGES_OF = {
    "block11": ranges(4000, range(-1, 5)),
    "block14": ranges(22_000, range(-2, 5)),
    "scpi": HAND_HELD_RANGES + ranges(1_200_000, range(-4, 3)),
    "prompt": HAND_HELD_RANGES + ranges(120_000, range(-3, 4)),
}
# what one display need not show and another must: signs that a format derives by itself
DERIVED = {Flag.MANUAL, Flag.BEEP, Flag.NEGATIVE}


def in_pieces(decoder: Decoder, data: bytes, sizes: Sequence[int]) -> list[Reading | Rejected]:
    """Feed data in pieces of the given sizes, the rest at once."""
    answers: list[Reading | Rejected] = []
    for size in sizes:
        answers += decoder.feed(data[:size])
        data = data[size:]
    return [*answers, *decoder.feed(data)]


def readings(answers: Sequence[Reading | Rejected]) -> list[Reading]:
    """Keep the readings."""
    return [answer for answer in answers if isinstance(answer, Reading)]


def encoded_or_none(form: Format, display: Display) -> bytes | None:
    """Encode a display, or give None where the format refuses it."""
    with contextlib.suppress(ValueError):
        return form.encode(display)
    return None


def says(reading: Reading) -> tuple[object, ...]:
    """Reduce a reading to what an example states."""
    return (reading.function, reading.value, reading.overload, reading.flags)


def stated(example: Example) -> tuple[object, ...]:
    """Reduce an example to what a reading must say."""
    value = None if example.value is None else pytest.approx(example.value, rel=1e-12)
    return (example.function, value, example.overload, example.flags)


@pytest.mark.parametrize(("form", "example"), EXAMPLES)
def test_an_example_decodes_as_a_whole(form: Format, example: Example) -> None:
    """A whole frame gives its one reading, with the bytes it came from."""
    decoder = form.decoder()

    answers = decoder.feed(example.raw)

    assert [stated(example)] == [says(reading) for reading in readings(answers)]
    assert example.raw == b"".join(answer.raw for answer in answers) + decoder.pending()


@pytest.mark.parametrize(("form", "example"), EXAMPLES)
def test_an_example_decodes_byte_by_byte(form: Format, example: Example) -> None:
    """Single bytes with empty pieces between them give what the whole gives."""
    sizes = [size for _ in example.raw for size in (1, 0)]

    answers = in_pieces(form.decoder(), example.raw, sizes)

    assert list(form.decoder().feed(example.raw)) == answers


@pytest.mark.parametrize(("form", "example"), EXAMPLES)
def test_an_example_decodes_after_a_cut_frame(form: Format, example: Example) -> None:
    """From any place inside a frame on, the frame after the next is understood."""
    for start in range(1, len(example.raw)):
        found = readings(form.decoder().feed(example.raw[start:] + 2 * example.raw))

        assert stated(example) == says(found[-1])
        if form.facts.cut_shows:
            assert [stated(example)] * len(found) == [says(reading) for reading in found]


@pytest.mark.parametrize(("form", "example"), EXAMPLES)
def test_an_example_decodes_before_trailing_bytes(form: Format, example: Example) -> None:
    """What follows a frame changes nothing in it."""
    for tail in (b"\x00", b"\xff\xff", example.raw[:3]):
        found = readings(form.decoder().feed(example.raw + tail))

        assert stated(example) == says(found[0])


@pytest.mark.parametrize(("form", "example"), BAD_EXAMPLES)
def test_a_bad_example_gives_no_reading(form: Format, example: Example) -> None:
    """A corrupt frame is rejected with a reason, and the frame after it is understood."""
    good = next(entry for entry in form.examples if entry.valid)

    answers = form.decoder().feed(example.raw + good.raw)

    assert [stated(good)] == [says(reading) for reading in readings(answers)]
    refused = [answer for answer in answers if isinstance(answer, Rejected)]
    assert refused
    assert all(answer.reason for answer in refused)


@each_format
def test_a_format_introduces_itself(form: Format) -> None:
    """A format bears its module's name, and says what it is and where that is written."""
    assert form is find(form.name)
    assert sys.modules[f"coilmeter.wire.{form.name}"].__dict__["FORMAT"] is form
    facts = form.facts
    assert all((facts.title, facts.starts, facts.tells, facts.cannot_tell))
    assert all(example.basis for example in form.examples)
    assert any(example.valid and example.overload for example in form.examples)
    assert any(not example.valid for example in form.examples)
    assert form.settings.baud > 0
    assert all(example.flags <= facts.flags for example in form.examples)


@each_format
@given(data=st.data())
def test_what_a_meter_shows_is_read_back(form: Format, data: st.DataObject) -> None:
    """On every range of the meters that send it, decoding what was encoded gives it back."""
    fitting = RANGES_OF.get(form.name, HAND_HELD_RANGES)
    full_scale, resolution = data.draw(st.sampled_from(fitting))
    value = data.draw(st.floats(-full_scale, full_scale))
    display = Display(value, resolution, full_scale)

    (reading,) = readings(form.decoder().feed(form.encode(display)))

    assert reading.function is Function.RESISTANCE
    assert reading.value is not None
    assert abs(reading.value - value) <= resolution * (0.5 + 1e-6)
    assert not reading.overload
    for known, shown in (
        (reading.resolution, resolution),
        (reading.full_scale, full_scale),
    ):
        assert known is None or math.isclose(known, shown, rel_tol=1e-9)


@each_format
@given(data=st.data())
def test_whatever_a_format_can_carry_is_read_back(form: Format, data: st.DataObject) -> None:
    """Functions, flags and overloads come back too, or the format refuses to encode them."""
    display = Display(
        value=data.draw(st.floats(-1e3, 1e3)),
        resolution=data.draw(st.sampled_from([10.0**power for power in range(-12, 5)])),
        full_scale=data.draw(st.sampled_from([10.0**power for power in range(-9, 9)])),
        overload=data.draw(st.booleans()),
        function=data.draw(st.sampled_from(list(Function))),
        flags=data.draw(st.frozensets(st.sampled_from(list(Flag)), max_size=3)),
    )
    encoded = encoded_or_none(form, display)
    if encoded is None:
        return

    (reading,) = readings(form.decoder().feed(encoded))

    assert reading.function is display.function
    assert reading.overload is display.overload
    shown = display.flags if display.overload else display.flags - {Flag.NEGATIVE}
    assert shown & form.facts.flags <= reading.flags <= display.flags | DERIVED
    assert reading.flags <= form.facts.flags
    if reading.value is not None:
        # half a last digit, and what the float of the value itself is rounded by
        rounding = display.resolution * (0.5 + 1e-6) + 2 * math.ulp(display.value)
        assert abs(reading.value - display.value) <= rounding


def streams(form: Format) -> st.SearchStrategy[bytes]:
    """Build streams of a format: whole frames, damaged ones, pieces of them, noise."""
    frames = st.sampled_from([example.raw for example in form.examples])

    def damaged(frame: bytes, place: int, byte: int) -> bytes:
        cut = place % len(frame)
        return frame[:cut] + bytes([byte]) + frame[cut + 1 :]

    part = st.one_of(
        frames,
        st.builds(lambda frame, length: frame[:length], frames, st.integers(1, 20)),
        st.builds(damaged, frames, st.integers(0, 20), st.integers(0, 255)),
        st.binary(max_size=40),
        st.sampled_from([b"\r\n" * 80, b"2" * 200, b"+" * 40]),
    )
    return st.lists(part, max_size=8).map(b"".join)


@each_format
@given(data=st.data())
def test_any_bytes_give_answers_and_nothing_else(form: Format, data: st.DataObject) -> None:
    """No bytes raise; all are accounted for; and pieces of any size change nothing."""
    stream = data.draw(streams(form))
    sizes = data.draw(st.lists(st.integers(0, 30), max_size=12))
    decoder, whole = form.decoder(), form.decoder()

    answers = in_pieces(decoder, stream, sizes)

    assert list(whole.feed(stream)) == answers
    assert whole.pending() == decoder.pending()
    assert stream == b"".join(answer.raw for answer in answers) + decoder.pending()
    position = 0
    for answer in answers:
        if isinstance(answer, Rejected):
            assert position == answer.position
            assert answer.raw
            assert answer.reason
        position += len(answer.raw)


@each_format
@given(data=st.data())
def test_what_is_pending_is_bounded(form: Format, data: st.DataObject) -> None:
    """However long a stream without frames is, little of it is kept."""
    decoder = form.decoder()
    decoder.feed(data.draw(st.binary(min_size=1, max_size=50)) * 40)

    assert len(decoder.pending()) <= 256


@each_format
def test_a_full_memory_of_frames_changes_nothing(
    form: Format, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Frames are remembered up to a bound; beyond it they are understood anew."""
    monkeypatch.setattr("coilmeter.wire.framing.KNOWN_FRAMES", 2)
    monkeypatch.setattr("coilmeter.wire.reply_lines.KNOWN_FRAMES", 2)
    full_scale = 22_000.0 if form.name == "block14" else 4000.0
    frames = [form.encode(Display(float(ohm), 1.0, full_scale)) for ohm in (1, 2, 3, 1, 2, 3)]

    found = readings(form.decoder().feed(b"".join(frames)))

    assert [reading.value for reading in found] == [1.0, 2.0, 3.0, 1.0, 2.0, 3.0]


def test_discovery_finds_the_formats_in_the_order_of_their_names() -> None:
    """Every format is found, and helpers of the package are not among them."""
    names = list(formats())

    assert names == sorted(names)
    assert names == [
        "block11",
        "block14",
        "digits14",
        "plain",
        "prompt",
        "scpi",
        "segments14",
        "stx16",
        "words",
    ]
    modules = {module.name for module in pkgutil.iter_modules(coilmeter.wire.__path__)}
    assert set(names) < modules


@pytest.mark.parametrize("name", ["contract", "nothing", "", "Plain"])
def test_an_unknown_format_is_named_with_the_known_ones(name: str) -> None:
    """A name that is no format, though it may be a module, lists those that are."""
    with pytest.raises(UnknownNameError) as caught:
        find(name)

    assert name == caught.value.name
    assert tuple(formats()) == caught.value.known
    assert "meter format" in str(caught.value)


def test_importing_the_package_imports_no_format() -> None:
    """Formats are imported when they are asked for, and one alone when it is named."""
    code = (
        "import sys, coilmeter.wire as wire\n"
        "def loaded(): return {'plain', 'digits14', 'scpi', 'block11'} & "
        "{m.split('.')[-1] for m in sys.modules}\n"
        "first = loaded(); wire.find('plain'); print(sorted(first), sorted(loaded()))"
    )

    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert result.stdout.strip() == "[] ['plain']"
