"""Impedances as tables, documents and pictures."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from impedance_helpers import HEADER, SOUND, four, judged_volts, one_head, volts_csv
from PIL import Image

from coilmeter.report.impedance_document import impedance_document
from coilmeter.report.impedance_plots import alternative, impedance_drawing, impedance_picture
from coilmeter.report.impedance_rows import (
    KEYS,
    budget_lines,
    csv_cells,
    impedance_listing,
    q_text,
    reasons,
)
from coilmeter.report.listing import listing_csv, listing_json, listing_page, listing_text
from coilmeter.values.impedances import HeadImpedance, ImpedancePoint, Method

SHORTED = four(SOUND, SOUND, SOUND.with_shorted(0.01), SOUND)


def shorted() -> HeadImpedance:
    """Judge a head with one shorted coil."""
    return one_head(HEADER + volts_csv(SHORTED))


def several() -> HeadImpedance:
    """Judge the same head at four tones."""
    text = "".join(
        volts_csv(SHORTED, hertz=hertz, ohm=ohm, volt=0.2)
        for hertz, ohm in ((1e3, 1e3), (2e3, 1e3), (5e3, 4.7e3), (10e3, 10e3))
    )
    return one_head(HEADER + text)


def test_the_table() -> None:
    """One line a coil and tone, no wider than a terminal; like coils are told of together."""
    text = listing_text(impedance_listing([shorted()], 0.95))
    lines = text.splitlines()

    assert lines[0].startswith("coil    tone")
    assert all(len(line) <= 96 for line in lines)
    assert "Coil 1, 2, 4: no sign." in text
    assert "Coil 3: shorted turns suspected." in text


def test_several_heads_are_named() -> None:
    """With more than one head, each line and each sentence says of which."""
    text = HEADER + volts_csv(SHORTED) + volts_csv(SHORTED, head="B")
    shown = listing_text(impedance_listing(judged_volts(text), 0.95))

    assert shown.startswith("head")
    assert "B: Coil 3: shorted turns suspected" in " ".join(shown.split())


def test_the_documents() -> None:
    """CSV has the keys, JSON no figure that is no number; a page stands by itself."""
    listing = impedance_listing([several()], 0.95, parts=True)
    document = json.loads(listing_json(listing))
    (head,) = document["heads"]

    assert ",".join(KEYS) == listing_csv(listing).splitlines()[0]
    assert 16 == len(document["impedances"])
    assert "coilmeter/1" == document["schema"]
    assert 4 == len(head["coils"][0]["points"])
    assert 0.1 == pytest.approx(head["coils"][0]["fit"]["inductance_h"], rel=0.02)
    assert listing_page(listing).startswith("<!DOCTYPE html>")


def test_the_budget() -> None:
    """Shares of the causes in L and R, each set adding up to the whole; what cancelled."""
    line = budget_lines(shorted().coils)[0]
    shares = line.split(": ", 1)[1].split(";")[0].split(", ")
    of_l = [int(share.split()[-4]) for share in shares]
    of_r = [int(share.split()[-2]) for share in shares]

    assert 100 == pytest.approx(sum(of_l), abs=2)
    assert 100 == pytest.approx(sum(of_r), abs=2)
    assert line.endswith("cancelled: gain.")


def point(**changes: object) -> ImpedancePoint:
    """Give a point with its Q changed."""
    (found,) = shorted().coils["1"].points
    q = replace(found.figures.q, **changes)  # type: ignore[arg-type]
    return replace(found, figures=replace(found.figures, q=q))


def test_q_in_words() -> None:
    """An interval, an end that is known, a limit where R was assumed, or nothing."""
    assumed = point(low=None, high=7.0)
    assumed = replace(assumed, impedance=replace(assumed.impedance, r_assumed=True))

    assert "5.8 (4.7 to 7.5)" == q_text(point(value=5.8, low=4.7, high=7.5))
    assert "above 12" == q_text(point(value=20.0, low=12.0, high=None))
    assert "above 12" == q_text(point(value=math.inf, low=12.0, high=None))
    assert "below 7" == q_text(assumed)
    assert "not known" == q_text(point(low=None, high=None))


def test_a_figure_that_is_not_finite_is_null() -> None:
    """JSON knows no infinity."""
    head = shorted()
    coil = replace(head.coils["1"], points=(point(value=math.inf, low=12.0, high=None),))
    (found,) = impedance_document(coil)["points"]

    assert None is found["q"]
    assert None is found["q_high"]
    assert (None,) * 5 == csv_cells(None)


def test_two_voltages_only_say_that_r_was_assumed() -> None:
    """Q is a limit, the sign undecided, and v_total is asked for."""
    text = "coil,frequency,v_resistor,v_coil,resistor,dc\n"
    for coil in "12":
        text += f"{coil},10 kHz,117.1 mV,77.1 mV,10 kohm +/- 1 %,300 ohm\n"
    head = one_head(text)

    assert Method.DC_KNOWN is head.coils["1"].points[0].impedance.method
    assert "Q was not measured" in " ".join(reasons(head.coils))
    assert "v_total" in head.coils["1"].next


@pytest.mark.parametrize("make", [shorted, several])
def test_pictures_can_be_opened_and_heard(make: object) -> None:
    """SVG and PNG, at one tone and at several; the same bytes each time; text for the blind."""
    head = make()  # type: ignore[operator]
    svg = impedance_picture(head.coils, "svg", "head A")
    png = impedance_picture(head.coils, "png", "head A")
    root = ET.fromstring(svg)  # noqa: S314 - made here

    assert svg == impedance_picture(head.coils, "svg", "head A")
    assert "coil 3" in "".join(root.itertext())
    assert "shorted turns suspected" in "".join(root.itertext())
    with Image.open(io.BytesIO(png)) as image:
        assert image.size[0] >= 800


def test_a_drawing_of_a_page_takes_the_pages_colours() -> None:
    """It is named for those who hear it, and draws with the page's ink."""
    drawing = impedance_drawing(shorted().coils)

    assert "var(--mark)" in drawing
    assert "aria-label" in drawing
    assert "shorted turns suspected" in alternative(shorted().coils)


def test_names_that_would_draw_something_else() -> None:
    """A coil's name is text, and nothing else, in table and picture."""
    text = HEADER + volts_csv({"$x$": SOUND, "<b>": SOUND}, kind="")
    head = one_head(text)

    assert b"<b>" not in impedance_picture(head.coils, "svg", "$y$ <i>")
    assert "<b>" not in listing_page(impedance_listing([head], 0.95))
