"""The chain drawn: in a terminal, as SVG, on a page; never by colour alone."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from chain_helpers import diagnosed, model_of, said, shipped_chains

from coilmeter.compute.chain_diagnosis import Bench, Diagnosis, Standing, diagnose
from coilmeter.compute.chain_model import Model
from coilmeter.report.chain_drawing import LEGEND, MARKS, drawing, stationed
from coilmeter.report.chain_howto import how_lines, title_line, why_lines
from coilmeter.report.chain_page import chain_page
from coilmeter.report.chain_svg import WIDTH, svg
from coilmeter.report.chain_words import fault_text, headline, minutes, percent, suspects

SVG = "{http://www.w3.org/2000/svg}"
SEEN = ("others:complaint=pass", "look=pass", "ohms-at-plug=fail")


def parsed(diagnosis: Diagnosis) -> ET.Element:
    """Draw it and read it back."""
    return ET.fromstring(svg(diagnosis))  # noqa: S314 - drawn by this program


def test_a_line_for_each_link_with_its_mark() -> None:
    """Stations in the order of the signal, a mark and a reason for each link."""
    found = diagnosed("playback", *SEEN)
    text = drawing(found)
    lines = {line.split()[2]: line for line in text.splitlines() if line.startswith("  | ")}

    assert {each.link.name for each in found.links} == set(lines)
    for each in found.links:
        assert f"  | {MARKS[each.standing]} {each.link.name}" in lines[each.link.name]
    stations = [line for line in text.splitlines() if line and line[0].isalpha()]
    assert ["tape and face", "head", "lead", "switch", "board"] == stations
    assert text.rstrip().endswith(LEGEND)
    assert 3 == len(set(MARKS.values()))


def test_a_link_of_ones_own_stands_with_its_station() -> None:
    """Added at the end of a file, it is drawn where it belongs."""
    chain = shipped_chains()["playback"]
    extra = replace(chain.links[0], name="shield", title="shield", station="lead", weight=1.0)
    model = Model(replace(chain, links=(*chain.links, extra)))
    found = diagnose(model, said("playback"), "3", Bench())

    names = [each.link.name for each in stationed(found)]

    assert names.index("cable-plug") + 1 == names.index("shield")
    assert len(found.links) == len(names)


def test_every_standing_has_a_shape_and_a_word() -> None:
    """A ring, dashed or not, a sign in it, and the word beside it."""
    found = diagnosed("playback", *SEEN)
    root = parsed(found)
    rings = [each.get("class") for each in root.iter(f"{SVG}circle")]
    texts = [each.text or "" for each in root.iter(f"{SVG}text")]

    assert sorted(str(each.standing) for each in found.links) == sorted(map(str, rings))
    assert rings.count("suspect") == texts.count("?")
    ticks = [each for each in root.iter(f"{SVG}path") if each.get("class") == "cleared"]
    assert rings.count("cleared") == len(ticks)
    for standing in Standing:
        words = [text for text in texts if text.startswith(str(standing))]
        assert rings.count(str(standing)) == len(words)
    style = root.findtext(f"{SVG}style") or ""
    assert "stroke-dasharray" in style
    assert "prefers-color-scheme: dark" in style


def test_nothing_is_drawn_outside_or_over_each_other() -> None:
    """All texts lie within the drawing, rows at least a line apart."""
    root = parsed(diagnosed("playback", *SEEN))
    _, _, width, height = map(float, str(root.get("viewBox")).split())
    middles = sorted(float(each.get("cy", 0)) for each in root.iter(f"{SVG}circle"))

    assert WIDTH == width
    for each in root.iter(f"{SVG}text"):
        assert 0 < float(each.get("x", 0)) < width
        assert 0 < float(each.get("y", 0)) < height
    gaps = [after - before for before, after in itertools.pairwise(middles)]
    assert min(gaps) >= 30


def test_it_can_be_heard() -> None:
    """The drawing has a title in words: what comes next, and how each link stands."""
    root = parsed(diagnosed("playback", *SEEN))
    title = root.findtext(f"{SVG}title") or ""

    assert title == root.get("aria-label")
    assert "img" == root.get("role")
    assert "suspect: coil open" in title
    assert "cleared: dirt, pad, roller" in title


def test_hostile_names_stay_text() -> None:
    """A title of a user's file or a track's name is drawn as it is, and runs nothing."""
    chain = shipped_chains()["erase"]
    bad = "<script>alert(1)</script>\x1b[31m\u202e"
    links = (replace(chain.links[0], title=bad, station=bad), *chain.links[1:])
    model = Model(replace(chain, links=links, title=bad))
    found = diagnose(model, said("erase"), "3", Bench())
    page = chain_page(found)

    texts = [each.text or "" for each in parsed(found).iter(f"{SVG}text")]
    assert any("<script>alert(1)</script>?[31m?" in text for text in texts)
    assert "<script>alert" not in page
    assert "\x1b" not in page + drawing(found) + svg(found)
    assert "\u202e" not in page + drawing(found) + svg(found)


def test_a_page_holds_everything() -> None:
    """What comes next, cautions, the drawing, every link, and what was seen in its order."""
    found = diagnosed("playback", *SEEN)
    page = " ".join(chain_page(found).split())

    assert "A track does not play: track 3" in page
    assert headline(found) in page
    assert "Never ohms on a live circuit" in page
    assert 1 == page.count("<svg")
    assert len(found.links) == page.count('<tr><th scope="row">')
    order = [page.index(text) for text in ("<li>track 3 does not play", "<li>look: pass")]
    assert sorted(order) == order


@pytest.mark.parametrize(
    ("probability", "text"),
    [(0.0, "< 1 %"), (0.0099, "< 1 %"), (0.5, "50 %"), (0.987, "99 %"), (0.9999, "> 99 %")],
)
def test_probabilities_are_never_zero_or_one(probability: float, text: str) -> None:
    """Whole percents, and nothing that looks certain."""
    assert text == percent(probability)


def test_minutes_and_suspects_in_words() -> None:
    """A time, and the few that matter with how many more there are."""
    assert ("3 min", "under a minute") == (minutes(3), minutes(0.5))
    assert re.search(
        r"coil-open \d+ %, pin-joint \d+ %", suspects(diagnosed("playback", *SEEN))
    )
    assert " more" in suspects(diagnosed("playback"))


def test_faults_of_all_tracks_say_so() -> None:
    """A set of faults names where each is, unless it is the track in question."""
    together = diagnosed("erase", "1:complaint=fail")
    first = fault_text(together.explanations[0], "3")
    other = diagnosed("erase", "1:ohms-at-head=fail")

    assert "(all tracks)" in first
    assert "coil-open (track 1)" in fault_text(other.explanations[0], "3")


def test_how_and_why_in_lines() -> None:
    """All parts of the way a test is made; and the reasons for suspects without a next test."""
    chain = shipped_chains()["record"]
    text = "\n".join(how_lines(chain.test("A"), chain.needs))

    assert "With the head in the hand: about 2 min." in text
    assert title_line(chain.test("P")).endswith("(about 5 min, letter P)")
    unlettered = shipped_chains()["playback"].test("records-too")
    assert title_line(unlettered).endswith("(about 6 min)")
    found = diagnosed("playback", "swap-at-plug=both")
    told = list(why_lines(found, None))
    assert any(line.startswith("Seen so far") for line in told)
    assert not any("bits" in line for line in told)


def test_why_tells_of_links_for_all_tracks() -> None:
    """A share in common is told beside the probability."""
    found = diagnosed("erase", *[f"{track}:complaint=fail" for track in "124"])

    told = "\n".join(why_lines(found, found.tests[0]))

    assert "of it for all tracks at once" in told
    assert model_of("erase").chain is found.chain
