"""A simulated meter at its port: asked, asleep, and behind a bad cable."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from dataclasses import dataclass

import pytest
from helpers import shipped
from hypothesis import given
from hypothesis import strategies as st

from coilmeter.errors import InputError
from coilmeter.sources.simulated import Hands, SimulatedBench, SimulatedHead, SimulatedMeter
from coilmeter.sources.simulated_damage import Damage
from coilmeter.sources.simulated_wire import SimulatedWire
from coilmeter.units import ohms
from coilmeter.values import Reading
from coilmeter.wire import find, formats
from coilmeter.wire.dialogue import polled

HEAD = SimulatedHead({"1": ("1", "2", 184.0)})


@dataclass
class StillClock:
    """A clock that is set by hand."""

    time_s: float = 10.0

    def now(self) -> float:
        """Give the time."""
        return self.time_s

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        self.time_s += seconds


def wire_of(form: str, *, meter: str = "handheld-4000", asleep: bool = False) -> SimulatedWire:
    """Put a coil under the clips of a meter without noise, at two readings a second."""
    hands = Hands(HEAD, StillClock(), bounce_s=0.0)
    hands.clip("1", "2")
    simulated = SimulatedMeter(shipped().meter(meter))
    return SimulatedWire(
        SimulatedBench(simulated, hands, find(form), rate_hz=2.0), asleep=asleep, seed=5
    )


def test_a_meter_that_talks_says_one_frame_a_turn() -> None:
    """Its turns come at its own rate; what it hears changes nothing."""
    wire = wire_of("digits14")
    wire.hear(b"READ?\n")
    frame = wire.frame()

    assert 2.0 == wire.rate_hz
    assert find("digits14").encode(wire.bench.display()) == frame
    assert None is wire.responder


def test_a_meter_that_is_asked_answers_at_its_rate() -> None:
    """Nothing unasked; a second question waits until the meter has measured again."""
    wire = wire_of("scpi")
    unasked = wire.frame()
    wire.hear(b"*RST\nREAD?\n")
    first = wire.frame()
    wire.hear(b"READ?\n")
    too_soon = wire.frame()
    wire.clock.sleep(0.5)
    second = wire.frame()

    assert [b"", b"+1.84000000E+02\r\n"] == [unasked, first]
    assert [b"", b"+1.84000000E+02\r\n"] == [too_soon, second]
    assert wire.rate_hz > 2.0


def test_other_questions_are_answered_at_once() -> None:
    """The error queue is read without waiting for a measurement."""
    wire = wire_of("scpi")
    wire.hear(b"READ?\n")
    wire.frame()
    wire.hear(b"SYST:ERR?\n")

    assert b'+0,"No error"\r\n' == wire.frame()


def test_a_reset_takes_hold_and_null_off() -> None:
    """After *RST the meter shows plain ohms on automatic range (SCPI-1999, from memory)."""
    wire = wire_of("scpi")
    meter = wire.bench.meter
    wire.hear(b"READ?\n")
    wire.frame()
    meter.relative(on=True)
    meter.hold(on=True)
    meter.choose_range(ohms(4e3))
    wire.hear(b"*RST\n")
    wire.frame()

    assert [False, None, None] == [meter.held, meter.taken_off_ohm, meter.fixed]


def test_a_new_listener_hears_no_answer_to_the_one_before() -> None:
    """What was asked and not answered is forgotten when the port is opened again."""
    wire = wire_of("scpi")
    wire.hear(b"READ?\n")
    wire.opened()

    assert b"" == wire.frame()
    assert 1 == wire.openings


def test_asleep_until_its_byte_comes() -> None:
    """Silent, deaf to anything else, and awake at the wake byte of the format."""
    wire = wire_of("block11", asleep=True)
    wire.hear(b"x")
    deaf = wire.frame()
    wire.hear(b"..H..")
    awake = wire.frame()

    assert b"" == deaf
    assert 22 == len(awake)


def test_asleep_without_a_wake_byte() -> None:
    """Where the format has none, nothing that is written helps."""
    for form in ("digits14", "scpi"):
        wire = wire_of(form, asleep=True)
        wire.hear(b"H READ?\n")
        silent = wire.frame()
        wire.asleep = False
        wire.hear(b"READ?\n")

        assert b"" == silent
        assert wire.frame()


def test_a_good_cable_passes_everything() -> None:
    """Without damage every frame arrives as it was sent."""
    damage = Damage(3)

    assert [b"abc"] * 100 == [damage.pass_on(b"abc") for _ in range(100)]
    assert 0 == damage.spoilt


def test_damage_is_as_often_as_told_and_repeats_with_its_seed() -> None:
    """About the share of the frames differs, all are counted, and the seed decides how."""
    frame = bytes(range(40, 60))
    damage, again, other = Damage(7), Damage(7), Damage(8)
    for each in (damage, again, other):
        each.share = 0.25
    arrived = [damage.pass_on(frame) for _ in range(4000)]
    changed = sum(each != frame for each in arrived)

    assert arrived == [again.pass_on(frame) for _ in range(4000)]
    assert arrived != [other.pass_on(frame) for _ in range(4000)]
    assert damage.spoilt - 10 <= changed <= damage.spoilt  # rubbish may be what was there
    # Five standard deviations of a binomial count of 4000 at 0.25 are 137.
    assert 1000 == pytest.approx(damage.spoilt, abs=137)
    assert {19, 20} < {len(each) for each in arrived}


@given(st.binary(max_size=40), st.integers(0, 50))
def test_damage_stays_small(frame: bytes, seed: int) -> None:
    """Any bytes at all come out with some of them changed, and never many more."""
    damage = Damage(seed)
    damage.share = 1.0
    arrived = damage.pass_on(frame)

    assert len(frame) - 3 <= len(arrived) <= len(frame) + 6
    assert bool(frame) == bool(damage.spoilt)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_an_impossible_share_is_refused(share: float) -> None:
    """A share of frames is between none and all."""
    with pytest.raises(InputError, match="0 to 1"):
        Damage().share = share


@pytest.mark.parametrize("form", sorted(formats()))
def test_damaged_frames_never_stop_a_decoder(form: str) -> None:
    """In every format readings go on arriving through a cable that spoils a fifth of them."""
    meter = {"block14": "handheld-22000"}.get(form, "handheld-4000")
    wire = wire_of(form, meter=meter)
    wire.damage.share = 0.2
    decoder = wire.bench.wire_format.decoder()
    asked = polled(wire.bench.wire_format)
    question = b"" if asked is None else f"{asked.dialogue.query}\n".encode()
    values = []
    for _ in range(300):
        wire.hear(question)
        wire.clock.sleep(0.5)
        answers = decoder.feed(wire.frame())
        values += [each.value for each in answers if isinstance(each, Reading)]
    good = [value for value in values if value == 184.0]

    assert len(good) > 150
    assert wire.damage.spoilt > 30
