"""Flexing judged from the stream: what it says, when it says nothing, and its figures."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

import math
import re

import numpy as np
import numpy.typing as npt
import pytest
from flex_streams import Floats, Shape, at_rest, gap_after, points, stream

from coilmeter.compute.flex import flex
from coilmeter.compute.flex_rest import REST_LEAST, rest_of
from coilmeter.compute.flex_scan import FlexPoint, Meaning
from coilmeter.values import Stability

LEVEL = 171.3


def every(period_s: float, open_s: float) -> Shape:
    """Open for a while, again and again."""
    return lambda t: np.where((t > 0) & (t % period_s < open_s), math.inf, LEVEL)


def creep(by: float, tau_s: float) -> Shape:
    """Go one way to the level, as a charging capacitor does."""
    return lambda t: LEVEL - by * np.exp(-(t + 2.4) / tau_s)


def steps(by: float, period_s: float = 3.0, share: float = 0.3) -> Shape:
    """Jump to another level and back."""
    off = (1 - share) * period_s
    return lambda t: np.where((t > 0) & (t % period_s > off), LEVEL + by, LEVEL)


def is_number(t: Floats, numbers: list[int]) -> npt.NDArray[np.bool_]:
    """Whether a time is that of one of these readings, at ten a second."""
    return np.isin(np.round(10 * t), numbers)


CASES: dict[str, tuple[Shape, Stability]] = {
    "nothing happens": (lambda t: LEVEL + 0 * t, Stability.STEADY),
    "the warmth of a hand": (lambda t: LEVEL * (1 + 0.008 * t / 20), Stability.STEADY),
    "clips that rock by 0.2 ohm": (steps(0.2), Stability.STEADY),
    "open for 0.4 s now and then": (every(4.0, 0.4), Stability.INTERMITTENT),
    "open once for 0.5 s": (
        lambda t: np.where((t > 9) & (t < 9.5), math.inf, LEVEL),
        Stability.INTERMITTENT,
    ),
    "a corroded joint, 1 ohm": (steps(1.0), Stability.NOISY),
    "a corroded joint, 1000 ohm": (steps(1000.0), Stability.NOISY),
    "one step that stays": (lambda t: LEVEL + 3.0 * (t > 10), Stability.NOISY),
    "crackle": (
        lambda t: LEVEL + 8 * np.sin(40 * np.maximum(t, 0)),
        Stability.NOISY,
    ),
    "wires that touch": (steps(-LEVEL + 0.3), Stability.NOISY),
    "follows the pressure slowly": (
        lambda t: LEVEL * (1 + 0.01 * np.sin(np.maximum(t, 0) / 3)),
        Stability.NOISY,
    ),
    "a capacitor, 2 s": (creep(60.0, 2.0), Stability.CREEPING),
    "a capacitor, 5 s": (creep(60.0, 5.0), Stability.CREEPING),
    "a capacitor, 20 s": (creep(60.0, 20.0), Stability.CREEPING),
    "a straight creep of 5 %": (
        lambda t: LEVEL * (1 + 0.05 * (t + 2.4) / 22.4),
        Stability.CREEPING,
    ),
    "more and more as a hand warms, 3 %": (
        lambda t: LEVEL * (1 + 0.03 * (t + 2.4) / 22.4),
        Stability.CREEPING,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_a_stream_says(name: str) -> None:
    """Each thing a joint can do, at ten readings a second with a display that flickers."""
    shape, expected = CASES[name]
    found = stream(shape)

    assert expected == found.evidence.stability, found.reason
    assert bool(found.next) is (expected is not Stability.STEADY)


def test_a_creep_is_told_from_a_drop_out_in_it() -> None:
    """A joint that opens is said first, and the creep beside it."""
    shape = creep(60.0, 5.0)
    found = stream(lambda t: np.where((t > 0) & (t % 4 < 0.3), math.inf, shape(t)))

    assert Stability.INTERMITTENT == found.evidence.stability
    assert any("creeps one way" in note for note in found.notes)


def test_a_slow_wandering_is_no_warmth() -> None:
    """Up and down by more than a hand can warm it, without a jump: the contact follows."""
    found = stream(lambda t: LEVEL * (1 + 0.012 * np.sin(np.maximum(t, 0) / 15)), seconds=60.0)

    assert Stability.NOISY == found.evidence.stability
    assert (0, 0) == (found.evidence.figures.jumps, found.evidence.figures.blips)
    assert found.reason.startswith("it wanders by 3.")


def test_warmth_is_noted() -> None:
    """A drift below one per cent is steady, with a word about the hand."""
    found = stream(CASES["the warmth of a hand"][0])

    (note,) = found.notes
    assert re.fullmatch(r"It drifted by \+1\.[345] ohm, as the warmth of a hand .*", note)
    assert 0.008 * LEVEL == pytest.approx(found.evidence.figures.drift_ohm, abs=0.2)


def test_wires_that_touch_are_named() -> None:
    """A fall to near zero is a hint of its own."""
    found = stream(CASES["wires that touch"][0])

    (note,) = found.notes
    assert re.fullmatch(r"It also fell to 0\.[123] ohm: bare wires that touch do so\.", note)


@pytest.mark.parametrize("opens", [1, 2])
def test_one_single_reading_of_ol_is_not_decisive(opens: int) -> None:
    """It may be a damaged frame; a second one, elsewhere, decides."""
    there = [50, 120][:opens]
    found = stream(lambda t: np.where(is_number(t, there), math.inf, LEVEL))
    expected = Stability.UNDECIDED if opens == 1 else Stability.INTERMITTENT

    assert expected == found.evidence.stability
    assert opens == found.evidence.figures.dropouts
    assert ("a second one would decide" in found.next) is (opens == 1)


@pytest.mark.parametrize(
    ("blips", "expected"),
    [(1, Stability.UNDECIDED), (2, Stability.UNDECIDED), (3, Stability.NOISY)],
)
def test_single_readings_off_the_level(blips: int, expected: Stability) -> None:
    """One or two may be damaged frames; three are a joint."""
    there = [50, 90, 130][:blips]
    found = stream(lambda t: np.where(is_number(t, there), 190.0, LEVEL))

    assert expected == found.evidence.stability
    assert blips == found.evidence.figures.blips
    assert 18.7 == pytest.approx(found.evidence.figures.largest_jump_ohm, abs=0.3)


def test_the_shortest_drop_outs_are_found() -> None:
    """Of one frame each, 50 ms at 20 frames a second, every two seconds."""
    found = stream(every(2.0, 0.04), rate_hz=20.0)
    figures = found.evidence.figures

    assert Stability.INTERMITTENT == found.evidence.stability
    assert figures.dropouts in {9, 10}
    assert 0.05 == pytest.approx(figures.longest_s, abs=0.005)
    assert 0.025 == pytest.approx(figures.open_share, abs=0.004)


def test_steady_needs_time_readings_and_a_fast_meter() -> None:
    """Where a drop-out would hardly have been seen, nothing seen says nothing."""
    calm = CASES["nothing happens"][0]
    slow, short, few = (
        stream(calm, rate_hz=2.0),
        stream(calm, seconds=5.0),
        stream(calm, rate_hz=4.6, seconds=8.2),
    )

    assert {Stability.UNDECIDED} == {each.evidence.stability for each in (slow, short, few)}
    assert "the meter sends 2.0 readings a second" in slow.reason
    assert "watched for 4.9 s" in short.reason
    assert "38 readings only" in few.reason
    assert Stability.STEADY == stream(calm, rate_hz=5.0).evidence.stability


def test_what_was_seen_stands_however_short() -> None:
    """Two drop-outs in four seconds of a slow meter are a loose joint."""
    found = stream(every(2.0, 0.9), rate_hz=2.0, seconds=6.0)

    assert Stability.INTERMITTENT == found.evidence.stability
    assert any("shorter drop-outs are missed" in note for note in found.notes)


def test_long_ol_is_no_drop_out_until_somebody_says_so() -> None:
    """OL for four seconds, and OL at the end: lifted clips, or a joint that opened."""
    middle = stream(lambda t: np.where((t > 9) & (t < 13), math.inf, LEVEL))
    end = stream(lambda t: np.where(t > 15, math.inf, LEVEL))

    for found in (middle, end):
        figures = found.evidence.figures
        assert Stability.UNDECIDED == found.evidence.stability
        assert "nobody said whether the clips were lifted" in found.reason
        assert (0, 0.0) == (figures.dropouts, figures.open_share)
        assert figures.unexplained_s == pytest.approx(4.5, abs=0.8)
        assert figures.duration_s == pytest.approx(15.5, abs=0.8)


def test_long_ol_beside_drop_outs_is_said() -> None:
    """The drop-outs decide, and the long OL is not counted."""
    found = stream(lambda t: np.where((t > 15) | ((t > 0) & (t % 4 < 0.3)), math.inf, LEVEL))

    assert Stability.INTERMITTENT == found.evidence.stability
    assert any("is not counted: nobody said" in note for note in found.notes)


def test_a_meter_that_flickers_by_itself_is_no_loose_joint() -> None:
    """What it does at rest counts for nothing; where it hides too much, that is said."""
    calm = CASES["nothing happens"][0]
    restless = stream(calm, noise=4.0)
    wild = stream(calm, noise=20.0)

    assert Stability.STEADY == restless.evidence.stability
    assert (restless.evidence.figures.jump_limit_ohm or 0.0) > 0.5
    assert Stability.UNDECIDED == wild.evidence.stability
    assert "the meter scatters too much at rest" in wild.reason


def test_without_rest_the_last_digit_stands_for_the_meter() -> None:
    """A stream that is in motion from its first reading can be judged, and says so."""
    found = stream(CASES["nothing happens"][0], rested=False)

    assert Stability.STEADY == found.evidence.stability
    assert found.evidence.figures.own_scatter_ohm == pytest.approx(0.1 / math.sqrt(12))
    assert any("not read at rest before" in note for note in found.notes)


def test_a_value_past_the_open_limit_is_open() -> None:
    """30 kohm on a coil of the band `any` is as good as OL."""
    found = stream(lambda t: np.where((t > 0) & (t % 4 < 0.4), 30e3, LEVEL))

    assert Stability.INTERMITTENT == found.evidence.stability
    assert found.evidence.figures.most_ohm == pytest.approx(LEVEL, abs=0.3)


def test_after_a_pause_another_level_is_no_change() -> None:
    """Nobody knows what the clips did while no reading came."""
    before, after = points(lambda t: LEVEL + 0 * t), points(lambda t: LEVEL + 4 + 0 * t)
    found = flex([*before, *gap_after(before, after, 6.0)], at_rest(LEVEL))

    assert Stability.STEADY == found.evidence.stability
    assert 42.3 == pytest.approx(found.evidence.figures.duration_s, abs=0.3)


def test_uneven_stamps_count_by_time_and_not_by_number() -> None:
    """A burst of frames that the system delivers at once does not make it open for longer."""
    at = np.concatenate(
        [np.arange(0, 10, 0.1), 10 + np.arange(50) * 1e-4, np.arange(11, 21, 0.1)]
    )
    is_open = (at >= 10) & (at < 10.3)
    made = [
        FlexPoint(2.5 + t, math.inf if out else LEVEL, 0.1)
        for t, out in zip(at.tolist(), is_open.tolist(), strict=True)
    ]
    figures = flex(made, at_rest(LEVEL)).evidence.figures

    assert 1.0 == pytest.approx(figures.longest_s, abs=0.01)
    assert 1.0 / 20.9 == pytest.approx(figures.open_share, abs=0.002)


def test_nothing_but_open_readings_is_no_stream() -> None:
    """An open coil cannot be flexed, and says so by an error of the caller's."""
    with pytest.raises(ValueError, match="nothing but open"):
        flex([FlexPoint(n / 10, math.inf) for n in range(99)])
    with pytest.raises(ValueError, match="at rest"):
        rest_of([FlexPoint(n / 10, LEVEL) for n in range(REST_LEAST - 1)])


def test_every_meaning_has_a_word() -> None:
    """A run is always one of them, so that nothing is passed over."""
    assert {
        "drop-out",
        "doubtful",
        "unexplained",
        "lifted",
        "jump",
        "blip",
        "excused",
    } == set(Meaning)
