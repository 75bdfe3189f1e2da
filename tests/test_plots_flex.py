"""The picture of a flexing, and its words."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

from coilmeter.report.plots_flex import FlexPicture


def picture(**changes: float) -> FlexPicture:
    """Make a picture of some of everything."""
    at = [100.0 + n / 10 for n in range(100)]
    ohm = [math.inf if 40 <= n < 44 or n > 95 else 171.0 + n % 2 for n in range(100)]
    ohm[60] = changes.get("blip", 190.0)
    return FlexPicture(
        at=at,
        ohm=ohm,
        moved_from=102.0,
        level_ohm=171.3,
        limit_ohm=0.5,
        dropouts=[(104.0, 104.4)],
        left_out=[(109.6, 109.9)],
        changes=[106.0],
    )


def test_the_picture_and_its_words() -> None:
    """Axes with units, a legend of the marks, and all of it in words for a screen reader."""
    svg = ET.fromstring(picture().draw("svg", "intermittent: coil 2"))  # noqa: S314 - our own
    texts = ["".join(each.itertext()) for each in svg.iter("{http://www.w3.org/2000/svg}text")]
    words = svg.findtext("{http://www.w3.org/2000/svg}desc")

    for text in ("time in s", "resistance in ohm", "open", "at rest", "changed", "no change"):
        assert text in texts
    assert (
        "Resistance over 9.9 s: 100 readings from 171 ohm to 190 ohm; moved from 2 s on; "
        "1 x open (marked over the whole height); 1 x changed (marked at the bottom edge); "
        "1 x OL left out (shaded)."
    ) == words


def test_the_same_picture_each_time() -> None:
    """Without a date or a random name in it."""
    assert picture().draw("svg", "a") == picture().draw("svg", "a")
    assert picture().draw("png", "a").startswith(b"\x89PNG")


def test_a_wide_span_is_drawn_on_a_logarithmic_axis() -> None:
    """A corroded joint of ten kilo-ohm beside a coil of 171 ohm."""
    linear, wide = picture().draw("svg", "a"), picture(blip=15e3).draw("svg", "a")

    assert b"mathdefault" not in linear
    assert linear != wide


def test_a_coil_of_which_nothing_finite_was_seen() -> None:
    """It can be drawn all the same."""
    only = FlexPicture([0.0, 0.1], [math.inf, math.inf], 0.0, 171.3, 0.5)

    assert "2 readings; moved from 0 s on" in only.alternative()
    assert only.draw("png", "a")
