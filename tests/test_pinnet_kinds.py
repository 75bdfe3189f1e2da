"""Roles from the bands, head kinds that fit, and a map that becomes a kind."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Mapping

import pytest
from helpers import settings, shipped
from pin_meters import EIGHT, FOUR, LIMITS, exactly, followed, head, mapped

from coilmeter.compute.pinnet import map_of
from coilmeter.compute.pinnet_kinds import KindFit, agreed, fits, refutes
from coilmeter.compute.pinnet_pairs import put_together
from coilmeter.compute.pinnet_roles import (
    Proposal,
    fitting_bands,
    kind_of,
    letters,
    propose,
    roles_of_bands,
    settled_by,
)
from coilmeter.compute.pinplan_kind import Expected
from coilmeter.errors import InputError
from coilmeter.sources.simulated_head import SimulatedHead
from coilmeter.values import CASE, CoilSpec, HeadKind, Role
from coilmeter.values.pinmaps import PinField, PinLink, PinMap, PinPair

THREE = PinField((("1", "2", "3"),))
FIVE = PinField((("1", "2", "3", "4", "R"),))
SCRAMBLED = head("1-4 184", "2-8 185", "3-5 186", "6-7 183")


def proposed(
    found: PinMap,
    chosen: Mapping[PinPair, str] | None = None,
    broken: tuple[PinPair, ...] = (),
) -> tuple[Proposal, ...]:
    """Propose by the shipped bands and kinds."""
    known = shipped()
    return propose(
        found, known.bands, known.kinds, confidence=0.95, chosen=chosen, broken=broken
    )


def fitting(found: PinMap) -> dict[str, KindFit]:
    """Shipped kinds that a map fits."""
    return {fit.kind.name: fit for fit in fits(found, proposed(found), shipped().kinds)}


def test_letters_name_the_coils() -> None:
    """In the order of the field; no number of a pin can be taken for one."""
    found = mapped(SCRAMBLED, EIGHT)

    assert [("A", ("1", "4")), ("B", ("2", "8")), ("C", ("3", "5")), ("D", ("6", "7"))] == [
        (each.name, each.link.pins) for each in proposed(found)
    ]
    assert ["A", "P"] == [letters(16)[0], letters(16)[-1]]


@pytest.mark.parametrize(
    ("ohm", "bands", "role"),
    [
        (130.0, {"rp-cassette"}, Role.RECORD_PLAYBACK),
        (900.0, {"playback-high"}, Role.PLAYBACK),
        (5.0, {"erase"}, Role.ERASE),
        (184.0, {"rp-cassette", "playback-high"}, Role.UNKNOWN),
        (10.5, {"erase", "erase-metal-core"}, Role.ERASE),
        (15.0, {"erase-metal-core"}, Role.ERASE),
        (5000.0, set(), Role.UNKNOWN),
    ],
)
def test_roles_follow_from_the_bands(ohm: float, bands: set[str], role: Role) -> None:
    """A role is proposed where all that fits has it; 10.5 ohm is a published erase coil (P1).

    The limits of the bands are those of the shipped reference data.
    """
    (one, _) = proposed(mapped(head(f"1-2 {ohm}", "3-4 130"), FOUR, own_ohm=0.01))

    assert bands == {*one.bands}
    assert role is one.role
    assert (one.band == "any") is (len(bands) != 1)


def test_a_band_of_no_kind_leaves_the_role_open() -> None:
    """25 ohm may be an older erase coil, though only records' band has a kind."""
    (one, _) = proposed(mapped(head("1-2 25", "3-4 130"), FOUR, own_ohm=0.01))

    assert {"rp-low", "erase-metal-core"} == {*one.bands}
    assert Role.UNKNOWN is one.role


def test_a_band_is_not_fitted_by_a_hair() -> None:
    """Where the limit is within the uncertainty no band fits."""
    link = PinLink(("1", "2"), resistance_20c_ohm=100.0, u_20c_ohm=1.0)

    assert [] == fitting_bands(link, shipped().bands, 0.95)
    assert [] == fitting_bands(PinLink(("1", "2")), shipped().bands, 0.95)


def test_a_person_chooses_a_band() -> None:
    """Then its role holds, though several fit."""
    found = mapped(head("1-2 184", "3-4 185"), FOUR)
    one, other = proposed(found, {("1", "2"): "playback-high"})

    assert ("playback-high", Role.PLAYBACK) == (one.band, one.role)
    assert ("any", Role.UNKNOWN) == (other.band, other.role)


def test_roles_of_bands_come_from_the_kinds() -> None:
    """No list of its own: what kinds give to coils of a band."""
    found = roles_of_bands(shipped().kinds)

    assert (Role.RECORD_PLAYBACK,) == found["rp-cassette"]
    assert (Role.ERASE,) == found["erase"]
    assert "any" not in found


def test_scrambled_pins_fit_the_kind_by_their_wiring() -> None:
    """Other pin numbers, the same coils: the one kind that fits settles the roles."""
    found = mapped(SCRAMBLED, EIGHT)
    fit = fitting(found)
    settled = settled_by(proposed(found), agreed([*fit.values()]))

    assert {"four-channel-rp"} == {*fit}
    assert not fit["four-channel-rp"].same_pins
    assert {Role.RECORD_PLAYBACK} == {each.role for each in settled}
    assert {"rp-cassette"} == {each.band for each in settled}


def test_the_same_pins() -> None:
    """Numbered as the kind numbers them."""
    fit = fitting(mapped(head("1-2 184", "3-4 185"), FOUR))

    assert {"two-channel-rp", "two-channel-playback-high"} == {*fit}
    assert fit["two-channel-rp"].same_pins


def test_kinds_that_disagree_settle_nothing() -> None:
    """Two coils of 184 ohm may be record/playback or playback."""
    found = mapped(head("1-2 184", "3-4 185"), FOUR)

    assert {} == agreed([*fitting(found).values()])
    assert {} == agreed([])


def test_an_open_coil_fits_with_one_coil_open() -> None:
    """The two pins without partner stand for it."""
    (fit,) = fitting(mapped(SCRAMBLED.with_open("3"), EIGHT)).values()

    assert "four-channel-rp" == fit.kind.name
    assert 1 == len(fit.broken)


def test_common_return_fits_its_kind() -> None:
    """Pin on pin: the return is the one all coils share, whatever it is called."""
    bench = head("1-R 184", "2-R 185", "3-R 186", "4-R 183")
    swapped = head("R-3 184", "1-3 185", "2-3 186", "4-3 183")

    assert fitting(mapped(bench, FIVE))["four-channel-rp-common"].same_pins
    assert not fitting(mapped(swapped, FIVE))["four-channel-rp-common"].same_pins


@pytest.mark.parametrize(
    "bench",
    [
        head("1-2 184", "2-3 185", "3-4 186"),
        head("1-2 184", "3-4 5"),
        head("1-2 184", "3-4 9000"),
    ],
    ids=["a chain", "another band", "no band"],
)
def test_what_fits_no_kind(bench: SimulatedHead) -> None:
    """Another wiring, coils of other bands, or of none."""
    assert "two-channel-rp" not in fitting(mapped(bench, FOUR))


def test_a_case_more_than_the_kind_has() -> None:
    """A kind without a case is not that of a head with one."""
    assert "two-channel-rp-no-case" not in fitting(mapped(head("1-2 184", "3-4 185"), FOUR))


def test_combined_bodies_are_laid_coil_on_coil() -> None:
    """Two coils of one band and one of another, on any pins."""
    field = PinField((("1", "2"), ("3", "4"), ("5", "6")))
    fit = fitting(mapped(head("1-6 5", "2-3 130", "4-5 131"), field))

    assert "E" == fit["two-channel-rp-erase"].coils["1", "6"].name


def made(found: PinMap, broken: tuple[PinPair, ...] = ()) -> HeadKind:
    """Make a kind of a map."""
    return kind_of("mine", found, proposed(found, broken=broken), "as mapped", "mapped")


def test_a_map_becomes_a_kind() -> None:
    """Its coils with pins, roles and bands."""
    kind = made(mapped(head("1-3 130", "2-4 5"), FOUR))

    assert (
        CoilSpec("A", Role.RECORD_PLAYBACK, ("1", "3"), "rp-cassette"),
        CoilSpec("B", Role.ERASE, ("2", "4"), "erase"),
    ) == kind.coils
    assert kind.case


def test_an_open_coil_that_a_person_knows_of() -> None:
    """It is a coil of the kind, of unknown role."""
    kind = made(mapped(head("1-3 130", "2-4 5").with_open("2"), FOUR), (("2", "4"),))

    assert ("2", "4") == kind.coils[1].pins
    assert Role.UNKNOWN is kind.coils[1].role


@pytest.mark.parametrize(
    ("bench", "why"),
    [
        (head("1-2 184", "3-4 185").with_leak("1", "3", 50.0), "a bridge is in it"),
        (head("1-2 184", "3-4 185").with_leak("1", "3", 0.0), "a dead short joins pins"),
        (head("1-X 100", "2-X 110", "3-X 120", "4-X 130"), "common point is not brought out"),
        (head("1-2 184", "3-4 185").with_leak("1", CASE, 0.0), "a dead short joins pins"),
        (head("1-2 184", "3-case 185", "4-case 9e9"), "a coil returns through the case"),
        (head("1-2 184", "3-4 185").with_open("1").with_open("2"), "there is no coil in it"),
    ],
)
def test_what_cannot_be_a_kind(bench: SimulatedHead, why: str) -> None:
    """Coils that two pins each do not tell are not saved, and it is said why."""
    with pytest.raises(InputError, match=f"mine: not saved.*{why}"):
        made(mapped(bench, FOUR))


def test_an_open_map_is_not_saved() -> None:
    """What is not read yet is named."""
    with pytest.raises(InputError, match=r"not saved, because the map is open: .*not read"):
        made(mapped(head("1-2 184", "3-4 185"), FOUR, [("1", "2"), ("3", "4")]))


def test_a_common_return_that_is_wired_otherwise() -> None:
    """The coils of the kind are on R; here they are on pin 1."""
    expected = Expected.of(shipped().kind("two-channel-rp-common"))
    field = PinField((("1", "R", "2"),))
    bench = head("1-R 184", "1-2 185")
    readings = [
        exactly(bench, a, b, own_ohm=0.05)
        for a, b in (("1", "R"), ("1", "2"), ("2", "R"), ("1", CASE))
    ]
    pairs = put_together(readings, field, LIMITS)
    told = refutes(expected, pairs, map_of(pairs))

    assert 1 == len(told)
    assert told[0].startswith("coil 2 should be on 2-R: ")


def test_a_sound_head_of_the_kind_is_not_refuted() -> None:
    """Nothing speaks against it."""
    expected = Expected.of(shipped().kind("four-channel-rp"))
    run = followed(head("1-2 184", "3-4 185", "5-6 186", "7-8 183"), EIGHT)

    assert [] == refutes(expected, run.pairs, run.found)


def test_settings_have_the_bands() -> None:
    """The reference data in the settings is that of the catalog."""
    assert {*shipped().bands} == {*settings().bands}
