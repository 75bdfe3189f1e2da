"""Bands, meters and head kinds: what ships, and what a user's own file may say."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import meter_table, shipped

from coilmeter.catalog import Catalog, load_catalog, reference_folder
from coilmeter.errors import InputError, MistakesError, UnknownNameError
from coilmeter.units import in_ohm
from coilmeter.values import CASE, Role

GOOD_BAND = 'shorted_below = "1 ohm"\nlow = "2 ohm"\nhigh = "3 ohm"\nopen_above = "4 kohm"\n'
RANGE = "{ full_scale = '2 kohm', resolution = '1 ohm', counts = 1 }"


def loaded(folder: Path, text: str, name: str = "mine.toml") -> Catalog:
    """Load the shipped files and one of the user's with that text."""
    path = folder / name
    path.write_text(text, "utf-8")
    return load_catalog([path])


def refused(folder: Path, text: str, name: str = "mine.toml") -> str:
    """Give the message with which a user's file is refused."""
    with pytest.raises(InputError) as caught:
        loaded(folder, text, name)
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "limits"),
    [
        ("rp-cassette", (20.0, 100.0, 500.0, 10e3)),  # prac, rep, mem: see PROVENANCE.md
        ("rp-low", (3.0, 20.0, 100.0, 5e3)),  # rep
        ("playback-high", (30.0, 150.0, 1500.0, 20e3)),  # from memory, not verified
        ("erase", (0.3, 0.8, 12.0, 200.0)),  # prac; pub 10.5 ohm; mem
        ("erase-metal-core", (2.0, 8.0, 100.0, 2e3)),  # rep, mem
        ("any", (0.3, 0.5, 2e3, 20e3)),  # range sanity only
    ],
)
def test_shipped_bands(name: str, limits: tuple[float, ...]) -> None:
    """The tool's own limits, each with a description and a basis."""
    band = shipped().band(name)

    assert limits == band.limits_ohm
    assert band.basis
    assert band.description


@pytest.mark.parametrize(
    ("name", "at_100_ohm", "at_1_kohm"),
    [
        ("handheld-4000", 1.3, 12.0),  # J1 in PROVENANCE.md: 0.8 % + 5 d; 0.8 % + 4 d
        ("handheld-4000-b", 1.3, 12.0),  # J2
        ("handheld-2000", 1.3, 12.0),  # J3
        ("handheld-2000-b", 1.0, 10.0),  # J4
        ("bench-5-digit", 0.038, 0.35),  # J8
        ("bench-6-digit", 0.014, 0.11),  # J9, J10
    ],
)
def test_shipped_meters(name: str, at_100_ohm: float, at_1_kohm: float) -> None:
    """The limits of error at 100 ohm and 1 kohm that follow from the printed lines."""
    table = meter_table(name)
    limits = []
    for ohm in (100.0, 1000.0):
        at = table.range_for(ohm, None)
        assert at is not None
        limits.append(at.fraction * ohm + at.floor_ohm)

    assert [at_100_ohm, at_1_kohm] == pytest.approx(limits, rel=1e-9)


@pytest.mark.parametrize("name", sorted(shipped().meters))
def test_shipped_meters_are_whole(name: str) -> None:
    """Ranges climb, last digits are small against them, and the beeper has a threshold."""
    table = meter_table(name)
    ends = [entry.full_scale_ohm for entry in table.ranges]

    assert sorted(set(ends)) == ends
    assert all(entry.resolution_ohm <= entry.full_scale_ohm / 1999 for entry in table.ranges)
    assert 10.0 <= table.beeper_ohm[0] <= 120.0  # pub: thresholds printed lie between these


@pytest.mark.parametrize("name", sorted(shipped().kinds))
def test_shipped_kinds_are_whole(name: str) -> None:
    """Coils have names and pins of their own, bands that exist, and roles that fit them."""
    kind = shipped().kind(name)
    pairs = [frozenset(coil.pins) for coil in kind.coils]

    assert len(kind.coils) == len({coil.name for coil in kind.coils})
    assert len(pairs) == len(set(pairs))
    assert all(coil.band in shipped().bands for coil in kind.coils)
    assert CASE not in {pin for pair in pairs for pin in pair}
    pins = [pin for coil in kind.coils for pin in coil.pins]
    assert ("common" in name) == (len(set(pins)) < len(pins))


def test_a_four_channel_head_has_eight_pins() -> None:
    """A four-channel head: eight pins, a row a track (common practice, no source)."""
    kind = shipped().kind("four-channel-rp")

    assert [("1", "2"), ("3", "4"), ("5", "6"), ("7", "8")] == [
        coil.pins for coil in kind.coils
    ]
    assert {Role.RECORD_PLAYBACK} == {coil.role for coil in kind.coils}
    assert not kind.share_a_pin("1", "2")


def test_a_users_file_overrides_and_extends(tmp_path: Path) -> None:
    """Later names win; what is not named again stays."""
    catalog = loaded(
        tmp_path,
        f"[bands.erase]\n{GOOD_BAND}\n"
        '[meters.mine]\nreading = 2\ncounts = 3\nbeeper = "30 ohm"\n'
        "[kinds.mine]\nnoticeable_above = 0.1\nmismatched_above = 0.2\n"
        'coils = [{ name = "L", role = "rp", pins = ["a", "b"], band = "erase" }]\n',
    )

    assert (1.0, 2.0, 3.0, 4e3) == catalog.band("erase").limits_ohm
    assert "the user's own" == catalog.band("erase").basis
    assert shipped().band("rp-cassette") == catalog.band("rp-cassette")
    assert 0.02 == catalog.meter("mine").fraction
    assert 30.0 == in_ohm(catalog.meter("mine").beeper)
    assert (0.1, 0.2) == (
        catalog.kind("mine").noticeable_above,
        catalog.kind("mine").mismatched_above,
    )


def test_a_byte_order_mark_is_tolerated(tmp_path: Path) -> None:
    """Some editors put one in front."""
    catalog = loaded(tmp_path, f"\ufeff[bands.mine]\n{GOOD_BAND}")

    assert "mine" in catalog.bands


def test_ranges_of_a_users_meter(tmp_path: Path) -> None:
    """Percent of reading, counts, percent of range and a printed floor add up."""
    catalog = loaded(
        tmp_path,
        "[meters.mine]\nfour_wire = true\nranges = [{ full_scale = '1 kohm', resolution = "
        "'10 mohm', reading = 0.5, counts = 3, of_range = 0.01, floor = '20 mohm' }]\n",
    )
    (only,) = catalog.meter("mine").ranges

    assert 0.005 == only.fraction
    assert 0.15 == pytest.approx(in_ohm(only.floor))  # 3 x 0.01 + 0.0001 x 1000 + 0.02
    assert catalog.meter("mine").four_wire


@pytest.mark.parametrize(
    ("limits", "word"),
    [
        (("2 ohm", "1 ohm", "3 ohm", "4 ohm"), "shorted_below < low < high < open_above"),
        (("1 ohm", "2 ohm", "2 ohm", "4 ohm"), "shorted_below < low < high < open_above"),
        (("0 ohm", "2 ohm", "3 ohm", "4 ohm"), "shorted_below < low < high < open_above"),
        (("1 ohm", "2 ohm", "3 ohm", "4 mohm"), "shorted_below < low < high < open_above"),
        (("-1 ohm", "2 ohm", "3 ohm", "4 ohm"), "a resistance"),
        (("1 V", "2 ohm", "3 ohm", "4 ohm"), "a resistance"),
        (("1 ohm", "2 ohm", "3 ohm", "OL"), "a resistance"),
        (("1 ohm", "2 ohm", "3 ohm", "OL 40 Mohm"), "a resistance"),
        (("1 ohm", "beep 2 ohm", "3 ohm", "4 ohm"), "a resistance"),
        (("1 ohm", "2 ohm", "3 ohm", "1e305 Mohm"), ""),
    ],
)
def test_inconsistent_limits(tmp_path: Path, limits: tuple[str, ...], word: str) -> None:
    """Limits that are out of order, or no resistances, are refused with their key path."""
    keys = ("shorted_below", "low", "high", "open_above")
    lines = [f'{key} = "{limit}"' for key, limit in zip(keys, limits, strict=True)]
    message = refused(tmp_path, "[bands.odd]\n" + "\n".join(lines))

    assert "bands.odd" in message
    assert word in message


def test_all_mistakes_of_a_file_together(tmp_path: Path) -> None:
    """One run tells everything that is wrong with a file."""
    message = refused(
        tmp_path,
        "[bands.a]\nlow = 5\n[meters.b]\nreading = -1\n[kinds.c]\ncoils = []\n[what]\n",
    )

    for place in ("bands.a.low", "bands.a.high", "meters.b.reading", "kinds.c.coils", "what"):
        assert f"mine.toml: {place}: saw" in message
    assert "nothing was judged" in message


def test_a_message_says_it_once(tmp_path: Path) -> None:
    """The message of a wrong limit says once what was seen."""
    message = refused(tmp_path, "[bands.a]\n" + GOOD_BAND.replace("1 ohm", "abc"))

    assert 1 == message.count("saw 'abc'")


@pytest.mark.parametrize(
    ("coils", "word"),
    [
        ('{ name = "1", pins = ["1", "1"] }', "two different pins"),
        ('{ name = "1", pins = ["1", "2"] }, { name = "1", pins = ["3", "4"] }', "twice"),
        ('{ name = "1", pins = ["1", "2"] }, { name = "2", pins = ["2", "1"] }', "no pair"),
        ('{ name = "case", pins = ["1", "2"] }', "that word is the case"),
        ('{ name = "1", pins = ["1", "Case"] }', "that word is the case"),
        ('{ name = "1", pins = ["1"] }', "pins"),
        ('{ name = "1", pins = ["1", "2"], role = "tape" }', "role"),
        ('{ name = "1", pins = ["1", "2"], colour = "red" }', "no such key"),
        ('{ name = "", pins = ["1", "2"] }', "name"),
        ('{ name = "1-2", pins = ["1", "2"] }', "name"),
        ('{ pins = ["1", "2"] }', "required"),
        ('{ name = "1", pins = ["1", "2"], band = "nope" }', "a band: any, erase"),
    ],
)
def test_odd_kinds(tmp_path: Path, coils: str, word: str) -> None:
    """Coils that cannot be, names that are taken, bands nobody defined."""
    message = refused(tmp_path, f"[kinds.odd]\ncoils = [{coils}]\n")

    assert "kinds.odd" in message
    assert word in message


def test_band_of_a_kind_is_checked_in_any_file(tmp_path: Path) -> None:
    """A user's file is checked alike whatever its name is."""
    text = '[kinds.odd]\ncoils = [{ name = "1", pins = ["1", "2"], band = "nope" }]\n'
    message = refused(tmp_path, text, "bands.toml")

    assert "kinds.odd.coils.0.band" in message


@pytest.mark.parametrize(
    ("body", "word"),
    [
        ("reading = 0\ncounts = 0", "no meter is without error"),
        ("reading = nan", "reading"),
        ('beeper = "loud"', "beeper"),
        ("ranges = [{ full_scale = '1 ohm', resolution = '1 ohm', reading = 1 }]", "0 < res"),
        ("ranges = [{ full_scale = '1 kohm', resolution = '1 ohm' }]", "without error"),
        (
            f"ranges = [{RANGE}, {RANGE.replace('2 kohm', '1 kohm')}]",
            "lowest full_scale",
        ),
    ],
)
def test_odd_meters(tmp_path: Path, body: str, word: str) -> None:
    """A meter without error, ranges out of order, limits that are no numbers."""
    message = refused(tmp_path, f"[meters.odd]\n{body}\n")

    assert "meters.odd" in message
    assert word in message


def test_limits_of_matching_in_order(tmp_path: Path) -> None:
    """A deviation is noticeable before it is a mismatch."""
    coils = 'coils = [{ name = "1", pins = ["1", "2"] }]'
    message = refused(tmp_path, f"[kinds.odd]\nnoticeable_above = 0.2\n{coils}\n")

    assert "noticeable_above < mismatched_above" in message


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[bands", "not a TOML file"),
        (b"a = 1\na = 2\n", "not a TOML file"),
        (b"\xff\xfe[\0b\0", "byte 1 is not UTF-8"),
        (b"a = " + b"[" * 5000, "not a TOML file"),
    ],
)
def test_files_that_are_no_toml(tmp_path: Path, data: bytes, words: str) -> None:
    """What cannot be read as TOML is refused in one message."""
    path = tmp_path / "mine.toml"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        load_catalog([path])

    assert words in str(caught.value)
    assert "mine.toml" in str(caught.value)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    """A file that is not there, and a folder in place of one."""
    for path in (tmp_path / "nowhere.toml", tmp_path):
        with pytest.raises(InputError) as caught:
            load_catalog([path])

        assert "cannot be read" in str(caught.value)


@pytest.mark.parametrize("what", ["band", "meter", "kind"])
def test_unknown_names(what: str) -> None:
    """A name nobody defined is answered with those that are known."""
    with pytest.raises(UnknownNameError) as caught:
        getattr(shipped(), what)("nope")

    assert "'nope'" in str(caught.value)
    assert len(caught.value.known) > 3


def test_reference_folder_is_found() -> None:
    """The shipped files are found, in a checkout as in an installed package."""
    names = {path.name for path in reference_folder().iterdir()}

    assert {"bands.toml", "meters.toml", "head_kinds.toml", "PROVENANCE.md"} <= names


def test_several_mistakes_carry_their_fields(tmp_path: Path) -> None:
    """A mistake of a TOML file has a key path and no line number."""
    with pytest.raises(MistakesError) as caught:
        loaded(tmp_path, "[bands.a]\nlow = 5\n")
    first = caught.value.mistakes[0]

    assert None is first.line
    assert first.place.startswith("bands.a")
