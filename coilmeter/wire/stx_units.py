"""Unit codes of the format ``stx16``: two characters each.

Source: the multimeter set of S5 and the general table of S7, with single codes of other
manuals; see the header of ``reference_data/wire_frames.csv``.  The copy of the general table
was cut, so that a code which is missing here is refused and not guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilmeter.values import Function


@dataclass(frozen=True, slots=True)
class UnitCode:
    """What a unit code stands for: function, power of ten of its prefix, and its name."""

    function: Function
    exponent: int
    name: str


UNITS: Final = {
    "38": UnitCode(Function.RESISTANCE, 0, "ohm"),
    "39": UnitCode(Function.RESISTANCE, 3, "kohm"),
    "40": UnitCode(Function.RESISTANCE, 6, "Mohm"),
    "46": UnitCode(Function.DIODE, 0, "V"),
    "34": UnitCode(Function.DC_VOLTAGE, 0, "V"),
    "18": UnitCode(Function.DC_VOLTAGE, -3, "mV"),
    "50": UnitCode(Function.AC_VOLTAGE, 0, "V"),
    "49": UnitCode(Function.AC_VOLTAGE, -3, "mV"),
    "36": UnitCode(Function.DC_CURRENT, 0, "A"),
    "37": UnitCode(Function.DC_CURRENT, -3, "mA"),
    "35": UnitCode(Function.DC_CURRENT, -6, "uA"),
    "52": UnitCode(Function.AC_CURRENT, 0, "A"),
    "53": UnitCode(Function.AC_CURRENT, -3, "mA"),
    "51": UnitCode(Function.AC_CURRENT, -6, "uA"),
    "31": UnitCode(Function.FREQUENCY, 0, "Hz"),
    "33": UnitCode(Function.FREQUENCY, 3, "kHz"),
    "67": UnitCode(Function.FREQUENCY, 6, "MHz"),
    "44": UnitCode(Function.CAPACITANCE, -6, "uF"),
    "43": UnitCode(Function.CAPACITANCE, -9, "nF"),
    "A4": UnitCode(Function.CAPACITANCE, -12, "pF"),
    "42": UnitCode(Function.INDUCTANCE, 0, "H"),
    "41": UnitCode(Function.INDUCTANCE, -3, "mH"),
    "68": UnitCode(Function.INDUCTANCE, -6, "uH"),
    "01": UnitCode(Function.TEMPERATURE, 0, "degC"),
    "02": UnitCode(Function.TEMPERATURE, 0, "degF"),
} | {
    code: UnitCode(Function.OTHER, 0, name)
    for code, name in {
        "00": "",
        "03": "%",
        "04": "%RH",
        "05": "pH",
        "06": "%O2",
        "07": "mg/L",
        "08": "m/s",
        "09": "knots",
        "10": "km/h",
        "11": "ft/min",
        "12": "mile/h",
        "13": "uS",
        "14": "mS",
        "15": "lux",
        "16": "ft-cd",
        "17": "dB",
        "19": "ppm",
        "20": "mg",
        "21": "T",
        "22": "bar",
        "23": "psi",
        "24": "cmHg",
        "25": "inH2O",
        "26": "atp",
        "27": "rpm",
        "28": "in/min",
        "29": "cm/min",
        "30": "counts",
        "32": "deg",
        "45": "hFE",
        "47": "W",
        "48": "kW",
        "57": "g",
        "72": "blue",
        "73": "saturation",
        "74": "ms",
        "75": "us",
        "76": "s",
        "77": "kg/cm2",
        "78": "mmHg",
        "79": "mH2O",
        "80": "inHg",
        "81": "kg cm",
        "82": "lb in",
        "83": "N cm",
        "84": "m3/min",
        "85": "ft3/min",
        "86": "mbar",
        "87": "Pa",
        "88": "kPa",
        "89": "umHg",
        "90": "torr",
        "91": "hPa",
        "92": "m/s2",
        "93": "mm/s",
        "94": "mm",
        "95": "cm/s",
        "96": "inch",
        "B5": "gauss",
        "E3": "mT",
    }.items()
}
"""What each code stands for; of code 97 only its kind is printed, so it is left out."""


def codes_of(function: Function) -> dict[int, str]:
    """Give the codes of a function by the power of ten of their prefix, largest first.

    Raises
    ------
    ValueError
        When no code is printed for the function.

    """
    found = {
        unit.exponent: code
        for code, unit in UNITS.items()
        if unit.function is function and unit.name != "degF"
    }
    if not found or function is Function.OTHER:
        raise ValueError(f"stx16 has no unit code for {function}")
    return dict(sorted(found.items(), reverse=True))
