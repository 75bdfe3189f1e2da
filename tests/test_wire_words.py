"""The format words: function words, units, events, and the current source."""

from __future__ import annotations

import pytest

from coilmeter.values import Flag, Function, Reading
from coilmeter.wire.contract import Display, Rejected
from coilmeter.wire.words import FORMAT

MINUS = frozenset({Flag.NEGATIVE})


def reading(text: str) -> Reading:
    """Decode one line, and expect a reading."""
    (answer,) = FORMAT.decoder().feed(text.encode() + b"\r\n")
    assert isinstance(answer, Reading)
    return answer


def refused(line: bytes) -> str:
    """Decode one line, expect that it is refused, and give the reason."""
    (answer,) = FORMAT.decoder().feed(line)
    assert isinstance(answer, Rejected)
    return answer.reason


@pytest.mark.parametrize(
    ("text", "function", "value", "resolution", "display"),
    [
        ("2 OHM  123.45 Ohm ", Function.RESISTANCE, 123.45, 0.01, "123.45 Ohm"),
        ("2 OHM  123.45 Ohm", Function.RESISTANCE, 123.45, 0.01, "123.45 Ohm"),
        ("OHM  12.345 Kohm ", Function.RESISTANCE, 12345.0, 1.0, "12.345 Kohm"),
        ("2 OHM  12345 Ohm ", Function.RESISTANCE, 12345.0, 1.0, "12345 Ohm"),
        ("2 BEP  012.3 Ohm ", Function.CONTINUITY, 12.3, 0.1, "012.3 Ohm"),
        ("2 DIO  0.5678 V ", Function.DIODE, 0.5678, 1e-4, "0.5678 V"),
        ("2 ACV  12.345 mV ", Function.AC_VOLTAGE, 12.345e-3, 1e-6, "12.345 mV"),
        ("2 DCA -12.345 uA ", Function.DC_CURRENT, -12.345e-6, 1e-9, "-12.345 uA"),
        ("2 ACA  1.2345 A ", Function.AC_CURRENT, 1.2345, 1e-4, "1.2345 A"),
        ("2 CAP  1.2345 uF ", Function.CAPACITANCE, 1.2345e-6, 1e-10, "1.2345 uF"),
        ("2 IND  1.2345 mH ", Function.INDUCTANCE, 1.2345e-3, 1e-7, "1.2345 mH"),
        ("2 FRQ  1.2345 Khz ", Function.FREQUENCY, 1234.5, 0.1, "1.2345 Khz"),
        ("2 TMP  23.4 C ", Function.TEMPERATURE, 23.4, 0.1, "23.4 C"),
    ],
)
def test_every_function_word(
    text: str, function: Function, value: float, resolution: float, display: str
) -> None:
    """The word tells the function, the unit its prefix, the digits the resolution."""
    found = reading(text)

    assert function is found.function
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.resolution == pytest.approx(resolution, rel=1e-12)
    assert display == found.display
    assert (Flag.NEGATIVE in found.flags) == (value < 0)


def test_over_range_has_no_value() -> None:
    """Its text is assumed; with a minus it keeps the sign."""
    found = reading("2 OHM -OL Mohm ")

    assert (found.overload, found.value, found.resolution) == (True, None, None)
    assert (found.flags, found.display) == (MINUS, "-OL Mohm")


def test_what_the_meter_gives_out_is_no_measurement() -> None:
    """The line of its current source is kept with its value, as something else."""
    found = reading("2 mA 0 + 04.000mA + 000.00 ")

    assert (found.function, found.value, found.unit) == (Function.OTHER, 0.004, "ampere")
    assert found.display == "04.000 mA given out"


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"2 OHM  12?.45 Ohm \r\n", "is no function word, number and unit"),
        (b"2 OHM .123.45 Ohm \r\n", "is no function word, number and unit"),
        (b"2 OHM  .5 Ohm \r\n", "is no function word, number and unit"),
        (b"4 OHM  123.45 Ohm \r\n", "is no function word, number and unit"),
        (b"HM  123.45 Ohm \r\n", "is no function word, number and unit"),
        (b"2 XXX  123.45 Ohm \r\n", "'XXX' is no function"),
        (b"2 OHM  123.45 mV \r\n", "'mV' is no unit of OHM, expected Ohm, Kohm, Mohm"),
        (b"2 OHM  123.45 mohm \r\n", "'mohm' is no unit of OHM"),
        (b"2 OHM  123.45 Ohm \n", "no CR before the LF"),
        (b"3 RANGE \r\n", "a key of the meter was pressed"),
        (b"2 OHM  123.45 \xea \r\n", "byte 14 is EA, expected ASCII"),
    ],
)
def test_a_line_that_is_refused_says_why(line: bytes, reason: str) -> None:
    """What cannot be read for certain is refused; the point is no minus sign."""
    assert reason in refused(line)


@pytest.mark.parametrize(
    ("display", "expected"),
    [
        (Display(0.0, 0.01, 400.0), b"2 OHM  000.00 Ohm \r\n"),
        (Display(1234.5, 0.1, 4e3), b"2 OHM  1.2345 Kohm \r\n"),
        (Display(-1.5, 0.1, 400.0), b"2 OHM -001.5 Ohm \r\n"),
        (Display(0.0, 10e3, 40e6, overload=True), b"2 OHM  OL Mohm \r\n"),
        (Display(0.5678, 1e-4, 2.0, function=Function.DIODE), b"2 DIO  0.5678 V \r\n"),
        (Display(12e-9, 1e-9, 40e-9, function=Function.CAPACITANCE), b"2 CAP  0.012 uF \r\n"),
    ],
)
def test_what_the_encoder_writes(display: Display, expected: bytes) -> None:
    """The unit is that of the range, or the nearest that the format has."""
    assert expected == FORMAT.encode(display)


@pytest.mark.parametrize(
    ("display", "reason"),
    [
        (Display(1.0, 0.1, 4.0, function=Function.OTHER), "no function word for other"),
        (Display(1.0, 1e4, 4e5, function=Function.FREQUENCY), "kHz is no unit of FRQ"),
        (Display(1.0, 0.1, 4.0, flags=MINUS), "a minus sign"),
    ],
)
def test_the_encoder_refuses_what_a_line_cannot_say(display: Display, reason: str) -> None:
    """A display that no line can carry is refused with the reason."""
    with pytest.raises(ValueError, match=reason):
        FORMAT.encode(display)
