"""Which isolation paths a head needs."""

# ruff: noqa: SIM300 - expected stands on the left, as in all tests here

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from coilmeter.compute.paths import Layout, joined_coils, required_paths
from coilmeter.values import CASE, CoilSpec, HeadKind, Role, numbered_kind


def kind_of(*pairs: str, case: bool = True) -> HeadKind:
    """Make a kind from pairs of one-letter pins; the coils are 1, 2, 3..."""
    coils = tuple(
        CoilSpec(str(number), Role.UNKNOWN, (pair[0], pair[1]), "any")
        for number, pair in enumerate(pairs, 1)
    )
    return HeadKind("kind", "", coils, case=case)


def names_of(kind: HeadKind) -> list[str]:
    """List the coils of a kind."""
    return [coil.name for coil in kind.coils]


def test_neighbours_and_case() -> None:
    """Coils that stand alone: each against the next, each against the case."""
    kind = kind_of("ab", "cd", "ef")

    assert [("1", "2"), ("2", "3"), ("1", CASE), ("2", CASE), ("3", CASE)] == (
        required_paths(kind, names_of(kind))
    )


def test_without_a_case() -> None:
    """Nothing is read against what is not there."""
    kind = kind_of("ab", "cd", case=False)

    assert [("1", "2")] == required_paths(kind, names_of(kind))


def test_one_coil() -> None:
    """A single coil has only the case; without one it has nothing."""
    assert [("1", CASE)] == required_paths(kind_of("ab"), ["1"])
    assert [] == required_paths(kind_of("ab", case=False), ["1"])


def test_a_common_return_is_one_side() -> None:
    """Coils that share a pin conduct to each other: only the group against the case."""
    kind = kind_of("ar", "br", "cr")

    assert [["1", "2", "3"]] == joined_coils(kind)
    assert [("1", CASE)] == required_paths(kind, names_of(kind))


def test_groups_joined_late() -> None:
    """A coil that joins two groups makes one of them, in the place of the first."""
    kind = kind_of("ab", "cd", "ef", "be")

    assert [["1", "3", "4"], ["2"]] == joined_coils(kind)
    assert [("1", "2"), ("1", CASE), ("2", CASE)] == required_paths(kind, names_of(kind))


def test_unknown_kind() -> None:
    """Without a kind every coil stands alone and a case is taken to exist."""
    assert [("L", "R"), ("L", CASE), ("R", CASE)] == required_paths(None, ["L", "R"])
    assert [] == required_paths(None, [])


def test_what_is_left_to_read() -> None:
    """A path read from either end, or on another coil of the same group, is read."""
    kind = kind_of("ar", "br", "cd")
    layout = Layout.of(kind, names_of(kind))

    assert (("1", "3"), ("1", CASE), ("3", CASE)) == layout.required
    assert [("1", "3"), ("3", CASE)] == layout.unread([(CASE, "2")])
    assert [("1", CASE), ("3", CASE)] == layout.unread([("3", "2")])
    assert [] == Layout.of(None, ["L"]).unread([("L", CASE)])


def test_numbered_kinds_count() -> None:
    """Of n coils that stand alone there are n - 1 neighbours and n to the case."""
    assert [2 * n - 1 for n in range(1, 17)] == [
        len(required_paths(numbered_kind(n), names_of(numbered_kind(n)))) for n in range(1, 17)
    ]


PAIRS = st.lists(
    st.sampled_from([a + b for a in "abcdefgh" for b in "abcdefgh" if a < b]),
    min_size=1,
    max_size=8,
    unique=True,
)


@given(PAIRS, st.booleans())
def test_any_wiring(pairs: Sequence[str], case: bool) -> None:  # noqa: FBT001 - drawn
    """Groups part the coils; no path joins what a pin joins; each group meets the case."""
    kind = kind_of(*pairs, case=case)
    groups = joined_coils(kind)
    paths = required_paths(kind, names_of(kind))
    pins = [
        {pin for coil in kind.coils if coil.name in group for pin in coil.pins}
        for group in groups
    ]

    assert sorted(names_of(kind)) == sorted(name for group in groups for name in group)
    assert sum(map(len, pins)) == len(set().union(*pins))
    assert [group[0] for group in groups if case] == [a for a, b in paths if b == CASE]
    assert len(groups) - 1 == len([1 for _, b in paths if b != CASE])
