"""Readings of a proof that speak against the meter: a bad contact must not condemn it."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Mapping

import pytest
from helpers import shipped
from proof_played import KNOWN, OPEN, RESISTOR, SHORT, Played, whys

from coilmeter.cli.proving_judged import ProofJob
from coilmeter.values.proofs import Taken
from coilmeter.walks.proving_told import ProofAgain, ProofStep, ProofTaken


def test_a_bad_contact_does_not_condemn_a_meter() -> None:
    """What speaks against it is read again, and the second contact is all right."""
    played = Played()
    played.to_the_resistor()
    again = played.ohms(232.0)
    still_on = played.ohms(220.5)
    played.lift()
    played.ohms(220.5)
    taken = played.walk.results[RESISTOR].taken

    assert [ProofAgain] == [type(event) for event in again]
    assert "more than both explain" in whys(again)[0]
    assert [] == still_on
    assert taken is not None
    assert 220.5 == pytest.approx(taken.mean_ohm, abs=0.1)


def test_what_reads_wrong_twice_counts() -> None:
    """Two contacts that agree are the meter's own."""
    played = Played()
    played.to_the_resistor()
    played.ohms(227.0)
    played.lift()
    played.ohms(227.0)

    assert RESISTOR == played.taken[-1]


def test_two_bad_contacts_that_differ_do_not_count() -> None:
    """Each of them is asked about, until two agree."""
    played = Played()
    played.to_the_resistor()
    for ohm in (232.0, 241.0, 227.0):
        played.ohms(ohm)
        played.lift()
    played.ohms(227.0)

    assert 3 == len(whys(played.events))
    assert RESISTOR == played.taken[-1]


def test_leads_below_zero_are_read_again_too() -> None:
    """REL may be on in a meter whose bytes do not tell; the second time it counts."""
    played = Played()
    first = played.ohms(-2.0)
    played.lift()
    played.ohms(-2.0)

    assert "is REL on" in whys(first)[0]
    assert [SHORT] == played.taken


def test_plugs_that_make_a_difference_are_read_again() -> None:
    """Thermal voltage or contact: the leads are shorted once more before it counts."""
    played = Played()
    played.ohms(0.2)
    played.lift()
    said = played.ohms(1.5)

    assert "with the plugs swapped" in whys(said)[0]
    assert [SHORT] == played.taken


def test_a_reading_weighed_without_its_leads() -> None:
    """Where the leads were left out there is nothing to weigh it by."""
    job = ProofJob(shipped().meter("handheld-4000"), (KNOWN,))
    nothing: Mapping[ProofStep, ProofTaken] = {}

    assert "" == job.against(RESISTOR, Taken(300.0), nothing)
    assert "" == job.against(OPEN, Taken(300.0), nothing)
